"""Whether the flags in a book were made from what the book holds now."""

from collections.abc import Sequence
from hashlib import sha256
from typing import Any

from pipeline.database import Book
from pipeline.errors import BookError


def note_checked(book: Book, rule_book: Sequence[Any]) -> None:
    """Remember what the flags were made from; inside the transaction that makes them."""
    book.execute(
        "CREATE OR REPLACE TABLE flagged.checked_from AS "
        "SELECT fingerprint, ?::VARCHAR AS rule_book_sha256 FROM derived.made_from",
        [rule_book_sha256(rule_book)],
    )


def rule_book_sha256(rule_book: Sequence[Any]) -> str:
    """SHA-256 of the rules in force, the house's own limits among them."""
    return sha256("\n".join(map(repr, rule_book)).encode()).hexdigest()


def require_checked(book: Book) -> None:
    """Raise a sentence where the book was never checked, or was changed since.

    Raises
    ------
    BookError
        Saying which, and what to do.
    """
    tables = (
        "SELECT count(*) FROM information_schema.tables WHERE table_schema = 'flagged' AND table_name = 'checked_from'"
    )
    if not book.value(tables):
        raise BookError(f'The book in "{book.folder}" has not been checked yet: run "gaugebook check" first.')
    if book.value("SELECT fingerprint FROM flagged.checked_from") != book.value(
        "SELECT fingerprint FROM derived.made_from"
    ):
        raise BookError(f'The book in "{book.folder}" has changed since it was checked: run "gaugebook check" again.')
