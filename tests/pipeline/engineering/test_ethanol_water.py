"""Density and freezing of ethanol-water mixtures."""

import hypothesis.strategies as st
import numpy as np
import pytest
import r22_formula as plain
from hypothesis import given

from gaugebook.pipeline.engineering.ethanol_water import (
    DENSITY_ETHANOL_20C,
    DENSITY_WATER_20C,
    density,
    density_in_air,
    density_in_vacuo,
    density_slopes,
    freezing_temperature,
    ipts68_from_its90,
    least_liquid_mass_fraction,
    liquid_or_nan,
)
from gaugebook.pipeline.engineering.strength import strength_from_density

fractions = st.floats(0.0, 1.0)
temperatures = st.floats(-20.0, 40.0)
warm = st.floats(0.0, 40.0)


def test_water_and_ethanol_at_20c() -> None:
    """The constants are those that the standard states: 998.20 and 789.24 kg/m3 (OIML R 22, 1975)."""
    assert pytest.approx(998.20123, abs=1e-5) == DENSITY_WATER_20C
    assert pytest.approx(789.239, abs=5e-4) == DENSITY_ETHANOL_20C


@given(fractions, warm)
def test_the_fast_formula_equals_the_plain_one(w: float, t: float) -> None:
    """Collecting the polynomial differently changes nothing but rounding."""
    assert density(w, t) == pytest.approx(plain.density(w, t), rel=1e-12)


@given(fractions, fractions, warm)
def test_density_falls_with_strength(a: float, b: float, t: float) -> None:
    """The stronger of two mixtures at one temperature is the lighter."""
    weaker, stronger = sorted((a, b))

    assert density(stronger, t) <= density(weaker, t)


@given(st.floats(0.15, 1.0), warm, warm)
def test_density_falls_with_temperature(w: float, a: float, b: float) -> None:
    """A warmer mixture is lighter; weak ones below 15 % mass share the maximum of water near 4 °C."""
    colder, warmer = sorted((a, b))

    assert density(w, warmer) <= density(w, colder)


@given(st.floats(0.001, 0.999), st.floats(0.1, 39.9))
def test_slopes_are_those_of_the_density(w: float, t: float) -> None:
    """The analytic derivatives agree with central differences."""
    in_w, in_t = density_slopes(w, t)

    assert in_w == pytest.approx((density(w + 1e-5, t) - density(w - 1e-5, t)) / 2e-5, abs=1e-3)
    assert in_t == pytest.approx((density(w, t + 1e-3) - density(w, t - 1e-3)) / 2e-3, abs=1e-5)


@given(st.lists(st.tuples(fractions, temperatures), min_size=1, max_size=20))
def test_arrays_give_what_single_values_give(pairs: list[tuple[float, float]]) -> None:
    """Each element equals its own call, and is NaN where that call is refused."""
    w, t = np.array(pairs).T

    for found, one_w, one_t in zip(density(w, t), w, t, strict=True):
        try:
            assert found == pytest.approx(density(one_w, one_t), rel=1e-14)
        except ValueError:
            assert np.isnan(found)


@pytest.mark.parametrize(
    ("w", "t", "message"),
    [
        (1.01, 20.0, r"mass fraction is 1\.01 kg/kg; expected 0 to 1 kg/kg"),
        (0.4, 200.0, r"temperature is 200 °C; expected -20 to 40 °C"),
        (0.4, float("nan"), r"temperature is not a number; expected -20 to 40 °C"),
        (0.05, -10.0, r"mass fraction 0\.05 kg/kg is frozen at -10 °C; expected 0\.18"),
    ],
)
def test_a_single_bad_value_is_named_with_its_range(w: float, t: float, message: str) -> None:
    """The error says which value and which range."""
    with pytest.raises(ValueError, match=message):
        density(w, t)


def test_bad_elements_are_marked_and_the_others_computed() -> None:
    """In a column only the bad rows become NaN."""
    found = density([0.4, 1.01, 0.4, 0.05, np.nan], [25.0, 20.0, 200.0, -10.0, 20.0])

    assert found[0] == pytest.approx(931.42, abs=0.005)  # OIML R 22, Table I
    assert np.isnan(found[1:]).all()


def test_the_freezing_line_is_that_of_the_handbooks() -> None:
    """Within 1.6 K of an independent table: Lange's Handbook of Chemistry, Table 5.13."""
    mass_pct = np.array([2.5, 4.8, 6.8, 11.3, 13.8, 16.4, 18.8, 20.3, 24.2, 29.9, 33.8])
    lange_c = np.array([-1.0, -2.0, -3.0, -5.0, -6.1, -7.5, -9.4, -10.6, -14.0, -18.9, -23.6])

    assert np.abs(freezing_temperature(mass_pct / 100.0) - lange_c).max() < 1.6


