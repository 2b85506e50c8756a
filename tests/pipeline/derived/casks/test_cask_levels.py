"""What casks hold by their last gauge and what moved since, on gauges put in by hand."""

from datetime import datetime
from pathlib import Path

import polars as pl
import pytest

from gaugebook.pipeline.derived import rebuild

CASKS = Path(rebuild.__file__).parent / "casks"


@pytest.fixture
def levels(empty_book):
    """Rows of the query by cask; C1 lies in W1."""

    def rows():
        with empty_book.with_temp_view("located", pl.DataFrame({"cask": ["C1"], "location": ["W1"]})):
            frame = empty_book.frame((CASKS / "cask_levels.sql").read_text(encoding="utf-8"))
        return {row["cask"]: row for row in frame.to_dicts()}

    return rows


@pytest.fixture
def filled(put):
    """A cask filled with so much by a gauge with an error a of 0.5 LPA: filled("C1", 1, "2024-01-01", 100.0)."""

    def put_filling(cask, gauge, on, alcohol_l):
        put("derived.cask_events", cask=cask, contents=f"{cask}/1", event="filled", happened_at=on)
        put("derived.gauges", gauge=gauge, lot=f"{cask}/1", direction="out", gauged_at=on, alcohol_l=alcohol_l)
        put("derived.gauge_errors", gauge=gauge, error="a", alcohol_l=0.5)

    return put_filling


def put_dip(put, gauge, lot, on, alcohol_l, **errors):
    put("derived.stock_gauges", gauge=gauge, lot=lot, gauged_at=on, alcohol_l=alcohol_l)
    for error, part in errors.items():
        put("derived.gauge_errors", gauge=gauge, error=error, alcohol_l=part)


def test_the_last_gauge_counts_and_what_moved_after_it(put, filled, levels):
    """95 LPA by the last of three gauges, 1 drawn after it; the sample of that moment is in the gauge. Errors:
    0.4 - 0.1 of a, 0.2 of c."""
    filled("C1", 1, "2024-01-01", 100.0)
    put_dip(put, 11, "C1/1", "2025-01-01", 95.0, a=0.4, c=0.2)
    put_dip(put, 10, "C1/1", "2025-01-01", 50.0, b=9.0)
    put_dip(put, 12, "C1/1", "2024-06-01", 98.0, b=9.0)
    for gauge, on, alcohol_l in ((20, "2025-01-01", 7.0), (21, "2025-02-01", 1.0)):
        put("derived.removals", gauge=gauge, kind="sampled", lot="C1/1", removed_at=on, alcohol_l=alcohol_l,
            is_bottled=False)  # fmt: skip
        put("derived.gauge_errors", gauge=gauge, error="a", alcohol_l=0.1)

    row = levels()["C1"]

    assert row == {
        "cask": "C1", "contents": "C1/1", "location": "W1", "filled_at": datetime(2024, 1, 1),
        "gauged_at": datetime(2025, 1, 1), "gauged_l": pytest.approx(94.0),
        "u_gauged_l": pytest.approx((0.3**2 + 0.2**2) ** 0.5),
    }  # fmt: skip


def test_a_cask_that_was_not_gauged_again_holds_what_went_in_and_out(put, filled, levels):
    """100 filled, 20 drawn, as of its filling; where it lies is not known. An emptied cask is not among them, nor one
    that a gauge alone tells of."""
    filled("C2", 1, "2024-01-01", 100.0)
    put("derived.cask_events", cask="C2", contents="C2/1", event="filled", happened_at="2024-03-01")
    put("derived.gauges", gauge=2, lot="C2/1", direction="in", gauged_at="2024-02-01", alcohol_l=20.0)
    filled("C3", 3, "2024-01-01", 100.0)
    put("derived.cask_events", cask="C3", contents="C3/1", event="emptied", happened_at="2024-03-01")
    put("derived.cask_events", cask="C4", contents="C4/1", event="regauged", happened_at="2024-03-01")
    put_dip(put, 9, "C4/1", "2024-03-01", 5.0)

    rows = levels()

    assert list(rows) == ["C2"]
    assert (rows["C2"]["gauged_l"], rows["C2"]["u_gauged_l"]) == (80.0, 0.5)
    assert rows["C2"]["filled_at"] == rows["C2"]["gauged_at"] == datetime(2024, 1, 1)
    assert rows["C2"]["location"] is None


def test_a_cask_of_the_opening_stock(put, filled, levels):
    """From the count on, topped or not; a tank is no cask. Without errors it is sure."""
    for gauge, cask in ((1, "C8"), (2, "C9")):
        put("derived.openings", gauge=gauge, lot=f"{cask}/1", vessel=cask, came_at="2023-01-01", alcohol_l=90.0)
    put("derived.openings", gauge=3, lot="NM", vessel="T1", came_at="2023-01-01", alcohol_l=90.0)
    filled("C9", 4, "2024-01-01", 5.0)

    rows = levels()

    assert {cask: (row["gauged_l"], row["u_gauged_l"]) for cask, row in rows.items()} == {
        "C8": (90.0, 0.0), "C9": (95.0, 0.5),
    }  # fmt: skip
    assert {row["filled_at"] for row in rows.values()} == {datetime(2023, 1, 1)}


def test_what_was_not_gauged_leaves_the_level_unknown(put, filled, levels):
    """A sample of which nobody knows how much."""
    filled("C1", 1, "2024-01-01", 100.0)
    put("derived.removals", gauge=2, kind="sampled", lot="C1/1", removed_at="2024-02-01", is_bottled=False)

    assert levels()["C1"]["gauged_l"] is None
