"""Which strength is booked, what it rests on and what it is: of reading, laboratory and extract, case by case.

Read: 40 % vol. Known by the laboratory: 41 % vol. Dissolved: 12 g/L, or nobody knows how much.
"""

import numpy as np
import polars as pl
import pytest
from r22_formula import density, mass_fraction_of_strength
from scipy.optimize import brentq
from small_house import HOUSE

from gaugebook.pipeline.derived.true_strength import booked_strengths
from gaugebook.pipeline.house.settings import parse_house

PROFILE = parse_house(HOUSE, "house.toml")
GLASS = {"strength_reading": 40.0, "reading_kind": "alcoholmeter", "reading_temperature_c": 20.0}
STATED = {"strength_reading": 40.0, "reading_kind": "pct_vol_20c"}
KNOWN = {"known_strength_pct_vol": 41.0, "u_known_strength_pct_vol": 0.05, "known_from": "laboratory"}
HOLDS, MAY = {"extract_g_l": 12.0}, {"may_hold": True}
SCHEMA = {
    "part": pl.String, "strength_reading": pl.Float64, "reading_kind": pl.String, "reading_temperature_c": pl.Float64,
    "preparation": pl.String, "instrument": pl.String, "known_strength_pct_vol": pl.Float64,
    "u_known_strength_pct_vol": pl.Float64, "known_preparation": pl.String, "known_from": pl.String,
    "extract_g_l": pl.Float64, "u_extract_g_l": pl.Float64, "may_hold": pl.Boolean,
}  # fmt: skip
DISTILLED, DIRECT = {"preparation": "distilled"}, {"preparation": "direct"}
KNOWN_DISTILLED, KNOWN_DIRECT = {"known_preparation": "distilled"}, {"known_preparation": "direct"}


def booked(*parts):
    """Strength, u, what it rests on, what it is, and how much denser the liquid is."""
    row = {"part": "spirit"}
    for part in parts:
        row |= part
    frame = pl.DataFrame([row], schema=SCHEMA)
    read = frame["strength_reading"].fill_null(np.nan).to_numpy().astype(float)
    result = booked_strengths(frame, read, np.array([0.1]), PROFILE)
    return (
        result.strength.item(), result.u_strength.item(), result.strength_from.item(), result.strength_is.item(),
        result.times_denser.item(),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("parts", "strength", "rests_on", "standing"),
    [
        # nothing is dissolved: what was read on the gauge, else what the laboratory found
        ((GLASS,), 40.0, "alcoholmeter", "true"), ((GLASS, KNOWN), 40.0, "alcoholmeter", "true"),
        ((KNOWN,), 41.0, "laboratory", "true"), ((GLASS, {"extract_g_l": 0.5}), 40.0, "alcoholmeter", "true"),
        ((GLASS, MAY, {"extract_g_l": 0.5}), 40.0, "alcoholmeter", "true"),
        # something may be: only a distillate shows what there is, on the gauge itself before the laboratory's
        ((GLASS, MAY), 40.0, "alcoholmeter", "apparent"), ((GLASS, MAY, KNOWN), 40.0, "alcoholmeter", "apparent"),
        ((GLASS, MAY, KNOWN, KNOWN_DISTILLED), 41.0, "laboratory", "true"),
        ((STATED, DISTILLED, MAY), 40.0, "pct_vol_20c", "true"),
        ((STATED, DISTILLED, MAY, KNOWN, KNOWN_DISTILLED), 40.0, "pct_vol_20c", "true"),
        ((KNOWN, MAY), 41.0, "laboratory", "apparent"), ((KNOWN, KNOWN_DISTILLED, MAY), 41.0, "laboratory", "true"),
        # so much is: the laboratory's distillate, else the gauge's; a strength of which nobody says how, as it is
        ((STATED, DISTILLED, HOLDS, KNOWN, KNOWN_DISTILLED), 41.0, "laboratory", "true"),
        ((STATED, DISTILLED, HOLDS), 40.0, "pct_vol_20c", "true"), ((STATED, HOLDS), 40.0, "pct_vol_20c", "apparent"),
        ((KNOWN, HOLDS), 41.0, "laboratory", "apparent"),
        # of wash and stillage a stated strength is one after distillation
        ((STATED, MAY, {"part": "wash"}), 40.0, "pct_vol_20c", "true"),
        ((GLASS, MAY, {"part": "wash"}), 40.0, "alcoholmeter", "apparent"),
        ((GLASS, MAY, KNOWN, {"part": "spent"}), 41.0, "laboratory", "true"),
        ((), np.nan, None, None),
    ],
)  # fmt: skip
def test_which_strength_is_booked(parts, strength, rests_on, standing):
    """With its uncertainty: 0.1 % vol of the reading, 0.05 of the laboratory's."""
    value, u, origin, is_what, _ = booked(*parts)

    assert (value, origin, is_what) == (pytest.approx(strength, nan_ok=True), rests_on, standing)
    if rests_on is not None:
        assert u == (0.05 if rests_on == "laboratory" else 0.1)


