"""Whether the derived tables are of what the book holds now, and of the code as it is now."""

from pathlib import Path

import pytest

from gaugebook import pipeline
from gaugebook.pipeline.book.code_fingerprint import code_sha256
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.build_state import (
    fingerprint,
    is_of_this_edition,
    is_up_to_date,
    note_made,
    require_this_edition,
)
from gaugebook.pipeline.errors import BookError

CODE = code_sha256(Path(str(pipeline.__file__)).parent)


@pytest.fixture
def book(empty_book: Book) -> Book:
    """Tables of files, records and derived quantities, all empty; nothing was made yet."""
    empty_book.run_file(Path(str(pipeline.__file__)).parent / "received" / "schema.sql")
    return empty_book


def put_file(book: Book, times_read: int) -> None:
    book.execute(
        "INSERT INTO received.files VALUES (1, 'a', 'a.csv', '.', 1, 'map', 'b', '2031-01-01', 'KM', ?)", [times_read]
    )


def test_the_fingerprint_names_files_readings_amendments_and_profile(book):
    """Two files of which one was read twice, one amendment, the third edition of the profile, and the code."""
    empty = fingerprint(book)
    put_file(book, 1)
    put_file(book, 2)
    book.execute(
        "INSERT INTO typed.amendments BY NAME SELECT 1 AS amendment, 'runs' AS kind, 'R' AS record, 1 AS source_id, "
        "2 AS line, 'stage' AS field, 'KM' AS person, 'why' AS reason, TIMESTAMP '2031-01-01' AS amended_at"
    )
    book.execute("INSERT INTO received.houses VALUES (3, 'c', 'house.toml', ''), (2, 'd', 'house.toml', '')")

    assert fingerprint(book) == f"2 3 files, 1 amendments, edition 3, code {CODE}"
    assert empty == f"0 files, 0 amendments, edition 0, code {CODE}"


def test_tables_that_were_never_made_are_of_no_edition(book):
    """And a command that reads them says what to do."""
    assert not is_of_this_edition(book)
    assert not is_up_to_date(book)
    with pytest.raises(BookError, match='computed by another edition of gaugebook: run "gaugebook check"'):
        require_this_edition(book)


def test_what_was_made_from_this_is_up_to_date_until_something_comes(book):
    """Of this edition it stays, when a file is received; the tables are then made anew."""
    note_made(book, fingerprint(book))
    assert is_up_to_date(book)
    put_file(book, 1)

    assert is_of_this_edition(book)
    assert not is_up_to_date(book)
    require_this_edition(book)


def test_other_code_makes_another_edition(book):
    """Whatever the files were."""
    note_made(book, fingerprint(book))
    book.execute("UPDATE derived.build_state SET code = 'other'")

    assert not is_of_this_edition(book)
    assert not is_up_to_date(book)
    with pytest.raises(BookError):
        require_this_edition(book)


def test_a_book_of_before_editions_were_noted_is_of_none(book):
    """Its table has no such column."""
    book.execute("CREATE TABLE derived.build_state AS SELECT 'x' AS fingerprint")

    assert not is_of_this_edition(book)
