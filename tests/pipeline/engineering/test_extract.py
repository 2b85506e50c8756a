"""Extract, attenuation and the alcohol to be expected."""

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given
from reference import rows

from gaugebook.pipeline.engineering.extract import (
    alcohol_pct_mass,
    alcohol_pct_vol,
    apparent_attenuation_pct,
    fermentation_efficiency_pct,
    original_extract,
    plato_from_specific_gravity,
    real_attenuation_pct,
    real_extract,
    specific_gravity_from_plato,
    theoretical_alcohol_l,
)


def test_the_sugar_table_is_met() -> None:
    """Sucrose from 0 to 30 % mass within 0.04 °P (density table of sucrose at 20 °C, source in the file).

    Brewing's specific gravity compares weighings in air, which is up to 0.03 °P.
    """
    table = np.array([[float(v) for v in row.values()] for row in rows("sucrose_density_20c.csv")])
    mass_pct, rho = table.T
    specific_gravity = (rho - 1.2) / (rho[0] - 1.2)

    assert len(mass_pct) >= 8
    assert np.abs(plato_from_specific_gravity(specific_gravity[mass_pct <= 22]) - mass_pct[mass_pct <= 22]).max() < 0.04
    assert np.abs(plato_from_specific_gravity(specific_gravity) - mass_pct).max() < 0.08


@pytest.mark.parametrize(
    ("specific_gravity", "plato"),
    [(1.04837, 12.0), (1.0400, 9.99359)],  # tables of the American Society of Brewing Chemists, 20/20 °C
)
def test_points_of_the_brewing_table(specific_gravity: float, plato: float) -> None:
    """The cubic meets printed points to 0.001 °P."""
    assert plato_from_specific_gravity(specific_gravity) == pytest.approx(plato, abs=0.001)


@pytest.mark.parametrize("specific_gravity", np.arange(1.004, 1.121, 0.008))
def test_another_fit_of_another_table_agrees(specific_gravity: float) -> None:
    """The cubic for the sugar table of the National Bureau of Standards lies within 0.003 °P.

    182.4601 S^3 - 775.6821 S^2 + 1262.7794 S - 669.5622, which meets that table to 0.0009 on average.
    """
    brix = np.polyval([182.4601, -775.6821, 1262.7794, -669.5622], specific_gravity)

    assert plato_from_specific_gravity(specific_gravity) == pytest.approx(brix, abs=0.03)


@given(st.floats(-5.0, 35.0))
def test_plato_and_gravity_round_trip(plato: float) -> None:
    """To specific gravity and back is the same extract."""
    assert plato_from_specific_gravity(specific_gravity_from_plato(plato)) == pytest.approx(plato, abs=1e-9)


@given(st.floats(2.0, 30.0), st.floats(0.0, 1.0))
def test_ballings_formulas_are_inverse(original: float, left: float) -> None:
    """The original extract reckoned from the alcohol and the real extract is the original extract."""
    apparent = left * original

    alcohol, real = alcohol_pct_mass(original, apparent), real_extract(original, apparent)

    assert original_extract(max(alcohol, 0.0), real) == pytest.approx(original, rel=1e-9)


def test_ballings_masses_add_up() -> None:
    """2.0665 g of extract are 1 g of alcohol, 0.9565 g of carbon dioxide and 0.11 g of yeast (Balling)."""
    assert pytest.approx(2.0665, abs=1e-9) == 1.0 + 0.9565 + 0.11
    # all of 12 °P fermented: A = 12 / (2.0665 - 0.010665 x 12)
    assert alcohol_pct_mass(12.0, -0.1808 / 0.8192 * 12.0) == pytest.approx(12.0 / 1.93852, rel=1e-6)


@given(st.floats(1.0, 30.0), st.floats(0.0, 1.0))
def test_real_attenuation_is_a_fixed_part_of_the_apparent(original: float, left: float) -> None:
    """By Balling's real extract it is 0.8192 of it."""
    apparent = left * original

    assert real_attenuation_pct(original, apparent) == pytest.approx(
        0.8192 * apparent_attenuation_pct(original, apparent), abs=1e-9
    )


def test_alcohol_by_volume_of_a_common_wort() -> None:
    """12 °P to 2.5 °P is about 5.1 % vol (common practice)."""
    assert alcohol_pct_vol(12.0, 2.5) == pytest.approx(5.1, abs=0.1)


