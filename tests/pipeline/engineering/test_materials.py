"""What materials of sugar and starch can give, against published values."""

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given
from reference import rows

from gaugebook.pipeline.engineering.extract import ETHANOL_PER_GRAM, plato_from_specific_gravity, theoretical_alcohol_l
from gaugebook.pipeline.engineering.materials import (
    alcohol_of_extract_l,
    juice_density_kg_m3,
    must_sugar_g_l,
    sugar_of_potential_alcohol_g_l,
)


def test_the_density_of_sucrose_is_met() -> None:
    """Sucrose from 0 to 30 % mass within 0.3 kg/m3 of a printed table (its source stands in the file)."""
    table = np.array([[float(v) for v in row.values()] for row in rows("sucrose_density_20c.csv")])
    mass_pct, printed = table.T

    assert np.abs(juice_density_kg_m3(mass_pct) - printed).max() < 0.3


def test_the_density_of_a_strong_juice() -> None:
    """40 % mass of sucrose: 1176.4 kg/m3 (CRC Handbook, as quoted in a table of the web; 1176.5, ICUMSA, from memory).

    Here the cubic is at its end: within 0.1 %.
    """
    assert juice_density_kg_m3(39.9) == pytest.approx(1176.4, rel=1e-3)


def test_sugar_factories_reckon_alike() -> None:
    """100 kg of sucrose give 68.2 L, of glucose or fructose 65 L by theory (sugarprocesstech.com, ethanol production,
    with 53.84 and 51.14 % by mass and 0.78934 kg/L; the second printed without decimals)."""
    assert theoretical_alcohol_l(100.0, "sucrose") == pytest.approx(68.2, abs=0.05)
    assert theoretical_alcohol_l(100.0, "hexose") == pytest.approx(65.0, abs=0.5)
    assert theoretical_alcohol_l(100.0, "hexose") == pytest.approx(51.14 / 0.78934, abs=0.02)


@pytest.mark.parametrize(
    ("sugar", "moles", "molar_mass"),
    [("lactose", 4, 342.297), ("fructan", 2, 162.141), ("sucrose", 4, 342.297), ("hexose", 2, 180.156)],
)
def test_theory_is_that_of_the_molar_masses(sugar: str, moles: int, molar_mass: float) -> None:
    """Moles of ethanol of 46.068 g from a mole of the sugar (a unit of fructan as of starch: hexose less water)."""
    assert theoretical_alcohol_l(1.0, sugar) * 0.789239 == pytest.approx(moles * 46.068 / molar_mass, abs=2e-4)


def test_ballings_extract() -> None:
    """206.65 kg of extract give 100 kg of alcohol (Balling), which are 126.70 L of 0.789239 kg."""
    assert alcohol_of_extract_l(206.65) == pytest.approx(126.704, abs=0.001)


@pytest.mark.parametrize("sugar", ETHANOL_PER_GRAM)
@given(mass=st.floats(0.001, 1e5))
def test_no_practice_passes_theory(sugar: str, mass: float) -> None:
    """Balling's alcohol, after yeast and carbon dioxide, is below theory, whatever the extract is."""
    possible = theoretical_alcohol_l(mass, sugar)
    assert 0.85 * possible < alcohol_of_extract_l(mass) < 0.95 * possible


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: juice_density_kg_m3(80.0), r"Brix is 80 °Brix; expected 0 to 40"),
        (lambda: must_sugar_g_l(20.0, 300.0), r"sugar-free extract is 300 g/L; expected 0 to 216"),
        (lambda: alcohol_of_extract_l(-1.0), r"extract is -1 kg"),
    ],
)
def test_what_cannot_be_is_named(call: object, message: str) -> None:
    """The error says which value and which range."""
    with pytest.raises(ValueError, match=message):
        call()


def test_bad_rows_are_marked() -> None:
    """In a column only the bad rows become NaN."""
    assert np.isnan(juice_density_kg_m3([18.0, 80.0, np.nan])).tolist() == [False, True, True]
    assert np.isnan(must_sugar_g_l([20.0, 20.0, 80.0], [25.0, 300.0, 25.0])).tolist() == [False, True, True]


@pytest.mark.parametrize(
    ("oechsle", "sugar_g_l"),
    # 84 °Oechsle is 1.0840 (20/20 °C), 20.23 °P, so 218.9 g/L are dissolved; of these 24 are no sugar (worked by hand)
    [(84.0, 194.9), (70.0, 158.8)],
)
def test_must_by_hand(oechsle: float, sugar_g_l: float) -> None:
    """Grams per 100 g times the density, less the sugar-free extract; of 70 °Oechsle 1.0700 x 998.203 x 17.06 %
    = 182.2 g/L, less 23.4."""
    brix = plato_from_specific_gravity(1.0 + oechsle / 1000.0)
    assert must_sugar_g_l(brix, 24.0 if oechsle == 84.0 else 23.4) == pytest.approx(sugar_g_l, abs=0.1)


def test_potential_alcohol() -> None:
    """16.83 g/L for each per cent (European rules of wine, from memory); by theory it takes 15.4 g of hexose."""
    assert sugar_of_potential_alcohol_g_l(10.0) == pytest.approx(168.3)
    assert theoretical_alcohol_l(0.1683, "hexose") == pytest.approx(0.109, abs=0.001)
    with pytest.raises(ValueError, match=r"potential alcohol is 31 % vol; expected 0 to 30"):
        sugar_of_potential_alcohol_g_l(31.0)
