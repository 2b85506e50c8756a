"""Strength from density and from glass instruments, and back."""

import hypothesis.strategies as st
import numpy as np
import pytest
import r22_formula as plain
from hypothesis import given

from gaugebook.pipeline.engineering.ethanol_water import density, least_liquid_mass_fraction
from gaugebook.pipeline.engineering.strength import (
    alcoholmeter_reading,
    density_of_alcoholmeter_reading,
    mass_fraction_from_density,
    mass_fraction_from_us_proof,
    mass_fraction_from_volume_strength,
    strength_from_alcoholmeter,
    strength_from_density,
    strength_from_hydrometer_density,
    strength_from_us_proof,
    us_proof_from_strength,
    volume_strength_from_mass_fraction,
)

ROUND_TRIP_PCT_VOL = 1e-6
strengths = st.floats(0.0, 100.0)
temperatures = st.floats(-20.0, 40.0)


@given(strengths)
def test_volume_and_mass_strength_round_trip(q: float) -> None:
    """By volume to by mass and back is the same strength."""
    back = volume_strength_from_mass_fraction(mass_fraction_from_volume_strength(q))

    assert back == pytest.approx(q, abs=ROUND_TRIP_PCT_VOL)


@given(st.floats(0.0, 1.0), temperatures)
def test_density_and_strength_round_trip(share: float, t: float) -> None:
    """Strength to density at any temperature and back is the same strength, down to the freezing line."""
    least = least_liquid_mass_fraction(t)
    w = least + share * (1.0 - least)

    back = strength_from_density(density(w, t), t)

    assert back == pytest.approx(volume_strength_from_mass_fraction(w), abs=ROUND_TRIP_PCT_VOL)


@given(st.floats(8.0, 94.0), st.floats(0.0, 40.0), st.sampled_from(["soda-lime", "borosilicate"]))
def test_alcoholmeter_round_trip(q: float, t: float, glass: str) -> None:
    """The reading that a strength gives corrects back to that strength."""
    back = strength_from_alcoholmeter(alcoholmeter_reading(q, t, glass), t, glass)

    assert back == pytest.approx(q, abs=ROUND_TRIP_PCT_VOL)


@given(strengths)
def test_us_proof_round_trip(q: float) -> None:
    """Proof at 60 °F and back is the same strength."""
    assert strength_from_us_proof(us_proof_from_strength(q)) == pytest.approx(q, abs=ROUND_TRIP_PCT_VOL)


@given(st.floats(5.0, 90.0), st.floats(2.0, 35.0))
def test_the_fast_correction_equals_bisection_of_the_plain_formula(q: float, t: float) -> None:
    """Newton from a table of starts finds what bisection of the printed formula finds."""
    rho = plain.density(plain.mass_fraction_of_strength(q), 20.0) * (1.0 - 25e-6 * (t - 20.0))
    expected = plain.strength(plain.mass_fraction_of_density(rho, t))

    assert strength_from_alcoholmeter(q, t) == pytest.approx(expected, abs=1e-8)


def test_every_corner_of_the_range_converges() -> None:
    """On a fine grid of liquid mixtures the inversion returns the mass fraction to 1e-12."""
    t = np.linspace(-20.0, 40.0, 121)
    w = np.linspace(0.0, 1.0, 401)[:, np.newaxis] * np.ones_like(t)
    liquid = w >= least_liquid_mass_fraction(t)

    found = mass_fraction_from_density(density(w, t), t)

    assert np.isnan(found[~liquid]).all()
    np.testing.assert_allclose(found[liquid], w[liquid], atol=1e-12)


@given(st.lists(st.tuples(st.floats(-5.0, 105.0), st.floats(-25.0, 45.0)), min_size=1, max_size=20))
def test_arrays_give_what_single_values_give(pairs: list[tuple[float, float]]) -> None:
    """Each corrected reading equals its own call, and is NaN where that call is refused."""
    q, t = np.array(pairs).T

    for found, one_q, one_t in zip(strength_from_alcoholmeter(q, t), q, t, strict=True):
        try:
            assert found == pytest.approx(strength_from_alcoholmeter(one_q, one_t), abs=1e-9)
        except ValueError:
            assert np.isnan(found)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: strength_from_alcoholmeter(101.0, 20.0), r"alcoholmeter reading is 101 % vol; expected 0 to 100"),
        (lambda: strength_from_alcoholmeter(40.0, 200.0), r"temperature is 200 °C; expected -20 to 40 °C"),
        (lambda: strength_from_alcoholmeter(float("nan"), 20.0), r"not a number; expected 0 to 100 % vol"),
        (lambda: strength_from_alcoholmeter(5.0, -10.0), r"frozen at -10 °C"),
        (lambda: strength_from_density(1050.0, 20.0), r"density of 1050 kg/m3 at 20 °C; expected 789\.239 to 998\.201"),
        (lambda: strength_from_density(float("nan"), 20.0), r"density is not a number"),
        (lambda: strength_from_hydrometer_density(700.0, 20.0), r"density of 700 kg/m3"),
        (lambda: mass_fraction_from_volume_strength(101.0), r"strength is 101 % vol; expected 0 to 100 % vol"),
        (lambda: alcoholmeter_reading(0.0, 5.0), r"on the alcoholmeter's scale is 999\.5"),
        (lambda: strength_from_us_proof(201.0), r"proof is 201 degrees; expected 0 to 200 degrees"),
        (lambda: strength_from_alcoholmeter(40.0, 20.0, "lead"), r"glass is 'lead'; expected one of soda-lime"),
    ],
)
def test_a_single_bad_value_is_named_with_its_range(call: object, message: str) -> None:
    """The error says which value and which range."""
    with pytest.raises(ValueError, match=message):
        call()


