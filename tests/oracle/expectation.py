"""A table of the oracle book against rows worked out apart from the program, row by row and column by column.

    @expect("derived.lots", "lot")
    def test_lots(by_hand): return [{"lot": "DIST-1", "remaining": 1.863}, ...]

makes a test: the table has these rows, no other, and in each the named columns have these values. What each test covers
is noted by reading the rows again (test_completeness.py), so it does not hang on the order of tests.
"""

import datetime
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import duckdb
import pytest

from tests.oracle.book_by_hand import BookByHand

Row = dict[str, Any]


@dataclass(frozen=True)
class Expectation:
    """A table, the columns that name a row, and the function that works its rows out."""

    table: str
    key: tuple[str, ...]
    rows: Callable[[BookByHand], list[Row]]
    loose: Mapping[str, float]
    where: str


EXPECTATIONS: list[Expectation] = []
COVERED: dict[str, set[str]] = {}


def covers(table: str, *columns: str) -> None:
    """Say which columns a test compares that does not go by `expect`."""
    COVERED.setdefault(table, set()).update(columns)


def expect(table: str, *key: str, loose: Mapping[str, float] | None = None, where: str = "true") -> Callable[..., Any]:
    """Make a test of a function that works out a table's rows; `loose` gives columns a relative tolerance of their
    own."""

    def decorate(rows: Callable[[BookByHand], list[Row]]) -> Callable[..., None]:
        EXPECTATIONS.append(Expectation(table, key, rows, loose or {}, where))

        def test(oracle_book: duckdb.DuckDBPyConnection, by_hand: BookByHand) -> None:
            agree(oracle_book, table, key, rows(by_hand), loose or {}, where)

        test.__name__, test.__doc__, test.__module__ = rows.__name__, rows.__doc__, rows.__module__
        return test

    return decorate


def in_book(book: duckdb.DuckDBPyConnection, table: str, where: str = "true") -> list[Row]:
    """Rows of a table with numbers of sources and gauges replaced by what they stand for: a file's name, file:line."""
    files = dict(
        book.execute("SELECT source_id, name FROM landed.sources JOIN received.files USING (file_id)").fetchall()
    )
    places = {
        number: f"{files[source]}:{line}"
        for kind in ("gauges", "stock_gauges", "openings")
        for number, source, line in book.execute(f"SELECT gauge, source_id, line FROM derived.{kind}").fetchall()
    }
    result = book.execute(f"SELECT * FROM {table} WHERE {where}")
    names = [column[0] for column in result.description]
    rows = [dict(zip(names, row, strict=True)) for row in result.fetchall()]
    for row in rows:
        if row.get("source_id") is not None:
            row["source_id"] = files[row["source_id"]]
        for name in ("gauge", "limiting_gauge"):
            if row.get(name) is not None:
                row[name] = places[row[name]]
    return rows


def agree(
    book: duckdb.DuckDBPyConnection, table: str, key: Sequence[str], rows: list[Row], loose: Mapping[str, float],
    where: str
) -> None:  # fmt: skip
    """The table's rows are these, by key, and the columns given have the values given."""
    found = in_book(book, table, where)
    keyed = {tuple(row[name] for name in key): row for row in found}
    assert len(keyed) == len(found), f"{table}: {key} does not name one row"
    asked = {tuple(row[name] for name in key): row for row in rows}
    assert keyed.keys() == asked.keys(), (
        f"{table}: not expected {sorted(map(str, keyed.keys() - asked.keys()))}, "
        f"missing {sorted(map(str, asked.keys() - keyed.keys()))}"
    )
    wrong = [
        f"{table} {name} of {place}: {keyed[place][name]!r}, worked out {value!r}"
        for place, row in asked.items()
        for name, value in row.items()
        if not alike(keyed[place][name], value, loose.get(name, 5e-5 if name.startswith("u_") else 2e-6))
    ]
    assert not wrong, "\n" + "\n".join(wrong)


def alike(found: object, asked: object, relative: float) -> bool:
    """Equal; numbers within a relative tolerance (and a ten-millionth), NULL only where NULL is expected."""
    if isinstance(asked, bool) or not isinstance(asked, int | float) or found is None or isinstance(found, Decimal):
        return found == asked and (found is None) == (asked is None)
    return isinstance(found, int | float) and found == pytest.approx(asked, rel=relative, abs=1e-7)


def day(text: str) -> datetime.date:
    """A date."""
    return datetime.date.fromisoformat(text)
