"""The ledger of goods over rows made by hand, in memory: fast enough for laws on many examples."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from pathlib import Path

import duckdb

ROOT = Path(__file__).parents[2] / "gaugebook"


@cache
def _connection() -> duckdb.DuckDBPyConnection:
    connection = duckdb.connect()
    connection.execute("SET VARIABLE house_zone = 'UTC'; SET TimeZone = 'UTC'")
    for schema in ("typed", "derived/casks", "derived"):
        connection.execute((ROOT / "pipeline" / schema / "schema.sql").read_text(encoding="utf-8"))
    return connection


@contextmanager
def opened_with(
    folder: str, bottles: int, each_l: float, moves: Sequence[tuple[str, int]]
) -> Iterator[list[tuple[str, float, float]]]:
    """Entries (entry, pieces, LPA) in their order, of one batch with these removals, a minute after one another."""
    connection = _connection()
    connection.execute((ROOT / folder / "schema.sql").read_text(encoding="utf-8"))
    connection.execute("DELETE FROM derived.gauges; DELETE FROM derived.removals")
    connection.execute(
        "INSERT INTO derived.gauges BY NAME SELECT 'R' AS run, 'out' AS direction, 'B' AS lot, 'bottles' AS part, "
        "TIMESTAMP '2026-01-01' AS gauged_at, ? AS pieces, ? AS alcohol_l",
        [bottles, bottles * each_l],
    )
    for number, (kind, pieces) in enumerate(moves, start=1):
        connection.execute(
            "INSERT INTO derived.removals BY NAME SELECT ? AS kind, 'B' AS lot, true AS is_bottled, "
            "TIMESTAMP '2026-01-01' + INTERVAL (?) MINUTE AS removed_at, ? AS pieces, ? AS alcohol_l",
            [kind, number, pieces, pieces * each_l],
        )
    connection.execute((ROOT / folder / "goods_entries.sql").read_text(encoding="utf-8"))
    yield connection.execute(
        "SELECT entry, pieces, alcohol_l::DOUBLE FROM derived.goods_entries ORDER BY booked_at"
    ).fetchall()