def true_of(apparent, extract_g_l):
    """By hand: a litre holds 0.618 mL of each gram, and the rest has what is left of the density."""
    free = 1 - 0.618 * extract_g_l / 1000
    spirit = (density(mass_fraction_of_strength(apparent), 20.0) - extract_g_l) / free
    return free * brentq(lambda strength: density(mass_fraction_of_strength(strength), 20.0) - spirit, 1.0, 90.0)


@pytest.mark.parametrize(
    ("parts", "apparent", "rests_on"),
    [
        ((GLASS,), 40.0, "alcoholmeter"), ((STATED, DIRECT), 40.0, "pct_vol_20c"),
        ((KNOWN, KNOWN_DIRECT), 41.0, "laboratory"), ((GLASS, KNOWN, KNOWN_DIRECT), 40.0, "alcoholmeter"),
        ((GLASS, KNOWN), 40.0, "alcoholmeter"),
    ],
)  # fmt: skip
def test_what_the_extract_hides_is_added(parts, apparent, rests_on):
    """Of a strength that was read directly, on the gauge or in the laboratory; it is less sure than what was read."""
    value, u, origin, is_what, _ = booked(*parts, HOLDS)

    assert (origin, is_what) == (rests_on, "estimated")
    assert value == pytest.approx(true_of(apparent, 12.0), abs=0.01)
    assert value > apparent + 1.0
    assert u > (0.05 if rests_on == "laboratory" else 0.1)


def test_a_density_is_taken_as_it_was_read():
    """1050 kg/m3 at 20 °C with 200 g/L: a liqueur denser than water has a strength too."""
    reading = {"strength_reading": 1050.0, "reading_kind": "density", "reading_temperature_c": 20.0}
    value, _, origin, is_what, _ = booked(reading, {"extract_g_l": 200.0})
    free = 1 - 0.618 * 0.2
    spirit = (1050.0 - 200.0) / free
    by_hand = free * brentq(lambda s: density(mass_fraction_of_strength(s), 20.0) - spirit, 1.0, 90.0)

    assert (origin, is_what) == ("density", "estimated")
    assert value == pytest.approx(by_hand, abs=0.02)


def test_how_much_denser_a_liquid_with_extract_is():
    """Of a true strength of 40 % vol with 100 g/L: (density of 40 / 0.9382 % vol x 0.9382 + 100) / density of 40 % vol;
    of an apparent one the density is that of its strength already."""
    left = 1 - 0.0618
    with_extract = left * density(mass_fraction_of_strength(40.0 / left), 20.0) + 100.0
    ratio = with_extract / density(mass_fraction_of_strength(40.0), 20.0)

    assert booked(STATED, DISTILLED, {"extract_g_l": 100.0})[4] == pytest.approx(ratio, rel=1e-5)
    assert booked(STATED, {"extract_g_l": 100.0})[4] == 1.0
    assert booked(STATED, DISTILLED, MAY)[4] == 1.0
    assert booked({"extract_g_l": 100.0})[4] == 1.0
