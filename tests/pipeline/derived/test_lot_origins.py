"""Where the alcohol of lots is from, followed through blends and stills of round numbers."""

import hypothesis.strategies as st
import polars as pl
import pytest
from hypothesis import given

from gaugebook.pipeline.derived.lot_origins import Origin, followed, lot_origins

OWN, BOUGHT, OPENED = Origin(1.0, 0.0, 0.0, 2.5), Origin(0.0, 1.0, 0.0, 0.0), Origin(0.0, 0.0, 1.0, 0.0)
SCHEMA = {"lot": pl.String, "into_lot": pl.String, "share": pl.Float64, "per_unit": pl.Float64}


def steps(*rows: tuple) -> pl.DataFrame:
    """Rows as of derived.steps, in order."""
    return pl.DataFrame(rows, SCHEMA, orient="row")


def test_a_blend_of_three_origins() -> None:
    """Half own, three tenths bought, a fifth of the opening inventory; grain for the own half alone: 0.55 LPA of own
    drawn for a litre made, 2.5 kg each."""
    graph = steps(("A", "X", 0.5, 0.55), ("B", "X", 0.3, 0.33), ("C", "X", 0.2, 0.22), ("X", "Y", 1.0, 1.1))
    origins = followed({"A": OWN, "B": BOUGHT, "C": OPENED}, graph)

    assert origins["X"] == Origin(0.5, 0.3, 0.2, pytest.approx(1.375))
    assert origins["Y"] == Origin(0.5, 0.3, 0.2, pytest.approx(1.5125))


def test_what_is_not_known_stays_unknown() -> None:
    """A charge of no known origin, or that nobody gauged, leaves the whole without shares; a lost yield the grain."""
    origins = followed(
        {"A": OWN, "B": BOUGHT},
        steps(("A", "X", 0.5, 0.5), ("?", "X", 0.5, 0.5), ("A", "Y", 1.0, 1.0), ("B", "Y", None, None),
              ("A", "Z", 1.0, None), ("X", "W", 1.0, 1.0)),
    )  # fmt: skip

    assert set(origins) == {"A", "B", "Z"}
    assert origins["Z"] == Origin(1.0, 0.0, 0.0, None)


@given(st.lists(st.tuples(st.sampled_from("ABC"), st.floats(0.01, 100.0)), min_size=1, max_size=8))
def test_shares_sum_to_one(charged: list[tuple[str, float]]) -> None:
    """Whatever is blended, the three shares are the whole."""
    whole = sum(amount for _, amount in charged)
    graph = steps(*((lot, "X", amount / whole, amount / whole) for lot, amount in charged))
    mixed = followed({"A": OWN, "B": BOUGHT, "C": OPENED}, graph)["X"]

    assert mixed.own_share + mixed.bought_share + mixed.opening_share == pytest.approx(1.0)
    assert mixed.material_kg_per_l == pytest.approx(2.5 * mixed.own_share)


def test_with_what_alcohol_begins(put, empty_book) -> None:
    """Wash of a ferment is own, with its grain a litre; a delivery of spirit is bought; a lot of both is of neither."""
    for run, lot, kg in (("F-1", "WASH", 600.0), ("F-2", "BOTH", 500.0)):
        put("derived.gauges", run=run, stage="ferment", direction="out", part="wash", lot=lot, alcohol_l=200.0)
        put("derived.ferment_yields", run=run, wash_lot=lot, grain_kg=kg, alcohol_l=200.0)
    for lot, origin in (("NS", "received"), ("BOTH", "received"), ("CASK/1", "opening")):
        put("derived.openings", lot=lot, origin=origin, kind="spirit", carries_alcohol=True)
    put("derived.openings", lot="MOL", origin="received", kind="sugar", carries_alcohol=False)

    lot_origins(empty_book)

    rows = {row["lot"]: row for row in empty_book.frame("SELECT * FROM derived.lot_origins").to_dicts()}
    assert set(rows) == {"WASH", "NS", "CASK/1"}
    assert (rows["WASH"]["own_share"], rows["WASH"]["material_kg_per_l"]) == (1.0, 3.0)
    assert (rows["NS"]["bought_share"], rows["CASK/1"]["opening_share"]) == (1.0, 1.0)
