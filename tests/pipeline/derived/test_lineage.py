"""Shares and quantities handed back through a small network that can be reckoned by hand."""

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.derived.lineage import traced_back
from gaugebook.pipeline.derived.steps import ranks

SCHEMA = {
    "run": pl.String, "lot": pl.String, "into_lot": pl.String, "stage": pl.String, "basis": pl.String,
    "share": pl.Float64, "quantity": pl.Float64, "per_unit": pl.Float64,
}  # fmt: skip


def _traced(steps: list[tuple]) -> dict[tuple[str, str], tuple[float | None, float | None, int]]:
    """Share, consumed quantity and depth by (lot, into_lot), of a batch B of 10 LPA.

    A step is: run, lot, into_lot, LPA (None where it carries none), quantity drawn, useful output of the run.
    """
    whole: dict[tuple[str, str], float] = {}
    for run, _, into, weight, _, _ in steps:
        whole[run, into] = whole.get((run, into), 0.0) + (weight or 0.0)
    rows = [
        (
            run,
            lot,
            into,
            "blend",
            "LPA",
            None if weight is None else weight / whole[run, into],
            quantity,
            quantity / output,
        )
        for run, lot, into, weight, quantity, output in steps
    ]
    batches = pl.DataFrame({"batch": ["B"], "alcohol_l": [10.0]})
    frame = traced_back(pl.DataFrame(rows, schema=SCHEMA, orient="row"), batches)
    return {(r["lot"], r["into_lot"]): (r["share"], r["consumed"], r["depth"]) for r in frame.iter_rows(named=True)}


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

    assert traced["X", "BLEND"] == pytest.approx((0.75, 7.5, 2))
    assert traced["Y", "BLEND"] == pytest.approx((0.25, 2.5, 2))
    assert traced["WATER", "BLEND"] == (None, pytest.approx(15.0), 2)


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
    assert (traced["WASH", "HEARTS"][2], traced["WASH", "FEINTS"][2]) == (3, 4)


def test_water_that_was_made_from_something_is_followed_too():
    """What carries no alcohol has no share, and its own origin is found all the same."""
    traced = _traced([("BOT", "SOFTENED", "B", None, 4.0, 10.0), ("SOF", "MAINS", "SOFTENED", None, 5.0, 4.0)])

    assert traced["MAINS", "SOFTENED"] == (None, pytest.approx(5.0), 2)


def test_lots_in_a_ring_have_no_rank():
    """A lot that feeds itself, and what was made of it, cannot be put in order; the rest can."""
    assert ranks([("A", "B"), ("B", "C"), ("C", "B"), ("C", "D"), ("A", "E")]) == {"A": 0, "E": 1}


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

    # a share below a billionth is not followed: at most that much is missing for each lot left out
    assert sum(traced[place][0] for place in leaves if place in traced) == pytest.approx(1.0, abs=1e-7)


def test_behind_no_batch_stands_nothing():
    """A house that has bottled, or filled, nothing yet: an empty table of the same columns, and no fault."""
    steps = pl.DataFrame([("BLD", "X", "BLEND", "blend", "LPA", 1.0, 30.0, 1.0)], schema=SCHEMA, orient="row")
    nothing = traced_back(steps, pl.DataFrame(schema={"batch": pl.String, "alcohol_l": pl.Float64}))

    assert nothing.is_empty()
    assert nothing.columns == traced_back(steps, pl.DataFrame({"batch": ["BLEND"], "alcohol_l": [1.0]})).columns
