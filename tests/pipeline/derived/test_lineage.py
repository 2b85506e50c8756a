"""Shares and quantities handed back through a small network that can be reckoned by hand."""

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.derived.lineage import traced_back

SCHEMA = {
    "batch": pl.String, "run": pl.String, "lot": pl.String, "into_lot": pl.String,
    "weight": pl.Float64, "quantity": pl.Float64, "useful_output": pl.Float64, "batch_alcohol_l": pl.Float64,
}  # fmt: skip


def _traced(steps: list[tuple]) -> dict[tuple[str, str], tuple[float | None, float | None]]:
    rows = [("B", run, lot, into, weight, quantity, output, 10.0) for run, lot, into, weight, quantity, output in steps]
    frame = traced_back(pl.DataFrame(rows, schema=SCHEMA, orient="row"))
    return {(r["lot"], r["into_lot"]): (r["share"], r["consumed"]) for r in frame.iter_rows(named=True)}


def test_a_blend_is_shared_out_by_alcohol():
    """Two spirits of 30 and 10 LPA stand behind a blend with three quarters and one quarter."""
    traced = _traced(
        [
            ("BOT", "BLEND", "B", 10.0, 10.0, 10.0),
            ("BLD", "X", "BLEND", 30.0, 30.0, 40.0),
            ("BLD", "Y", "BLEND", 10.0, 10.0, 40.0),
            ("BLD", "WATER", "BLEND", None, 60.0, 40.0),
        ]
    )

    assert traced["X", "BLEND"] == pytest.approx((0.75, 7.5))
    assert traced["Y", "BLEND"] == pytest.approx((0.25, 2.5))
    assert traced["WATER", "BLEND"] == (None, pytest.approx(15.0))


def test_a_lot_reached_on_two_ways_is_counted_once_for_each():
    """Spirit that comes in directly and through its recycled feints adds up over both ways."""
    traced = _traced(
        [
            ("BOT", "BLEND", "B", 10.0, 10.0, 10.0),
            ("BLD", "HEARTS", "BLEND", 8.0, 8.0, 10.0),
            ("BLD", "REDONE", "BLEND", 2.0, 2.0, 10.0),
            ("RE2", "FEINTS", "REDONE", 2.5, 2.5, 2.0),
            ("RE1", "WASH", "HEARTS", 11.0, 11.0, 10.5),
            ("RE1", "WASH", "FEINTS", 11.0, 11.0, 10.5),
        ]
    )

    assert traced["WASH", "HEARTS"][0] + traced["WASH", "FEINTS"][0] == pytest.approx(1.0)
    # 8 of 10.5 useful litres by the hearts, 2.5 of 10.5 by the feints, of the 11 litres that were drawn
    assert traced["WASH", "HEARTS"][1] + traced["WASH", "FEINTS"][1] == pytest.approx(11.0 * 10.5 / 10.5)


def test_a_lot_that_feeds_itself_ends():
    """A circle in the records is a fault for the rules to find; tracing comes to an end all the same."""
    traced = _traced([("BOT", "X", "B", 10.0, 10.0, 10.0), ("R", "X", "X", 5.0, 5.0, 5.0)])

    assert traced["X", "B"][0] == pytest.approx(1.0)


@given(st.lists(st.lists(st.floats(0.1, 1e4), min_size=1, max_size=5), min_size=1, max_size=5))
def test_the_shares_of_a_lot_s_origin_sum_to_one(levels):
    """However often spirits are blended, what the batch is made of sums to the whole batch."""
    steps, into = [], "B"
    leaves: list[tuple[str, str]] = []
    for level, weights in enumerate(levels):
        lots = [f"L{level}-{number}" for number in range(len(weights))]
        total = sum(weights)
        steps += [(f"R{level}", lot, into, w, w, total) for lot, w in zip(lots, weights, strict=True)]
        leaves = [place for place in leaves if place[0] != into] + [(lot, into) for lot in lots]
        into = lots[0]

    traced = _traced(steps)

    assert sum(traced[place][0] for place in leaves) == pytest.approx(1.0, rel=1e-9)
