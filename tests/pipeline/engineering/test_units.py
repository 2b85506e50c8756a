"""Units met at the edges."""

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given

from gaugebook.pipeline.engineering.units import UNITS, from_si, house_unit, to_si

# Exact by definition, unless said otherwise.
KNOWN = [
    (212.0, "degF", 100.0, "degC"),
    (293.15, "K", 20.0, "degC"),
    (1.0, "US gal", 3.785411784, "L"),  # 231 cubic inches
    (42.0, "US gal", 158.987294928, "L"),
    (1.5, "hL", 150.0, "L"),
    (700.0, "mL", 0.7, "L"),
    (2.0, "m3", 2000.0, "L"),
    (1.0, "lb", 0.45359237, "kg"),
    (250.0, "g", 0.25, "kg"),
    (5.0, "mg", 5e-6, "kg"),
    (1.2, "t", 1200.0, "kg"),
    (0.94805, "g/cm3", 948.05, "kg/m3"),
    (0.94805, "g/mL", 948.05, "kg/m3"),
    (1.01325, "bar", 101.325, "kPa"),
    (1013.25, "mbar", 101.325, "kPa"),
    (14.695949, "psi", 101.325, "kPa"),  # standard atmosphere, to its printed digits
    (2.0, "L/min", 120.0, "L/h"),
    (2.0, "US gal/h", 7.570823568, "L/h"),
    (3.6, "MJ", 1.0, "kWh"),
    (0.5, "g/L", 500.0, "mg/L"),
    (4.0, "g/hL", 40.0, "mg/L"),
    (80.0, "us_proof", 40.069, "pct_vol"),  # 27 CFR 30.11 with the densities of OIML R 22
    (1.04837, "sg", 12.0, "plato"),  # American Society of Brewing Chemists, sugar table
]


@pytest.mark.parametrize(("value", "unit", "house", "name"), KNOWN)
def test_a_known_value_converts(value: float, unit: str, house: float, name: str) -> None:
    """The value and the unit come out as the definition has them."""
    assert house_unit(unit) == name
    assert to_si(value, unit) == pytest.approx(house, rel=2e-5)


@pytest.mark.parametrize("unit", UNITS)
@given(share=st.floats(0.0, 1.0))
def test_every_unit_round_trips(unit: str, share: float) -> None:
    """To the house's unit and back is the same value, to rounding."""
    low, high = {
        "us_proof": (0.0, 200.0), "sg": (0.99, 1.15), "pct_vol_60f": (0.0, 100.0), "pct_mass": (0.0, 100.0),
    }.get(unit, (-100.0, 1000.0))  # fmt: skip
    value = low + share * (high - low)

    assert from_si(to_si(value, unit), unit) == pytest.approx(value, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("unit", UNITS)
def test_the_house_unit_is_its_own(unit: str) -> None:
    """What is stated in the house's unit stays as it is."""
    assert to_si(7.0, house_unit(unit)) == 7.0


def test_an_unknown_unit_is_named_with_those_known() -> None:
    """The error lists what may be given."""
    with pytest.raises(
        ValueError, match=r"unit is 'gallon', which does not say which gallon.*expected one of degC, degF"
    ):
        to_si(1.0, "gallon")


def test_columns_convert_and_bad_rows_are_marked() -> None:
    """Columns convert element by element; a proof that cannot be is NaN alone."""
    np.testing.assert_allclose(to_si([32.0, 50.0], "degF"), [0.0, 10.0])
    assert np.isnan(to_si([80.0, 201.0], "us_proof")).tolist() == [False, True]