def test_bad_elements_are_marked_and_the_others_computed() -> None:
    """In a column only the bad rows become NaN."""
    found = strength_from_density([948.05, 1050.0, np.nan, 948.05, 700.0, 995.0], [20.0, 20.0, 20.0, 99.0, 20.0, -8.0])

    assert found[0] == pytest.approx(40.0, abs=0.005)
    assert np.isnan(found[1:]).all()


def test_a_density_rounded_beyond_water_or_ethanol_is_taken_as_theirs() -> None:
    """Water printed to 0.01 kg/m3 is 0 % vol, not an error."""
    assert strength_from_density(998.21, 20.0) == 0.0
    assert strength_from_density(789.23, 20.0) == pytest.approx(100.0, abs=1e-9)


def test_without_glass_expansion_the_correction_is_the_density_alone() -> None:
    """At 20 °C the glass does not matter; a hydrometer and an alcoholmeter then agree with the density."""
    rho = density_of_alcoholmeter_reading(40.0, 20.0)

    assert strength_from_hydrometer_density(rho, 20.0) == pytest.approx(40.0, abs=1e-9)
    assert strength_from_alcoholmeter(40.0, 20.0, "borosilicate") == pytest.approx(40.0, abs=1e-9)


def test_80_proof_is_not_40_pct_vol() -> None:
    """80 proof at 60 °F is 40.069 % vol at 20 °C (densities of OIML R 22; proof by 27 CFR 30.11)."""
    assert strength_from_us_proof(80.0) == pytest.approx(40.069, abs=0.001)


def test_an_empty_column_stays_empty() -> None:
    """No rows in, no rows out."""
    assert strength_from_alcoholmeter(np.array([]), np.array([])).shape == (0,)


@pytest.mark.parametrize(("glass", "per_k"), [("soda-lime", 25e-6), ("borosilicate", 10e-6)])
def test_the_glass_grows_as_its_makers_say(glass: str, per_k: float) -> None:
    """R 22, Tables VIII and IX: 25e-6 a kelvin, soda-lime; 10e-6, borosilicate (from memory): 948.05 kg/m3 at 40 % vol.

    Ten kelvins above 20 °C the float displaces more, ten below less.
    """
    for t in (10.0, 30.0):
        expected = 948.05 * (1.0 - per_k * (t - 20.0))
        assert density_of_alcoholmeter_reading(40.0, t, glass) == pytest.approx(expected, abs=0.005)
        w = plain.mass_fraction_of_density(900.0 * (1.0 - per_k * (t - 20.0)), t)
        assert strength_from_hydrometer_density(900.0, t, glass) == pytest.approx(plain.strength(w), abs=1e-6)


@pytest.mark.parametrize(("q", "t"), [(100.0, 30.0), (0.0, 15.0)])
def test_off_the_scale_there_is_no_reading(q: float, t: float) -> None:
    """Warm ethanol is lighter than the scale's end, cold water heavier: each is named with the scale's densities."""
    with pytest.raises(ValueError, match=r"alcoholmeter's scale is .*; expected 789\.229\d* to 998\.211\d* kg/m3"):
        alcoholmeter_reading(q, t)
    assert np.isnan(alcoholmeter_reading([q, 50.0], t)).tolist() == [True, False]


def test_a_density_that_no_mixture_has_is_told_with_those_of_its_temperature() -> None:
    """At 5 °C from 801.99 of ethanol to 999.96 of water (OIML R 22, Table I)."""
    with pytest.raises(ValueError, match=r"density of 1002 kg/m3 at 5 °C; expected 801\.99\d to 999\.96\d kg/m3"):
        strength_from_density(1002.0, 5.0)
    assert np.isnan(strength_from_density([1002.0, 990.0], 5.0)).tolist() == [True, False]
    assert np.isnan(strength_from_density(970.0, [5.0, 99.0])).tolist() == [False, True]


@pytest.mark.parametrize("proof", [0.0, 0.5, 20.0, 95.0, 180.0, 199.5, 200.0])
def test_a_proof_is_found_by_the_plain_formula(proof: float) -> None:
    """Twice the per cent of ethanol by volume, both at 60 °F (27 CFR 30.11), by bisection of OIML R 22."""
    sixty = 140.0 / 9.0
    w = plain.solve(lambda w: 200.0 * w * plain.density(w, sixty) / plain.density(1.0, sixty) - proof)

    assert mass_fraction_from_us_proof(proof) == pytest.approx(w, abs=1e-10)
    assert strength_from_us_proof(proof) == pytest.approx(plain.strength(w), abs=1e-8)
    assert us_proof_from_strength(plain.strength(w)) == pytest.approx(proof, abs=1e-8)
