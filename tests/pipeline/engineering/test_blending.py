"""Reduction and blending by mass."""

import dataclasses

import hypothesis.strategies as st
import numpy as np
import pytest
import r22_formula as plain
from hypothesis import given, settings

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


def _plain_kg(volume_l: float, strength: float) -> float:
    """Mass by the formula of OIML R 22 written term by term."""
    return volume_l * plain.density(plain.mass_fraction_of_strength(strength), 20.0) / 1000.0


def test_a_reduction_worked_by_hand() -> None:
    """100 L of 96 % vol to 40 % vol with the densities of OIML R 22, Table IVa: 807.42, 948.05 and water 998.20 kg/m3.

    Ethanol: 96 L, so 240 L of 40 % vol. Masses: 80.742 and 227.532 kg, so 146.790 kg or 147.055 L of water; 247.055 L
    became 240. In air of 1.2 kg/m3 against weights of 8000 the water shows 146.790 (1 - 1.2/998.2)/(1 - 1.2/8000).
    """
    made = reduce(100.0, 96.0, 40.0)

    assert made.spirit_l == pytest.approx(100.0)
    assert made.spirit_kg == pytest.approx(80.742, abs=0.001)
    assert made.water_kg == pytest.approx(146.790, abs=0.003)
    assert made.water_l == pytest.approx(147.055, abs=0.003)
    assert made.water_weighed_in_air_kg == pytest.approx(146.790 * (1 - 1.2 / 998.2) / (1 - 1.2 / 8000.0), abs=0.003)
    assert made.final_volume_l == pytest.approx(240.0)
    assert made.contraction_l == pytest.approx(7.055, abs=0.003)
    assert made.contraction_pct == pytest.approx(100.0 * 7.055 / 247.055, abs=0.002)
    assert made.alcohol_l == pytest.approx(96.0)


def test_a_blend_worked_by_the_plain_formula() -> None:
    """60 L of 70 and 40 L of 30 % vol: masses add, ethanol adds, and what is missing of 100 L contracted."""
    parts = [(60.0, 70.0), (40.0, 30.0)]
    kg = [_plain_kg(*part) for part in parts]
    w = sum(m * plain.mass_fraction_of_strength(q) for m, (_, q) in zip(kg, parts, strict=True)) / sum(kg)
    volume = 1000.0 * sum(kg) / plain.density(w, 20.0)

    made = blend([60.0, 40.0], [70.0, 30.0])

    assert made.mass_kg == pytest.approx(sum(kg), rel=1e-9)
    assert made.alcohol_l == pytest.approx(60.0 * 0.7 + 40.0 * 0.3)
    assert made.volume_l == pytest.approx(volume, rel=1e-9)
    assert made.contraction_l == pytest.approx(100.0 - volume, abs=1e-6)
    assert made.contraction_pct == pytest.approx(100.0 - volume, abs=1e-6)  # of 100 L


@settings(max_examples=25)  # bisection of the plain formula takes its time
@given(st.floats(50.0, 100.0), st.floats(0.0, 45.0), st.floats(0.05, 0.95), volumes)
def test_two_spirits_contract_by_what_they_lose(a: float, b: float, share: float, volume_l: float) -> None:
    """The contraction is the sum of the two volumes less the volume wanted; masses are those of the two volumes."""
    target = b + share * (a - b)

    parts = blend_to_target(a, b, target, volume_l)

    added = parts.volume_a_l + parts.volume_b_l
    assert parts.contraction_l == pytest.approx(added - volume_l, abs=1e-9 * volume_l)
    assert parts.contraction_pct == pytest.approx(100.0 * (added - volume_l) / added, abs=1e-7)
    assert parts.mass_a_kg == pytest.approx(_plain_kg(parts.volume_a_l, a), rel=1e-8)
    assert parts.mass_b_kg == pytest.approx(_plain_kg(parts.volume_b_l, b), rel=1e-8)
    assert parts.mass_a_kg + parts.mass_b_kg == pytest.approx(_plain_kg(volume_l, target), rel=1e-8)


def test_a_target_at_one_of_two_spirits_takes_that_one_alone() -> None:
    """Either way round, and where the target is that strength but for rounding."""
    for a, b in ((60.0, 40.0), (40.0, 60.0)):
        only_a, only_b = blend_to_target(a, b, a, 100.0), blend_to_target(a, b, b, 100.0)
        assert (only_a.volume_a_l, only_a.volume_b_l) == (pytest.approx(100.0), 0.0)
        assert (only_b.volume_a_l, only_b.volume_b_l) == (0.0, pytest.approx(100.0))
    a_little_above = blend_to_target(60.0, 40.0, np.nextafter(60.0, 61.0), 100.0)
    a_little_below = blend_to_target(60.0, 40.0, np.nextafter(40.0, 39.0), 100.0)
    assert (a_little_above.volume_b_l, a_little_below.volume_a_l) == (0.0, 0.0)


def test_two_spirits_for_no_volume() -> None:
    """Nothing wanted takes nothing, and its per cent of contraction is unknown."""
    parts = blend_to_target(60.0, 40.0, 50.0, 0.0)

    assert (parts.volume_a_l, parts.volume_b_l, parts.contraction_l) == (0.0, 0.0, 0.0)
    assert np.isnan(parts.contraction_pct)


def test_columns_of_targets_mark_what_cannot_be_made() -> None:
    """Between the two strengths there is a blend; beyond either, and of one strength twice, there is none."""
    parts = blend_to_target(60.0, [40.0, 40.0, 40.0, 60.0], [50.0, 61.0, 39.0, 60.0], 100.0)

    assert np.isnan(parts.volume_a_l).tolist() == [False, True, True, True]


def test_a_strength_that_is_the_target_needs_nothing_of_a_liquid_as_strong() -> None:
    """Reducing 40 % vol to 40 with 40: the target is above nothing, but nothing has to be added either."""
    made = reduce(100.0, 40.0, 40.0, reducing_strength_pct_vol=40.0)

    assert (made.water_l, made.final_volume_l, made.contraction_l) == (0.0, pytest.approx(100.0), pytest.approx(0.0))
    # nor is a target that exceeds the strength by its last digit refused, or helped by taking away
    assert reduce(100.0, 40.0, np.nextafter(40.0, 41.0)).water_l == 0.0


def test_an_empty_row_of_a_blend_is_marked() -> None:
    """In columns only the row of which nothing is blended has no strength; a single one is refused."""
    made = blend([np.array([0.0, 10.0]), np.array([0.0, 0.0])], [60.0, 40.0])

    assert np.isnan(made.strength_pct_vol).tolist() == [True, False]
    assert np.isnan(made.contraction_pct).tolist() == [True, False]
    with pytest.raises(ValueError, match="0 volumes and 0 strengths"):
        blend([], [])
