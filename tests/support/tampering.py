"""Altering a book behind its register's back: one value of any table, or one byte of any file that it keeps."""

import random
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.book.table_digests import whole_tables

REGISTER = "register.entries"
KEPT = ("kept", "readings", "attachments")  # folders of a book whose files the register names


@dataclass(frozen=True)
class Cell:
    """A value of the book: table, row and column."""

    table: str
    row: int
    column: str
    type: str


def any_cell(book: Book, chance: random.Random, tables: list[str] | None = None) -> Cell:
    """A value of one of the tables taken by chance, each as likely as any other; of all where none are named."""
    tables = tables or [*whole_tables(book), REGISTER]
    while True:
        table = chance.choice(tables)
        rows = book.frame(f"SELECT rowid FROM {table}")["rowid"].to_list()
        if rows:
            break
    columns = book.frame(f"SELECT column_name, column_type FROM (DESCRIBE {table})").rows()
    return Cell(table, chance.choice(rows), *chance.choice(columns))


def alter(book: Book, cell: Cell) -> None:
    """Change a value to another one of its type; blanks become filled."""
    table, column = cell.table, f'"{cell.column}"'
    if cell.type.endswith("[]"):
        new = f"list_append(coalesce({column}, []), NULL)"
    elif cell.type.startswith("VARCHAR"):
        new = f"coalesce({column}, '') || 'x'"
    elif cell.type == "BOOLEAN":
        new = f"NOT coalesce({column}, true)"
    elif cell.type == "DATE":
        new = f"coalesce({column}, DATE '2031-01-01') + 1"
    elif cell.type.startswith("TIMESTAMP"):
        new = f"coalesce({column}, TIMESTAMP '2031-01-01') + INTERVAL 1 SECOND"
    elif cell.type == "DOUBLE":  # the next number that there is
        new = f"nextafter(coalesce({column}, 0), 'infinity'::DOUBLE)"
    elif cell.type.startswith("STRUCT") or cell.type.startswith("JSON"):
        new = "NULL"
    else:
        new = f"coalesce({column}, 0) + 1"
    book.execute(f"UPDATE {table} SET {column} = {new} WHERE rowid = {cell.row}")


def any_byte(folder: Path, chance: random.Random) -> tuple[Path, int]:
    """A byte of a file that the book keeps: the file and where in it."""
    files = sorted(path for name in KEPT for path in (folder / name).rglob("*") if path.is_file())
    path = chance.choice(files)
    return path, chance.randrange(path.stat().st_size)


@contextmanager
def flipped(path: Path, place: int, chance: random.Random) -> Iterator[None]:
    """A byte changed for a while."""
    before = path.read_bytes()
    path.write_bytes(changed(before, place, chance))
    try:
        yield
    finally:
        path.write_bytes(before)


def changed(content: bytes, place: int, chance: random.Random) -> bytes:
    """The bytes with one of them another."""
    return content[:place] + bytes([content[place] ^ chance.randrange(1, 256)]) + content[place + 1 :]
