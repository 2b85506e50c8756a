"""The spirits that a lot was put together from, and their shares; litres of pure alcohol are made up."""

from math import isnan

import pytest

from gaugebook.checks.evaluation.spirit_sources import SpiritRecord
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.house.settings import parse_house

HOUSE = """
[house]
name = "Made up"
time_zone = "UTC"
site_altitude_m = 0.0

[[recipes]]
name = "CORN"
stage = "mash"
ingredients = [{ material = "corn" }]
"""
STEPS = [  # run, stage, lot, into_lot, share, rank of into_lot
    ("M", "mash", "GRAIN", "WORT", 1.0, 1),
    ("F", "ferment", "WORT", "BEER", 1.0, 2),
    ("D", "rectify", "BEER", "NEW", 1.0, 3),
    ("CF", "fill", "NEW", "C1/1", 1.0, 4),
    ("CF2", "fill", "TANK", "C2/1", 0.25, 4),
    ("DU", "dump", "C1/1", "VAT", 0.6, 5),
    ("DU", "dump", "C2/1", "VAT", 0.4, 5),
    ("BL", "blend", "VAT", "BLEND", 0.25, 6),
    ("BL", "blend", "NS", "BLEND", 0.75, 6),
    ("BT", "bottle", "BLEND", "B-1", 1.0, 7),
]


@pytest.fixture
def spirits(book: Book, put):
    """Sources of the batch after more steps: spirits((...),)."""

    def of(*more, stop_at=()):
        for run, stage, lot, into_lot, share, rank in (*STEPS, *more):
            put("derived.steps", run=run, stage=stage, lot=lot, into_lot=into_lot, share=share, into_rank=rank,
                basis="LPA")  # fmt: skip
        put("typed.runs", run="M", stage="mash", equipment="T", recipe="CORN", started_at="2031-01-01")
        for lot, material, kind, alcohol_l in (
            ("NS", "grain", "neutral spirit", 75.0), ("C2/1", "rye", "spirit", 30.0),
            ("TANK", "bourbon", "spirit", 10.0),
        ):  # fmt: skip
            put("derived.openings", lot=lot, material=material, kind=kind, alcohol_l=alcohol_l, carries_alcohol=True)
        put("derived.gauges", lot="C2/1", direction="out", alcohol_l=10.0)
        return {
            source.lot: source
            for source in SpiritRecord.of(book, parse_house(HOUSE, "house.toml")).sources("B-1", stop_at)
        }

    return of


def test_shares_are_those_of_the_alcohol(spirits):
    """A quarter of the vat: six tenths of it new make, of the rest 30 of 40 LPA the old rye and 10 the topping."""
    found = spirits()

    assert {lot: round(source.share, 9) for lot, source in found.items()} == {
        "NS": 0.75, "NEW": 0.15, "C2/1": 0.075, "TANK": 0.025,
    }  # fmt: skip
    assert found["NS"].is_neutral and not found["TANK"].is_neutral
    assert (found["C2/1"].materials, found["NEW"].materials) == (("rye",), ())
    assert [(recipe.name, share) for recipe, share in found["NEW"].recipes] == [("CORN", 1.0)]


def test_casks_can_be_ends(spirits):
    """Up to the casks: 0.25 x 0.6 and 0.25 x 0.4."""
    shares = {lot: round(source.share, 9) for lot, source in spirits(stop_at={"C1/1", "C2/1"}).items()}

    assert shares == {"NS": 0.75, "C1/1": 0.15, "C2/1": 0.1}


def test_what_was_drawn_without_a_gauge_is_named_without_a_share(spirits):
    """A topping of which no strength is on record is a source all the same."""
    found = spirits(("CF3", "fill", "RYE", "C1/1", None, 4))

    assert isnan(found["RYE"].share) and found["NS"].share == 0.75


def test_what_is_distilled_again_begins_anew(spirits):
    """Behind new make nothing is followed: not the spirit that went into the still."""
    assert "OLD" not in spirits(("D", "rectify", "OLD", "NEW", 0.5, 3))
