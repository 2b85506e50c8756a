"""Whether the flags in a book were made from what the book holds now."""

from collections.abc import Sequence
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

from gaugebook.checks.rulebook.published_limits import FOLDER
from gaugebook.pipeline.book.code_fingerprint import code_sha256
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.build_state import require_this_edition
from gaugebook.pipeline.errors import BookError

CHECKS = Path(__file__).parents[1]


def note_checked(book: Book, rule_book: Sequence[Any], at: datetime) -> None:
    """Remember what the flags were made from and when [UTC]; inside the transaction that makes them."""
    book.execute(
        "CREATE OR REPLACE TABLE flagged.checked_from AS "
        "SELECT fingerprint, ?::VARCHAR AS rule_book_sha256, ?::TIMESTAMP AS checked_at, ?::VARCHAR AS code "
        "FROM derived.build_state",
        [rule_book_sha256(rule_book), at, code_sha256(CHECKS)],
    )


def rule_book_sha256(rule_book: Sequence[Any], limits: Path = FOLDER) -> str:
    """SHA-256 of the rules in force, the house's own changes among them, and of the published limits that they compare
    with: the files of a folder by name and text, whatever the line ends."""
    published = [
        f"{path.name} {sha256(path.read_text(encoding='utf-8').encode()).hexdigest()}"
        for path in sorted(limits.glob("*.toml"))
    ]
    return sha256("\n".join([*map(repr, rule_book), *published]).encode()).hexdigest()


def require_checked(book: Book) -> None:
    """Raise a sentence where the book was never checked, was changed since, or is of another edition of the code.

    Raises
    ------
    BookError
        Saying which, and what to do.
    """
    require_this_edition(book)
    if not _was_checked(book):
        raise BookError(f'The book in "{book.folder}" has not been checked yet: run "gaugebook check" first.')
    if not is_checked(book):
        raise BookError(f'The book in "{book.folder}" has changed since it was checked: run "gaugebook check" again.')


def is_checked(book: Book) -> bool:
    """Whether the book was checked since anything in it, or in the code of the checks, changed."""
    return _was_checked(book) and bool(
        book.value("SELECT fingerprint FROM flagged.checked_from")
        == book.value("SELECT fingerprint FROM derived.build_state")
        and book.value("SELECT code FROM flagged.checked_from") == code_sha256(CHECKS)
    )


def _was_checked(book: Book) -> bool:
    return book.has_column("flagged.checked_from", "code")
