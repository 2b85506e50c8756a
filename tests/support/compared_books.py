"""Two books of one house compared cell by cell: every table that is computed, and every flag.

A row is known by the columns that are neither floating numbers nor left out by name; numbers are then held against
each other within a tolerance. What is left out stands in `LEFT_OUT` with its reason.
"""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from gaugebook.pipeline.book.database import Book

Row = dict[str, Any]

# Columns that cannot agree between houses whose files are cut differently, with the reason; "*" is any table.
LEFT_OUT = {
    ("*", "source_id"): "numbers of files in the order in which they were received",
    ("*", "line"): "lines of other files",
    ("derived.kept_curves", "fingerprint"): "a hash of the log's files and the code",
    ("derived.kept_curves", "curve"): "the curve as text; its figures are in run_curves, curve_cuts, curve_findings",
    ("derived.reconciled", "stream"): "a running number",
    ("derived.reconciled", "network"): "a running number",
    ("derived.reconciled", "alike"): "a running number of streams that cannot be told apart",
    ("derived.networks", "network"): "a running number",
    ("derived.steps", "lot_rank"): "one of several right orders of the graph",
    ("derived.steps", "into_rank"): "one of several right orders of the graph",
    ("flagged.flags", "flag"): "a short name made of the record in words, which names materials",
}


@dataclass(frozen=True)
class Difference:
    """One cell, or one row, in which the two books differ."""

    table: str
    column: str
    key: tuple[Any, ...]
    first: Any
    second: Any

    def __str__(self) -> str:
        return f"{self.table}.{self.column} of {self.key}: {self.first!r} against {self.second!r}"


def differences(
    first: Book,
    second: Book,
    tables: list[str],
    agree: Callable[[str, str, Row, Row], bool],
    words: dict[str, str],
    retold: Callable[[Row], Row],
) -> list[Difference]:
    """Every cell of these tables in which the books do not agree.

    `words` turns texts of the second into the first's, `retold` a row of the first into what the second says.
    """
    by_table: list[Difference] = []
    for table in tables:
        by_table += _compared(
            table, [retold(row) for row in _rows(first, table, {})], _rows(second, table, words), agree
        )
    return by_table


def tables_of(book: Book, *schemas: str) -> list[str]:
    """Names of all stored tables and views of some schemas."""
    named = book.frame(
        "SELECT table_schema || '.' || table_name AS name FROM information_schema.tables "
        "WHERE list_contains($schemas, table_schema) ORDER BY 1",
        {"schemas": list(schemas)},
    )
    return [str(name) for name in named["name"]]


def _rows(book: Book, table: str, words: dict[str, str]) -> list[Row]:
    rows = book.frame(f"SELECT * FROM {table}").to_dicts()
    kept = [column for column in (rows[0] if rows else []) if not is_left_out(table, column)]
    return [{column: _worded(row[column], words) for column in kept} for row in rows]


def is_left_out(table: str, column: str) -> bool:
    return ("*", column) in LEFT_OUT or (table, column) in LEFT_OUT


def _worded(value: Any, words: dict[str, str]) -> Any:
    """A text with the second house's words put back, longest first."""
    if isinstance(value, str):
        for theirs, ours in words.items():
            value = value.replace(theirs, ours)
    return value


def _is_measured(value: Any) -> bool:
    return isinstance(value, float | datetime)


def _compared(table: str, first: list[Row], second: list[Row], agree: Callable[..., bool]) -> list[Difference]:
    measured = {name for rows in (first, second) for row in rows for name, value in row.items() if _is_measured(value)}
    ours, theirs = _by_key(first, measured), _by_key(second, measured)
    differing = []
    for key in [*ours, *(key for key in theirs if key not in ours)]:
        our_rows, there = ours.get(key, []), theirs.get(key, [])
        if len(our_rows) != len(there):
            differing.append(Difference(table, "(rows)", key, our_rows, there))
            continue
        differing += [
            Difference(table, column, key, a[column], b[column])
            for a, b in zip(our_rows, there, strict=True)
            for column in sorted(measured & a.keys())
            if not agree(table, column, a, b)
        ]
    return differing


def _by_key(rows: list[Row], measured: set[str]) -> dict[tuple[Any, ...], list[Row]]:
    """Rows by what is not measured; rows with one key in the order of their measured values, roughly rounded."""
    groups = defaultdict(list)
    for row in rows:
        groups[tuple(f"{name}={value}" for name, value in row.items() if name not in measured)].append(row)
    for group in groups.values():
        group.sort(key=lambda row: [_rough(row[name]) for name in sorted(measured & row.keys())])
    return groups


def _rough(value: Any) -> tuple[bool, float]:
    """Something to sort by that rounding does not disturb."""
    if isinstance(value, datetime):
        return (False, round(value.timestamp() / 60.0))
    return (value is None, 0.0 if value is None else float(f"{float(value):.4g}"))
