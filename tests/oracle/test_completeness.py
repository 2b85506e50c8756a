"""Nothing of the book goes unworked: every column of every derived, flagged and history table is compared
somewhere here."""

import importlib
from pathlib import Path

import duckdb

from tests.oracle.book_by_hand import BookByHand
from tests.oracle.expectation import COVERED, EXPECTATIONS

SCHEMAS = ("derived", "flagged", "history")
NOT_COMPARED = {
    "derived.reconciled": {"stream": "a number given in no order that a reader could use"},
    "derived.kept_curves": {
        "fingerprint": "a hash of what the curve rests on; that it is one is tried in test_curves.py"
    },
}
# The house of this book fills no casks and sends nothing out: these are worked by hand in tests/pipeline/derived/casks,
# and the three views show the typed records as they are where there are no casks.
WORKED_ELSEWHERE = {
    "derived.cask_places", "derived.casks", "derived.counts", "derived.goods_entries", "derived.lot_flows",
    "derived.ages", "derived.cask_events", "derived.cask_losses", "derived.cask_stock", "derived.dips",
    "derived.evaporation", "derived.movements", "derived.removals", "derived.runs",
}  # fmt: skip


def covered(by_hand: BookByHand) -> dict[str, set[str]]:
    """Columns by table that a test of this folder compares, found by reading their rows again."""
    for path in sorted(Path(__file__).parent.glob("test_*.py")):
        importlib.import_module(f"tests.oracle.{path.stem}")
    found = {table: set(columns) for table, columns in COVERED.items()}
    for expectation in EXPECTATIONS:
        for row in expectation.rows(by_hand):
            found.setdefault(expectation.table, set()).update(row)
    return found


def test_every_column_is_worked_out(oracle_book: duckdb.DuckDBPyConnection, by_hand: BookByHand) -> None:
    """Columns in the database are those that are compared, but for a few with a reason; none is compared that is
    not there."""
    there: dict[str, set[str]] = {}
    for schema, table, column in oracle_book.execute(
        "SELECT table_schema, table_name, column_name FROM information_schema.columns WHERE list_contains(?, "
        "table_schema)",
        [list(SCHEMAS)],
    ).fetchall():
        there.setdefault(f"{schema}.{table}", set()).add(column)
    compared = covered(by_hand)
    missing = {
        table: columns - compared.get(table, set()) - NOT_COMPARED.get(table, {}).keys()
        for table, columns in there.items()
        if table not in WORKED_ELSEWHERE
    }
    assert {table: columns for table, columns in missing.items() if columns} == {}
    gone = {table: columns - there.get(table, set()) for table, columns in compared.items()}
    assert {table: columns for table, columns in gone.items() if columns} == {}
    excused = {(table, column) for table, columns in NOT_COMPARED.items() for column in columns}
    assert all(column in there[table] for table, column in excused)