@given(st.floats(-20.0, 0.0))
def test_the_freezing_line_reads_both_ways(t: float) -> None:
    """The weakest liquid at a temperature freezes at that temperature."""
    assert freezing_temperature(least_liquid_mass_fraction(t)) == pytest.approx(t, abs=1e-9)


def test_air_and_vacuum() -> None:
    """40 % vol is 948.05 kg/m3 in vacuo and 946.99 in air; mixing them up costs 0.65 % vol (SI 2023/806)."""
    assert density_in_air(948.05) == pytest.approx(946.99, abs=0.005)
    assert density_in_vacuo(946.99) == pytest.approx(948.05, abs=0.005)
    assert strength_from_density(946.99, 20.0) - 40.0 == pytest.approx(0.65, abs=0.01)


def test_the_change_of_temperature_scale_is_small() -> None:
    """ITS-90 for IPTS-68 is 0.005 °C at 20 °C and 0.002 % vol (Preston-Thomas, Metrologia 27 (1990) 3)."""
    assert ipts68_from_its90(20.0) - 20.0 == pytest.approx(0.005, abs=0.0005)
    shift = strength_from_density(948.05, ipts68_from_its90(20.0)) - strength_from_density(948.05, 20.0)
    assert abs(shift) == pytest.approx(0.002, abs=0.0007)


@pytest.mark.parametrize("mass_pct", [0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0])
def test_weak_mixtures_freeze_as_raoult_says(mass_pct: float) -> None:
    """1.86 K for each mole of ethanol (46.068 g) in a kilogram of water (cryoscopic constant, handbooks), to 3 %."""
    molality = 1000.0 * mass_pct / (100.0 - mass_pct) / 46.068

    assert freezing_temperature(mass_pct / 100.0) == pytest.approx(-1.86 * molality, rel=0.03)


def test_the_freezing_line_is_smooth() -> None:
    """Each step of 2 % mass falls by more than the one before, up to 26 %; then by 2.05 to 1.6 K: a slip would show."""
    line = np.asarray(freezing_temperature(np.arange(0.0, 0.41, 0.02)))
    steps = -np.diff(line)

    assert (np.diff(steps[:13]) > 0.0).all()
    assert (steps > 0.8).all()
    assert (np.abs(np.diff(steps)) < 0.31).all()
    # no value lies off the curve through its neighbours by more than a tenth of a kelvin
    assert np.abs(line[2:-2] - (-line[:-4] + 4 * line[1:-3] + 4 * line[3:-1] - line[4:]) / 6).max() < 0.1
    assert freezing_temperature(1.0) == freezing_temperature(0.4)  # an upper bound beyond the table


def test_above_nought_nothing_is_frozen_and_below_it_the_line_decides() -> None:
    """Water is liquid at 0 °C and not at -0.1; at -10 °C a mixture just above the line is, just below is not."""
    assert least_liquid_mass_fraction(0.0) == 0.0
    assert least_liquid_mass_fraction(25.0) == 0.0
    assert density(0.0, 0.0) == pytest.approx(999.84, abs=0.005)  # OIML R 22, Table I; so in any handbook
    least = least_liquid_mass_fraction(-10.0)
    assert density(least, -10.0) > density(least + 0.001, -10.0)
    assert np.isnan(density([0.0, least - 1e-6, least], [-0.1, -10.0, -10.0])).tolist() == [True, True, False]
    assert np.isnan(density_slopes([0.0, 0.5], -0.1)[0]).tolist() == [True, False]
    with pytest.raises(ValueError, match=r"frozen at -0\.1 °C; expected 0\.00\d* to 1 kg/kg"):
        liquid_or_nan(0.0, -0.1)


@pytest.mark.parametrize(("rho", "in_air"), [(998.20, 997.15), (789.24, 788.16)])
def test_air_takes_1_2_kg_m3_and_gives_back_what_it_lifts_of_the_weights(rho: float, in_air: float) -> None:
    """(rho - 1.2) / (1 - 1.2/8000) by hand: 997.00/0.99985 and 788.04/0.99985 (OIML R 22, Table XII)."""
    assert density_in_air(rho) == pytest.approx(in_air, abs=0.006)
    assert density_in_vacuo(density_in_air(rho)) == pytest.approx(rho, rel=1e-12)
