"""Rows put into a book by hand, for tests of checks."""

from collections.abc import Callable
from typing import Any

from gaugebook.pipeline.book.database import Book


def put_row(book: Book, table: str, **row: Any) -> None:
    """One row; source_id and line are 1 where the table needs them and the test says nothing."""
    if table.startswith("typed."):
        row = {"source_id": 1, "line": 1} | row
    names = ", ".join(row)
    marks = ", ".join("?" for _ in row)
    book.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", list(row.values()))


def put_batch(put: Callable[..., None], batch: str, product: str, liquid: str, **bottling: Any) -> None:
    """A batch of a product, bottled from a liquid."""
    run = f"BOT-{batch}"
    given = {"nominal_ml": 700.0, "label_strength_pct_vol": 40.0} | bottling
    same = {"run": run, "product": product, "bottled_at": "2031-03-01"}
    put(
        "typed.bottling", lot=batch, nominal_ml=700, label_strength_pct_vol=40, bottles_filled=100, bottles_rejected=1,
        operator="AQ", **same,
    )  # fmt: skip
    put("derived.bottlings", batch=batch, **same, **given)
    put("typed.movements", run=run, direction="in", lot=liquid, part="liquid")
    put("derived.gauges", run=run, direction="in", lot=liquid, part="liquid")
    put("derived.lineage", batch=batch, run=run, lot=liquid, into_lot=batch, depth=1)
