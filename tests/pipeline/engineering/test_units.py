"""Units met at the edges."""

import hypothesis.strategies as st
import numpy as np
import pytest
import r22_formula as plain
from hypothesis import given

from gaugebook.pipeline.engineering.unit_words import why_not
from gaugebook.pipeline.engineering.units import UNITS, fitting, from_si, house_unit, to_si

# Exact by definition, unless said otherwise.
KNOWN = [
    (212.0, "degF", 100.0, "degC"),
    (293.15, "K", 20.0, "degC"),
    (1.0, "US gal", 3.785411784, "L"),  # 231 cubic inches
    (42.0, "US gal", 158.987294928, "L"),
    (1.5, "hL", 150.0, "L"),
    (700.0, "mL", 0.7, "L"),
    (2.0, "m3", 2000.0, "L"),
    (75.0, "cL", 0.75, "L"),
    (128.0, "US fl oz", 3.785411784, "L"),  # NIST SP 811, B.8: 128 to the gallon
    (3.0, "wine gal", 11.356235352, "L"),  # 27 CFR 30.11
    (1.0, "imp gal", 4.54609, "L"),  # Units of Measurement Regulations 1995 (UK)
    # 100 proof at 60 °F holds half a gallon of ethanol, 793.02 kg/m3 there and 789.24 at 20 °C (R 22, general formula)
    (1.0, "proof gal", 0.5 * 3.785411784 * plain.density(1.0, 140.0 / 9.0) / plain.density(1.0, 20.0), "LPA"),
    (3.0, "LPA", 3.0, "LPA"),
    (1.0, "lb", 0.45359237, "kg"),
    (250.0, "g", 0.25, "kg"),
    (5.0, "mg", 5e-6, "kg"),
    (1.2, "t", 1200.0, "kg"),
    (16.0, "oz", 0.45359237, "kg"),  # avoirdupois: 16 to the pound
    (1.0, "US ton", 907.18474, "kg"),  # NIST SP 811, B.8: 2000 lb
    (0.94805, "kg/L", 948.05, "kg/m3"),
    (1.0, "lb/US gal", 119.8264, "kg/m3"),  # NIST SP 811, B.8
    (100.0, "Pa", 0.1, "kPa"),
    (1013.25, "hPa", 101.325, "kPa"),
    (1.0, "atm", 101.325, "kPa"),  # NIST SP 811, B.8
    (1.0, "psia", 6.894757, "kPa"),  # NIST SP 811, B.8
    (29.92, "inHg", 101.3207, "kPa"),  # NIST SP 811, B.8: 3.386389 kPa each
    (760.0, "mmHg", 101.325, "kPa"),
    (50.0, "mL/min", 3.0, "L/h"),
    (1.5, "hL/h", 150.0, "L/h"),
    (0.2, "m3/h", 200.0, "L/h"),
    (1.0, "US gal/min", 227.1247, "L/h"),  # NIST SP 811, B.8: 6.309020e-5 m3/s
    (2.0, "kg/min", 120.0, "kg/h"),
    (0.5, "t/h", 500.0, "kg/h"),
    (100.0, "lb/h", 45.359237, "kg/h"),
    (250.0, "W", 0.25, "kW"),
    (36.0, "MJ/h", 10.0, "kW"),
    (3412.142, "BTU/h", 1.0, "kW"),  # NIST SP 811, B.8: 0.2930711 W each
    (0.4, "fraction", 40.0, "pct"),
    (25.0, "g/kg", 2.5, "pct"),
    (3.0, "dozen", 36.0, "each"),
    (1.5, "thousand", 1500.0, "each"),
    (2.0, "ug/L", 0.002, "mg/L"),
    (1.0, "mg/100 mL", 10.0, "mg/L"),
    (1.0, "g/100 mL", 10_000.0, "mg/L"),
    (5.0, "mg/L pa", 0.5, "g/hL pa"),
    (5.0, "mg/100 mL pa", 5.0, "g/hL pa"),
    (12.0, "brix", 12.0, "plato"),
    (24.61, "pct_mass", 30.0, "pct_vol"),  # OIML R 22, Table IVb, to half its last digit: 2e-4
    (40.0, "pct_vol_60f", 40.069, "pct_vol"),  # half of 80 proof
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
    (48.37, "oechsle", 12.0, "plato"),  # thousandths above 1 of the same
    (1.04837, "sg", 12.0, "plato"),  # American Society of Brewing Chemists, sugar table
]


@pytest.mark.parametrize(("value", "unit", "house", "name"), KNOWN)
def test_a_known_value_converts(value: float, unit: str, house: float, name: str) -> None:
    """The value and the unit come out as the definition has them."""
    assert house_unit(unit) == name
    assert to_si(value, unit) == pytest.approx(house, rel=2e-4 if unit == "pct_mass" else 2e-5)
    assert from_si(house, unit) == pytest.approx(value, rel=2e-4 if unit == "pct_mass" else 2e-5)


@pytest.mark.parametrize("unit", UNITS)
@given(share=st.floats(0.0, 1.0))
def test_every_unit_round_trips(unit: str, share: float) -> None:
    """To the house's unit and back is the same value, to rounding."""
    low, high = {
        "us_proof": (0.0, 200.0), "sg": (0.99, 1.15), "oechsle": (-10.0, 150.0), "pct_vol_60f": (0.0, 100.0),
        "pct_mass": (0.0, 100.0),
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


@pytest.mark.parametrize(
    ("word", "says"),
    [
        ("PSIG", "counts from the pressure of the air"),
        (" gal ", "does not say which gallon"),
        ("gpm", 'write "US gal/h" or "US gal/min"'),
        ("pg", "is an amount of alcohol"),
        ("%", "does not say of what"),
        ("abv", "does not say at which temperature"),
        ("ppm", "may be by mass or by volume"),
        ("tons", "may be 1000 kg, 2000 lb or 2240 lb"),
        ("barrel", "has several sizes"),
        ("smoot", "is no known unit"),
    ],
)
def test_a_word_that_may_mean_two_things_is_told_from_one_that_means_nothing(word: str, says: str) -> None:
    """Without regard to case and blanks; a file that says so gets a sentence that helps."""
    assert says in why_not(word)
    assert word not in UNITS


def test_units_of_one_quantity_fit_each_other() -> None:
    """Volumes fit volumes; a litre of pure alcohol is no litre, nor is a flow a volume."""
    assert {"L", "hL", "cL", "mL", "m3", "US gal", "wine gal", "US fl oz", "imp gal"} == set(fitting("US gal"))
    assert set(fitting("LPA")) == {"LPA", "proof gal"}
