"""Reduction and blending by mass."""

import dataclasses

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given

from gaugebook.pipeline.engineering.blending import blend, blend_to_target, reduce
from gaugebook.pipeline.engineering.ethanol_water import density
from gaugebook.pipeline.engineering.strength import mass_fraction_from_volume_strength, strength_from_us_proof
from gaugebook.pipeline.engineering.us_gauging import LITRES_PER_US_GALLON

volumes = st.floats(0.01, 1e5)
spirits = st.lists(st.tuples(volumes, st.floats(0.0, 100.0)), min_size=1, max_size=6)


def _ethanol_kg(volume_l: float, strength: float) -> float:
    w = mass_fraction_from_volume_strength(strength)
    return volume_l * density(w, 20.0) / 1000.0 * w


@given(volumes, st.floats(5.0, 100.0), st.floats(0.01, 1.0), st.floats(0.0, 0.9))
def test_reduction_conserves_ethanol_and_mass(volume_l: float, strength: float, down: float, weak: float) -> None:
    """Ethanol in is ethanol out, and mass too, to 1e-9, with water and with a weaker spirit."""
    reducing = weak * down * strength
    target = max(down * strength, reducing + 0.05)
    if target >= strength:
        return

    made = reduce(volume_l, strength, target, reducing_strength_pct_vol=reducing)

    ethanol_in = _ethanol_kg(volume_l, strength) + _ethanol_kg(made.water_l, reducing)
    assert _ethanol_kg(made.final_volume_l, target) == pytest.approx(ethanol_in, rel=1e-9)
    out_kg = made.final_volume_l * density(mass_fraction_from_volume_strength(target), 20.0) / 1000.0
    assert out_kg == pytest.approx(made.spirit_kg + made.water_kg, rel=1e-9)


@given(volumes, st.floats(1.0, 100.0))
def test_a_target_equal_to_the_strength_needs_no_water(volume_l: float, strength: float) -> None:
    """Nothing is added and nothing contracts."""
    made = reduce(volume_l, strength, strength)

    assert made.water_kg == 0.0
    assert made.final_volume_l == pytest.approx(volume_l, rel=1e-12)


@given(st.floats(1.0, 1e4), st.floats(30.0, 96.0), st.floats(0.3, 0.95))
def test_a_reduction_is_the_blend_with_its_water(volume_l: float, strength: float, down: float) -> None:
    """Blending the spirit with the water that was reckoned gives the target."""
    made = reduce(volume_l, strength, down * strength)

    mixed = blend([volume_l, made.water_l], [strength, 0.0])

    assert mixed.strength_pct_vol == pytest.approx(down * strength, abs=1e-8)
    assert mixed.volume_l == pytest.approx(made.final_volume_l, rel=1e-10)
    assert mixed.contraction_l == pytest.approx(made.contraction_l, abs=1e-8 * volume_l)


@given(spirits, st.randoms())
def test_blending_is_independent_of_order(parts: list[tuple[float, float]], random: object) -> None:
    """Any order of the same spirits gives the same blend."""
    shuffled = random.sample(parts, len(parts))

    one, other = blend(*zip(*parts, strict=True)), blend(*zip(*shuffled, strict=True))

    assert one.strength_pct_vol == pytest.approx(other.strength_pct_vol, abs=1e-9)
    assert one.volume_l == pytest.approx(other.volume_l, rel=1e-12)


@given(spirits)
def test_a_blend_conserves_ethanol(parts: list[tuple[float, float]]) -> None:
    """The ethanol of the blend is that of its parts."""
    made = blend(*zip(*parts, strict=True))

    expected = sum(_ethanol_kg(v, q) for v, q in parts)
    assert _ethanol_kg(made.volume_l, made.strength_pct_vol) == pytest.approx(expected, rel=1e-9, abs=1e-12)


@given(st.floats(0.0, 100.0), st.floats(0.0, 100.0), st.floats(0.0, 1.0), volumes)
def test_two_spirits_make_the_target(a: float, b: float, share: float, volume_l: float) -> None:
    """Blending the volumes reckoned gives the wanted volume and strength."""
    if abs(a - b) < 0.01:
        return
    target = b + share * (a - b)

    parts = blend_to_target(a, b, target, volume_l)
    made = blend([max(parts.volume_a_l, 0.0), max(parts.volume_b_l, 0.0)], [a, b])

    assert made.volume_l == pytest.approx(volume_l, rel=1e-9)
    assert made.strength_pct_vol == pytest.approx(target, abs=1e-7)


def test_equal_volumes_of_ethanol_and_water_contract() -> None:
    """They make about 192.75 L of 200, about 51.8 % vol (handbooks; R 22 at 20 °C has 192.93)."""
    made = blend([100.0, 100.0], [100.0, 0.0])

    assert made.volume_l == pytest.approx(192.75, abs=0.25)
    assert made.strength_pct_vol == pytest.approx(51.8, abs=0.1)


