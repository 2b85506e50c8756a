"""Gauges on movements put in by hand: what is assumed where nothing was read, and what is said where it cannot be."""

import numpy as np
import pytest
from small_house import HOUSE

from gaugebook.pipeline.derived.gauged_alcohol import _shares, gauges
from gaugebook.pipeline.derived.house_tables import house_tables
from gaugebook.pipeline.house.settings import parse_house

PROFILE = parse_house(HOUSE.replace("[uncertainty]", "[uncertainty]\nscatter = 0.6"), "house.toml")
READ = {"strength_reading": 60.0, "reading_kind": "pct_vol_20c"}
VOLUME = {"volume_at_t_l": 100.0, "volume_temperature_c": 20.0}


@pytest.fixture
def gauged(empty_book, put):
    """The row of derived.gauges of one movement: gauged(part="spirit", volume_at_t_l=100.0)."""

    def row(**movement):
        put("typed.movements", **{"run": "R", "direction": "out", "lot": "A", "part": "hearts"} | movement)
        house_tables(empty_book, PROFILE)
        gauges(empty_book, PROFILE)
        return empty_book.frame("SELECT * FROM derived.gauges").row(0, named=True)

    return row


@pytest.mark.parametrize("part", ["water", "wort", "yeast", "sweetening"])
def test_what_carries_no_alcohol_is_taken_to_be_at_20_c(gauged, part):
    """Where no temperature was written down: 100 L are 100 L, and none of it is alcohol, whatever was read of it."""
    row = gauged(part=part, volume_at_t_l=100.0, strength_reading=3.0, reading_kind="pct_vol_20c")

    assert row["volume_l"] == pytest.approx(100.0)
    assert (row["alcohol_l"], row["u_alcohol_l"], row["not_computed"]) == (0.0, 0.0, None)
    assert (row["strength_pct_vol"], row["u_strength_pct_vol"], row["strength_is"]) == (None, None, None)


def test_a_spirit_is_not(gauged):
    """Its strength stands; how much it is remains unsaid."""
    row = gauged(volume_at_t_l=100.0, **READ)

    assert (row["strength_pct_vol"], row["u_strength_pct_vol"]) == (60.0, pytest.approx(0.08))
    assert (row["volume_l"], row["u_volume_l"], row["alcohol_l"], row["u_alcohol_l"]) == (None,) * 4
    assert row["not_computed"] == "the volume has no temperature"


@pytest.mark.parametrize(
    ("movement", "reason"),
    [
        (VOLUME, "no strength was read and none is known of the lot"),
        (
            VOLUME | {"strength_reading": 700.0, "reading_kind": "density", "reading_temperature_c": 20.0},
            "no mixture of ethanol and water gives this strength reading at this temperature",
        ),
        (READ, "neither volume nor mass was gauged"),
        (
            READ | VOLUME | {"volume_temperature_c": 109.0},
            "the volume cannot be brought to 20 °C from this temperature "
            "(up to 40 °C; up to 100 °C at most at 22.5 % vol)",
        ),
        (READ | VOLUME, None),
        (READ | {"mass_kg": 90.0}, None),
    ],
)
def test_why_the_alcohol_is_not_known(gauged, movement, reason):
    """In words, the first of the reasons; nothing where it is."""
    row = gauged(**movement)

    assert row["not_computed"] == reason
    assert (row["alcohol_l"] is None) == (reason is not None)


def test_a_proof_hydrometer_is_known_to_twice_an_alcoholmeter_in_proof(gauged):
    """0.15 % vol of the profile are 0.3 proof, which are 0.15 % vol again; beside it 0.3 K of the thermometer, near
    60 % vol 0.36 % vol each (OIML R 22, Table VIII: 0.35 to 0.37)."""
    row = gauged(strength_reading=120.0, reading_kind="us_proof_hydrometer", reading_temperature_c=15.56, **VOLUME)

    assert row["u_strength_pct_vol"] == pytest.approx((0.15**2 + (0.36 * 0.3) ** 2) ** 0.5, rel=0.03)


def test_an_alcoholmeter_is_known_to_the_profile(gauged):
    """0.15 % vol, and 0.3 K as above."""
    row = gauged(strength_reading=60.0, reading_kind="alcoholmeter", reading_temperature_c=20.0, **VOLUME)

    assert row["strength_pct_vol"] == pytest.approx(60.0)
    assert row["u_strength_pct_vol"] == pytest.approx((0.15**2 + (0.36 * 0.3) ** 2) ** 0.5, rel=0.03)


@pytest.mark.parametrize(("kind", "strength"), [("pct_vol_20c", 60.0), ("us_proof_60f", 30.07)])
def test_a_stated_strength_is_known_to_the_profile_alone(gauged, kind, strength):
    """0.08 % vol; 60 proof is 30 % vol at 60 °F, 0.07 more at 20 °C (27 CFR 30.11, densities of OIML R 22)."""
    row = gauged(strength_reading=60.0, reading_kind=kind, **VOLUME)

    assert row["strength_pct_vol"] == pytest.approx(strength, abs=0.02)
    assert row["u_strength_pct_vol"] == pytest.approx(0.08)
    assert (row["strength_from"], row["strength_is"]) == (kind, "true")


def test_a_weighing_goes_before_a_dip(gauged):
    """200 L of 60 % vol weigh 181.82 kg (909.1 kg/m3 by OIML R 22) less the 0.22 kg that air carries: so not 100 L.
    u is that of the balance, 0.05 %."""
    row = gauged(**READ, **VOLUME | {"mass_kg": 181.604})

    assert row["volume_l"] == pytest.approx(200.0, rel=3e-4)
    assert row["alcohol_l"] == pytest.approx(120.0, rel=3e-4)
    assert row["mass_kg"] == 181.604
    assert row["u_volume_l"] < 0.4


def test_what_was_not_weighed_has_the_mass_of_its_volume(gauged):
    """100 L of 60 % vol weigh 90.8 kg in air."""
    assert gauged(**READ, **VOLUME)["mass_kg"] == pytest.approx(90.80, abs=0.03)


@pytest.mark.parametrize(
    ("u", "by_reading", "by_temperature", "u_known", "shares"),
    [
        (1.0, 0.6, -0.3, None, (0.6, -0.3, 0.55**0.5)),  # the extract's is what is missing to one: 1 - 0.36 - 0.09
        (0.5, 0.6, 0.8, None, (0.6, 0.8, 0.0)),  # less than its parts: in proportion, and nothing is left
        (1.0, 0.6, 0.8, 0.5, (0.5, 0.0, 0.75**0.5)),  # booked from elsewhere: by that reading, and no temperature
        (1.0, np.nan, 0.3, None, (0.0, 0.3, 0.91**0.5)),
        (0.0, 0.6, 0.8, None, (0.0, 0.0, 0.0)),
        (np.nan, 0.6, 0.8, None, (0.0, 0.0, 0.0)),
    ],
)
def test_parts_of_the_uncertainty_of_a_strength(u, by_reading, by_temperature, u_known, shares):
    """They add up to one in squares; of a strength that is sure, or of none, there are none."""
    values = ([value] for value in (u, by_reading, by_temperature, np.nan if u_known is None else u_known))
    parts = _shares(*map(np.array, values), np.array([u_known is not None]))

    assert tuple(part.item() for part in parts) == pytest.approx(shares)
