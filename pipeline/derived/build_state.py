"""What the derived tables were made from, so that they are made anew only where that has changed.

Apart from `rebuild`, which takes a second to import: a command that finds all as it was need not wait for it.
"""

from pathlib import Path

from gaugebook.pipeline.book.code_fingerprint import code_sha256
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.errors import BookError

PIPELINE = Path(__file__).parents[1]


def note_made(book: Book, fingerprint: str) -> None:
    """Remember what the derived tables were made from, and that this edition made them; inside that transaction."""
    book.execute(
        "CREATE OR REPLACE TABLE derived.build_state AS SELECT ?::VARCHAR AS fingerprint, ?::VARCHAR AS code",
        [fingerprint, code_sha256(PIPELINE)],
    )


def is_up_to_date(book: Book) -> bool:
    """Whether derived.* was made from what the book holds now, by the code as it is now."""
    return is_of_this_edition(book) and bool(
        book.value("SELECT fingerprint FROM derived.build_state") == fingerprint(book)
    )


def is_of_this_edition(book: Book) -> bool:
    """Whether derived.* was made by the code as it is now."""
    return book.has_column("derived.build_state", "code") and bool(
        book.value("SELECT code FROM derived.build_state") == code_sha256(PIPELINE)
    )


def require_this_edition(book: Book) -> None:
    """Raise a sentence where another edition of the code made the derived tables.

    Raises
    ------
    BookError
        Saying what to do.
    """
    if not is_of_this_edition(book):
        raise BookError(
            f'The quantities in "{book.folder}" were computed by another edition of gaugebook: run "gaugebook check", '
            "which computes them anew."
        )


def fingerprint(book: Book) -> str:
    """What the derived tables depend on: files and how often each was read, amendments, profile, and the code."""
    state = book.value("""
        SELECT (SELECT concat_ws(' ', count(*), sum(times_read)) FROM received.files) || ' files, '
            || (SELECT count(*) FROM typed.amendments) || ' amendments, edition '
            || (SELECT coalesce(max(edition), 0) FROM received.houses)
    """)
    return f"{state}, code {code_sha256(PIPELINE)}"