@pytest.mark.parametrize("mass_pct", [92.3, 93.8])
def test_diluted_alcohol_of_the_pharmacopeia(mass_pct: float) -> None:
    """500 mL of alcohol and 500 mL of water make about 970 mL at 25 °C (USP, Diluted Alcohol)."""
    alcohol_kg, water_kg = 0.5 * density(mass_pct / 100.0, 25.0), 0.5 * density(0.0, 25.0)
    w = alcohol_kg * mass_pct / 100.0 / (alcohol_kg + water_kg)

    assert 1000.0 * (alcohol_kg + water_kg) / density(w, 25.0) == pytest.approx(970.0, abs=4.0)


def test_reduction_of_the_gauging_manual() -> None:
    """100 gallons of 112 proof to 100 proof take 12.42 gallons of water at 60 °F (27 CFR 30.66).

    The manual's volumes are at 60 °F and ours at 20 °C, and it rests on older densities: 0.02 gallon.
    """
    made = reduce(100.0 * LITRES_PER_US_GALLON, strength_from_us_proof(112.0), strength_from_us_proof(100.0))

    assert made.water_l / LITRES_PER_US_GALLON == pytest.approx(12.42, abs=0.06)


def test_water_by_weight_of_the_gauging_manual() -> None:
    """1,000 lb of 200 proof to 190 proof take 82.03 lb of water (27 CFR 30.64); older densities: 0.03 lb."""
    litres = 1000.0 / density(1.0, 20.0) * 1000.0

    made = reduce(litres, 100.0, strength_from_us_proof(190.0))

    assert made.water_kg == pytest.approx(82.03, abs=0.03)


def test_a_warm_spirit_counts_at_20c() -> None:
    """A volume gauged warm holds less spirit and takes less water."""
    assert reduce(100.0, 96.0, 40.0, temperature_c=30.0).water_l == pytest.approx(
        0.9892 * reduce(100.0, 96.0, 40.0).water_l, rel=1e-4
    )


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: reduce(100.0, 40.0, 60.0), r"target is 60 % vol but the spirit only 40 % vol; .* cannot raise"),
        (
            lambda: reduce(100.0, 60.0, 20.0, reducing_strength_pct_vol=30.0),
            r"target is 20 % vol but the reducing liquid 30 % vol",
        ),
        (lambda: reduce(-1.0, 60.0, 40.0), r"volume is -1 L"),
        (lambda: reduce(100.0, 60.0, 101.0), r"strength is 101 % vol"),
        (lambda: blend([100.0, 50.0], [40.0]), r"2 volumes and 1 strengths"),
        (lambda: blend([0.0], [40.0]), r"all 0 L"),
        (lambda: blend([100.0, 10.0], [40.0, 140.0]), r"strength is 140 % vol"),
        (lambda: blend_to_target(60.0, 40.0, 70.0, 100.0), r"60 and 40 % vol cannot make 70 % vol"),
        (lambda: blend_to_target(40.0, 40.0, 40.0, 100.0), r"two strengths that differ"),
    ],
)
def test_what_cannot_be_says_why(call: object, message: str) -> None:
    """An infeasible target or a bad value is an error in words."""
    with pytest.raises(ValueError, match=message):
        call()


def test_infeasible_rows_are_marked_and_the_others_computed() -> None:
    """In columns only the infeasible rows become NaN, and each good row equals its own call."""
    made = reduce([100.0, 100.0, 100.0], [96.0, 40.0, 50.0], [40.0, 60.0, 25.0])

    alone = reduce(100.0, 50.0, 25.0)
    assert np.isnan(made.water_l).tolist() == [False, True, False]
    assert {f.name: getattr(made, f.name)[2] for f in dataclasses.fields(made)} == pytest.approx(vars(alone))


def test_blends_of_columns_are_the_blends_of_their_rows() -> None:
    """Columns of volumes and strengths blend row by row."""
    made = blend([np.array([100.0, 10.0]), np.array([50.0, 20.0])], [np.array([60.0, 90.0]), np.array([40.0, 0.0])])

    assert made.strength_pct_vol[1] == pytest.approx(blend([10.0, 20.0], [90.0, 0.0]).strength_pct_vol, rel=1e-12)


def test_a_target_at_the_reducing_liquids_strength_is_marked() -> None:
    """No amount of a liquid brings a spirit all the way down to it."""
    made = reduce([100.0, 100.0], [60.0, 60.0], [30.0, 40.0], reducing_strength_pct_vol=30.0)

    assert np.isnan(made.water_l).tolist() == [True, False]


def test_reducing_nothing_gives_nothing() -> None:
    """No spirit takes no water, and its per cent of contraction is unknown."""
    made = reduce(0.0, 60.0, 40.0)

    assert made.water_l == 0.0
    assert np.isnan(made.contraction_pct)
