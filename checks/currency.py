"""Whether the flags in a book were made from what the book holds now."""

from datetime import datetime

from pipeline.database import Book
from pipeline.errors import BookError


def note_checked(book: Book, at: datetime) -> None:
    """Remember what the flags were made from and when [UTC]; inside the transaction that makes them."""
    book.execute(
        "CREATE OR REPLACE TABLE flagged.checked_from AS "
        "SELECT fingerprint, ?::TIMESTAMP AS checked_at FROM derived.made_from",
        [at],
    )


def require_checked(book: Book) -> None:
    """Raise a sentence where the book was never checked, or was changed since.

    Raises
    ------
    BookError
        Saying which, and what to do.
    """
    columns = (
        "SELECT count(*) FROM information_schema.columns "
        "WHERE table_schema = 'flagged' AND table_name = 'checked_from' AND column_name = 'checked_at'"
    )
    if not book.value(columns):
        raise BookError(f'The book in "{book.folder}" has not been checked yet: run "gaugebook check" first.')
    if book.value("SELECT fingerprint FROM flagged.checked_from") != book.value(
        "SELECT fingerprint FROM derived.made_from"
    ):
        raise BookError(f'The book in "{book.folder}" has changed since it was checked: run "gaugebook check" again.')
