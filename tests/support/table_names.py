"""Which tables a SQL text reads and which it fills, by their names in it."""

import re
from pathlib import Path
from typing import Any

from gaugebook.pipeline.book.database import Book

_FILLS = re.compile(r"(?:INSERT INTO|DELETE FROM|CREATE OR REPLACE (?:TEMP )?TABLE|SET VARIABLE) ([\w.]+)")
_READS = re.compile(r"\b(?:typed|derived|received|landed)\.[a-z_]+")
_VARIABLE = re.compile(r"getvariable\('(\w+)'\)")
_OF_CONNECTION = re.compile(r"(?:FROM|JOIN) (log_blocks)\b")  # the temporary table of log_blocks.sql


def read_and_filled(sql: str) -> tuple[set[str], set[str]]:
    """Names of the tables and variables that are read, and of those that are filled.

    >>> read_and_filled("INSERT INTO derived.lots FROM typed.runs -- not derived.steps")
    ({'typed.runs'}, {'derived.lots'})
    """
    plain = re.sub(r"--[^\n]*", "", sql)
    variables = set(_VARIABLE.findall(plain))
    plain = re.sub(r"'[^']*'", "''", plain)
    filled = set(_FILLS.findall(plain))
    plain = _FILLS.sub("", plain)
    return {*_READS.findall(plain), *_OF_CONNECTION.findall(plain), *variables}, filled


class WatchedBook(Book):
    """A book that notes which tables are read and filled through it."""

    def __init__(self, book: Book) -> None:
        super().__init__(book._connection, book.folder)
        self.read: set[str] = set()
        self.filled: set[str] = set()

    def _note(self, sql: str) -> None:
        read, filled = read_and_filled(sql)
        self.read |= read
        self.filled |= filled

    def frame(self, sql: str, *args: Any) -> Any:
        """As in a book."""
        self._note(sql)
        return super().frame(sql, *args)

    def value(self, sql: str, *args: Any) -> Any:
        """As in a book."""
        self._note(sql)
        return super().value(sql, *args)

    def execute(self, sql: str, *args: Any) -> None:
        """As in a book."""
        self._note(sql)
        super().execute(sql, *args)

    def run_file(self, path: Path) -> None:
        """As in a book."""
        self._note(path.read_text(encoding="utf-8"))
        super().run_file(path)

    def append(self, table: str, frame: Any) -> None:
        """As in a book."""
        self.filled.add(table)
        super().append(table, frame)
