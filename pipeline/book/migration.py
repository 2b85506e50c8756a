"""Books of an earlier edition: numbered SQL files bring their tables to what this version reads and writes.

The edition of a book's tables is what its register says: the first entry of a new book, and one entry a migration. A
book without such an entry is of edition 1 (gaugebook 0.1). Derived and flagged tables need no migration: they are made
anew.
"""

from collections.abc import Mapping
from hashlib import sha256
from pathlib import Path
from typing import Any

from gaugebook.pipeline.book import register
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.book.register import Event
from gaugebook.pipeline.book.table_digests import (
    State,
    append_events,
    file_tables,
    last_stated,
    last_stated_of_files,
    states_of,
    states_of_files,
    whole_tables,
)
from gaugebook.pipeline.errors import BookError

MIGRATIONS = Path(__file__).with_name("migrations")
FIRST_EDITION = 1
KIND = "schema"  # of the entries that tell the edition


def migrations(folder: Path = MIGRATIONS) -> dict[int, Path]:
    """Edition -> the SQL file that brings a book of the edition before to it, in order.

    >>> min(migrations()) == FIRST_EDITION + 1
    True
    """
    return {int(path.name.split("_")[0]): path for path in sorted(folder.glob("[0-9]*_*.sql"))}


def current_edition(folder: Path = MIGRATIONS) -> int:
    """The edition of the tables that this version reads and writes."""
    return max(migrations(folder), default=FIRST_EDITION)


def edition_of(book: Book) -> int:
    """The edition that the book's tables are of."""
    return max((entry.data["edition"] for entry in register.entries(book, KIND)), default=FIRST_EDITION)


def is_new(book: Book) -> bool:
    """Whether nothing was ever received into this book."""
    return not book.has_column("received.files", "file_id")


def note_new(book: Book) -> None:
    """Enter the edition of a book that has just been made, inside that transaction."""
    edition = current_edition()
    append_events(book, [Event(KIND, f"edition {edition}", {"edition": edition})])


def migrate(book: Book, folder: Path = MIGRATIONS) -> list[int]:
    """Bring the book's tables to the current edition, one migration after the other, inside one transaction.

    What the register says of the tables is compared first: a table that was altered would be entered anew as if it were
    sound. Each migration enters its number, its SHA-256, the state of every table and file whose rows it changed, and
    the tables that it dropped.

    Parameters
    ----------
    book : Book
        Open for writing, inside a transaction.
    folder : Path
        Where the migrations lie.

    Returns
    -------
    list of int
        The editions that the book went through; empty where it was up to date.

    Raises
    ------
    BookError
        If a later version wrote the book, or its tables are not those that its register tells of.
    """
    have, want = edition_of(book), current_edition(folder)
    if have > want:
        raise BookError(
            f'The book in "{book.folder}" was written by a later version (edition {have} of its tables; this version '
            f"knows {want}): use that version. Nothing was changed."
        )
    due = [edition for edition in migrations(folder) if edition > have]
    if due:
        _refuse_altered(book)
    for edition in due:
        _apply(book, edition, migrations(folder)[edition])
    return due


def _apply(book: Book, edition: int, path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    tables, files = _states(book)
    book.run_file(path)
    tables_now, files_now = _states(book)
    restated = [
        Event("file restated", f"edition {edition}", {"file_id": file, "rows": rows})
        for file, rows in files_now.items()
        if rows != files.get(file)
    ]
    dropped = sorted(tables.keys() - tables_now.keys())
    payload: dict[str, Any] = {"edition": edition, "migration": path.name, "sha256": sha256(text.encode()).hexdigest()}
    if dropped:
        payload["dropped"] = dropped
    changed = [name for name, state in tables_now.items() if state != tables.get(name)]
    append_events(book, [*restated, Event(KIND, f"edition {edition}", payload)], changed)


def _states(book: Book) -> tuple[dict[str, State], dict[int | None, dict[str, State]]]:
    of_files = set(file_tables(book))
    whole = [name for name in whole_tables(book) if name not in of_files]
    return states_of(book, whole), states_of_files(book)


def _refuse_altered(book: Book) -> None:
    tables, files = _states(book)
    stated = last_stated(book, tables)
    altered = _differing({name: tables[name] for name in stated}, stated)
    for file, rows in last_stated_of_files(book).items():
        altered += [f"{name} of file {file}" for name in _differing(files.get(file, {}), rows)]
    if altered:
        raise BookError(
            f'The book in "{book.folder}" was written by an earlier version and must be brought up to date, but '
            f"{', '.join(altered[:3])} {'is' if len(altered) == 1 else 'are'} not what its register tells of: run "
            '"gaugebook verify" and restore a sound copy of the book. Nothing was changed.'
        )


def _differing(now: Mapping[str, State], stated: Mapping[str, State]) -> list[str]:
    return [name for name in sorted(now.keys() | stated.keys()) if now.get(name) != stated.get(name)]
