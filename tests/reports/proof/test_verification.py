"""Verifying a book: no alarm on one that nobody touched, and a name for whatever was altered."""

import json
import random
from shutil import copytree

import pytest
from click.testing import CliRunner
from tampering import alter, any_byte, any_cell, flipped

from gaugebook.pipeline.book import register
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import BookError
from gaugebook.reports.cli import main
from gaugebook.reports.proof.verification import chain_in, verify_book


def test_an_untouched_book_holds(lived_in, sample_book):
    """No alarm on books that only the commands wrote, and no table of which the register says nothing."""
    for folder in (lived_in, sample_book):
        with open_book(folder) as book:
            found = verify_book(book)
            assert found.faults == ()
            assert found.not_covered == ()
            assert (found.entries, found.head) == (len(register.entries(book)), register.head(book).own_sha256)


def test_any_value_altered_is_found(lived_in):
    """Forty values of tables and columns taken by chance, each altered alone: every one is named."""
    chance = random.Random(20310301)
    with open_book(lived_in, writing=True) as book:
        for _ in range(40):
            book.execute("BEGIN")
            cell = any_cell(book, chance)
            alter(book, cell)
            found = verify_book(book)
            book.execute("ROLLBACK")
            assert not found.holds, cell
            assert cell.table in " ".join(fault.why for fault in found.faults) or cell.table == "register.entries", cell
        assert verify_book(book).holds


def test_any_byte_altered_is_found(lived_in):
    """A byte of a kept file, a log or an attachment taken by chance: the file is named."""
    chance = random.Random(1)
    with open_book(lived_in) as book:
        for _ in range(12):
            path, place = any_byte(lived_in, chance)
            with flipped(path, place, chance):
                found = verify_book(book)
            assert path.name in found.faults[0].why
        assert verify_book(book).holds


@pytest.mark.parametrize(
    ("deed", "words"),
    [
        ("DELETE FROM typed.fills WHERE sample_no = 2", "typed.fills had 3 rows then and has 2 now"),
        ("DELETE FROM typed.amendments", "typed.amendments had 1 rows then and has 0 now"),
        (
            "INSERT INTO typed.fills SELECT * REPLACE (900 AS source_id) FROM typed.fills",
            "rows of no received file: 3 in",
        ),
        ("INSERT INTO received.files SELECT * REPLACE (9 AS file_id) FROM received.files LIMIT 1", "does not tell"),
        ("DELETE FROM register.entries WHERE kind = 'amendment'", "taken out"),
        ("DROP TABLE flagged.flags", "is not in the book"),
    ],
)
def test_what_was_taken_out_or_put_in_is_named(lived_in, deed, words):
    """Rows and tables gone or added are told as that."""
    with open_book(lived_in, writing=True) as book:
        book.execute("BEGIN")
        book.execute(deed)
        found = verify_book(book)
        book.execute("ROLLBACK")

    assert any(words in fault.why for fault in found.faults), found.faults


def test_a_kept_file_that_is_gone_is_named(lived_in, tmp_path):
    """Without its bytes a file's entry does not hold."""
    folder = copytree(lived_in, tmp_path / "book")
    kept = sorted(path for path in (folder / "kept").rglob("*") if path.is_file())[0]
    kept.unlink()

    with open_book(folder) as book:
        found = verify_book(book)

    assert [kept.name in fault.why and "cannot be read" in fault.why for fault in found.faults] == [True]


def test_a_chain_written_anew_is_found_by_a_noted_head_alone(lived_in, tmp_path):
    """An amendment and every hash after it rewritten passes the comparison, but not that with a head noted before."""
    folder = copytree(lived_in, tmp_path / "book")
    with open_book(folder, writing=True) as book:
        noted = register.head(book).own_sha256
        chain = register.entries(book)
        book.execute("DELETE FROM register.entries")
        for entry in chain:
            payload = entry.data | ({"person": "somebody else"} if entry.kind == "amendment" else {})
            register.append(book, [register.Event(entry.kind, entry.subject, payload)], entry.entered_at)
    ask = ["--book", str(folder), "verify"]

    unaware = CliRunner().invoke(main, ask)
    assert unaware.exit_code == 0, unaware.output
    result = CliRunner().invoke(main, [*ask, "--head", noted])
    assert result.exit_code == 1
    assert "written anew" in result.output
    assert CliRunner().invoke(main, [*ask, "--head", chain[3].own_sha256[:16]]).exit_code == 0


def test_the_command_for_people_and_for_machines(lived_in, tmp_path):
    """Exit status 0, 1, 2; the same faults as a sentence and as JSON."""
    folder = copytree(lived_in, tmp_path / "book")
    ask = ["--book", str(folder), "verify"]
    good = CliRunner().invoke(main, ask)
    with open_book(folder, writing=True) as book:
        book.execute("UPDATE typed.fills SET net_content_ml = 505 WHERE sample_no = 1")

    seen, told = CliRunner().invoke(main, ask), CliRunner().invoke(main, [*ask, "--json"])

    assert good.exit_code == 0
    assert "entries of the register hold" in good.output
    assert (seen.exit_code, told.exit_code) == (1, 1)
    assert "file received: fills.csv): its part of typed.fills has other values" in seen.output
    fault = json.loads(told.stdout)["faults"][0]
    assert fault["label"] in seen.output
    assert CliRunner().invoke(main, ["--book", str(tmp_path / "none"), "verify"]).exit_code != 0


def test_a_file_that_is_no_text_is_no_extract(tmp_path):
    """One sentence, not a traceback."""
    path = tmp_path / "head.bin"
    path.write_bytes(bytes(range(256)))

    with pytest.raises(BookError, match="is no text; expected one entry of the register a line"):
        chain_in(path)