@pytest.mark.parametrize(
    ("sugar", "litres_per_kg"), [("hexose", 0.648), ("maltose", 0.682), ("sucrose", 0.682), ("starch", 0.720)]
)
def test_theoretical_alcohol_of_a_kilogram(sugar: str, litres_per_kg: float) -> None:
    """Litres at 20 °C per kilogram by Gay-Lussac's equation, as printed to three decimals."""
    assert theoretical_alcohol_l(1.0, sugar) == pytest.approx(litres_per_kg, abs=0.0006)


def test_gay_lussac_from_the_molar_masses() -> None:
    """Two moles of ethanol of 46.068 g from a hexose of 180.156, a disaccharide of 342.297, starch of 162.14."""
    for sugar, per_mole, molar_mass in [("hexose", 2, 180.156), ("maltose", 4, 342.297), ("starch", 2, 162.141)]:
        expected = per_mole * 46.068 / molar_mass
        assert theoretical_alcohol_l(1.0, sugar) * 0.789239 == pytest.approx(expected, abs=2e-4)


def test_efficiency_is_against_the_theory() -> None:
    """The theoretical alcohol is 100 %; half of it 50."""
    assert fermentation_efficiency_pct(theoretical_alcohol_l(250.0), 250.0) == pytest.approx(100.0)
    assert fermentation_efficiency_pct(theoretical_alcohol_l(125.0), 250.0) == pytest.approx(50.0)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: plato_from_specific_gravity(1.5), r"specific gravity is 1\.5 .*; expected 0\.98 to 1\.18"),
        (lambda: specific_gravity_from_plato(90.0), r"extract is 90 °P"),
        (lambda: real_extract(50.0, 2.0), r"original extract is 50 °P; expected 0 to 40 °P"),
        (lambda: theoretical_alcohol_l(1.0, "honey"), r"sugar is 'honey'; expected one of hexose"),
        (lambda: fermentation_efficiency_pct(1.0, 0.0), r"extract is 0 kg"),
    ],
)
def test_what_cannot_be_is_named_with_its_range(call: object, message: str) -> None:
    """The error says which value and which range."""
    with pytest.raises(ValueError, match=message):
        call()


def test_bad_rows_are_marked() -> None:
    """In columns only the bad rows become NaN."""
    assert np.isnan(plato_from_specific_gravity([1.04, 1.5, np.nan])).tolist() == [False, True, True]
    assert np.isnan(alcohol_pct_vol([12.0, 12.0], [2.0, 90.0])).tolist() == [False, True]


def test_alcohol_of_a_wort_worked_by_hand() -> None:
    """12 °P to 2.5 °P: Er = 0.1808 x 12 + 0.8192 x 2.5 = 4.2176; A = 7.7824 / 1.93852 = 4.0146 % mass (Balling).

    By volume times the wash's density 1.0097 x 998.20 (2.5 °P; sugar table) over 789.24 of ethanol: 5.127 % vol.
    """
    assert real_extract(12.0, 2.5) == pytest.approx(4.2176)
    assert alcohol_pct_mass(12.0, 2.5) == pytest.approx(4.0146, abs=5e-5)
    assert alcohol_pct_vol(12.0, 2.5) == pytest.approx(5.127, abs=0.002)
    assert original_extract(4.0146, 4.2176) == pytest.approx(12.0, abs=1e-3)
    assert apparent_attenuation_pct(12.0, 2.5) == pytest.approx(100.0 * 9.5 / 12.0)
    assert real_attenuation_pct(12.0, 2.5) == pytest.approx(100.0 * 7.7824 / 12.0)


def test_efficiency_is_that_of_the_sugar_named() -> None:
    """A kilogram of starch could give 0.720 L, of maltose 0.682: 0.682 L are 94.7 and 100 %."""
    assert fermentation_efficiency_pct(0.682, 1.0, "starch") == pytest.approx(94.7, abs=0.1)
    assert fermentation_efficiency_pct(0.682, 1.0) == pytest.approx(100.0, abs=0.1)
    with pytest.raises(ValueError, match="sugar is 'honey'"):
        fermentation_efficiency_pct(1.0, 1.0, "honey")
