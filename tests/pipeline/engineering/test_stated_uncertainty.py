"""An instrument's stated standard uncertainty in the unit of what it was used for."""

import numpy as np
import pytest
from r22_formula import density, mass_fraction_of_strength
from reference import rows

from gaugebook.pipeline.engineering.stated_uncertainty import u_in_unit


@pytest.mark.parametrize(
    ("u", "unit", "wanted", "at", "expected"),
    [
        (0.9, "degF", "degC", 20.0, 0.5),  # NIST SP 811, B.6: an interval of 1 °F is 5/9 °C
        (0.0001, "g/cm3", "kg/m3", 948.05, 0.1),
        (1.0, "lb", "kg", 250.0, 0.45359237),  # NIST SP 811, B.9
        (0.3, "us_proof", "pct_vol", 50.0, 0.15),  # 27 CFR 5.1: proof is twice % vol, here at 60 °F and so to 0.4 %
        (0.1, "g/L", "mg/L", 500.0, 100.0),
        (0.5, "kg/m3", "sg", 1.06, 0.5 / 998.2),  # density of water at 20 °C: OIML R 22, Table I
        (0.5, "kg/m3", "sg", 0.95, 0.5 / 998.2),
        (1.0, "mg/L pa", "g/hL pa", 100.0, 0.1),
    ],
)
def test_an_uncertainty_is_told_in_the_unit_of_the_value(u, unit, wanted, at, expected):
    """By the slope between the two units; an offset does not enter."""
    assert u_in_unit(u, unit, wanted, at) == pytest.approx(expected, rel=5e-3)


@pytest.mark.parametrize("strength", [0.0, 5.0, 40.0, 63.0, 96.0, 100.0])
def test_a_density_meter_is_as_good_for_a_strength_as_the_slope_of_density(strength):
    """Slope of the general formula of OIML R 22 at 20 °C, by differences of 0.1 % vol within the scale."""
    low, high = max(0.0, strength - 0.1), min(100.0, strength + 0.1)
    rho = [density(mass_fraction_of_strength(q), 20.0) for q in (low, high)]
    slope = abs(rho[1] - rho[0]) / (high - low)

    assert u_in_unit(0.05, "kg/m3", "pct_vol", strength) == pytest.approx(0.05 / slope, rel=0.03)


def test_a_strength_s_uncertainty_is_told_of_a_density_and_back():
    """The two slopes are inverse, at the temperature of the density too."""
    rho = density(mass_fraction_of_strength(60.0), 28.0)

    u = u_in_unit(0.1, "pct_vol", "kg/m3", rho, 28.0)

    warm = [density(mass_fraction_of_strength(q), 28.0) for q in (59.9, 60.1)]
    assert u == pytest.approx(0.1 * abs(warm[1] - warm[0]) / 0.2, rel=1e-3)


def test_a_congener_is_related_by_the_strength():
    """0.5 g per hL of pure alcohol are 2 mg/L at 40 % vol: Regulation (EC) 2870/2000, annex, chapter III."""
    assert u_in_unit(0.5, "g/hL pa", "mg/L", 200.0, strength_pct_vol=40.0) == pytest.approx(2.0)
    assert u_in_unit(2.0, "mg/L", "g/hL pa", 50.0, strength_pct_vol=40.0) == pytest.approx(0.5)
    assert np.isnan(u_in_unit(0.5, "g/hL pa", "mg/L", 200.0))  # no strength


def test_a_gravity_is_as_good_as_the_slope_of_sucrose():
    """Between 10 and 14 % mass of sucrose the table's densities at 20 °C, over that of its water."""
    rho = {row["sucrose_pct_mass"]: float(row["density_kg_m3"]) for row in rows("sucrose_density_20c.csv")}
    slope = 4.0 / ((rho["14"] - rho["10"]) / rho["0"])

    assert u_in_unit(0.001, "sg", "plato", 12.0) == pytest.approx(0.001 * slope, rel=5e-3)
    assert u_in_unit(0.1, "brix", "sg", 1.04837) == pytest.approx(0.1 / slope, rel=5e-3)


@pytest.mark.parametrize(("unit", "wanted"), [("kg", "pct_vol"), ("degC", "kg/m3"), ("g/hL pa", "pct_vol")])
def test_what_no_slope_leads_to_is_unknown(unit, wanted):
    """A balance says nothing of a strength: NaN, and never its number in another unit."""
    assert np.isnan(u_in_unit(0.1, unit, wanted, 40.0))


def test_a_part_that_grows_with_the_value_adds_in_squares():
    """EURACHEM/CITAC CG 4, Appendix E.5: u = sqrt(s0^2 + (x s1)^2); 0.3 and 4 % of 10 are 0.5."""
    assert u_in_unit(0.3, "g/hL pa", "g/hL pa", [10.0, 0.0], u_relative=0.04).tolist() == pytest.approx([0.5, 0.3])
    assert u_in_unit(0.3, "g/hL pa", "mg/L", 40.0, strength_pct_vol=40.0, u_relative=0.04) == pytest.approx(2.0)


SUCROSE = {row["sucrose_pct_mass"]: float(row["density_kg_m3"]) for row in rows("sucrose_density_20c.csv")}
KG_M3_A_PLATO = (SUCROSE["14"] - SUCROSE["10"]) / 4.0  # about 12 °P


@pytest.mark.parametrize(
    ("u", "unit", "wanted", "at", "expected"),
    [
        (0.1, "plato", "kg/m3", SUCROSE["12"], 0.1 * KG_M3_A_PLATO),
        (0.1, "brix", "g/cm3", SUCROSE["12"] / 1000.0, 0.1 * KG_M3_A_PLATO / 1000.0),
        (0.001, "sg", "kg/m3", SUCROSE["12"], 0.001 * 998.2),
        (0.5, "kg/m3", "plato", 12.0, 0.5 / KG_M3_A_PLATO),
        (0.5, "kg/m3", "brix", 12.0, 0.5 / KG_M3_A_PLATO),
    ],
)
def test_a_density_meter_and_a_saccharometer_read_one_liquid(u, unit, wanted, at, expected):
    """By the density table of sucrose at 20 °C about 12 % mass (source in the file), each way."""
    assert u_in_unit(u, unit, wanted, at) == pytest.approx(expected, rel=5e-3)


@pytest.mark.parametrize(("unit", "wanted"), [("us_proof", "kg/m3"), ("kg/m3", "us_proof"), ("plato", "us_proof")])
def test_a_proof_is_led_to_through_the_strength(unit, wanted):
    """Two steps are one: proof to % vol and on has the product of the slopes (GUM 5.1.2 twice)."""
    rho = density(mass_fraction_of_strength(5.0), 20.0)
    at = {"kg/m3": rho, "us_proof": 10.0}

    through = u_in_unit(u_in_unit(0.1, unit, "pct_vol", 5.0), "pct_vol", wanted, at[wanted])

    assert u_in_unit(0.1, unit, wanted, at[wanted]) == pytest.approx(through, rel=2e-3)


def test_a_congener_per_litre_of_alcohol_and_in_other_prefixes():
    """1 mg/L of pure alcohol is 0.1 g/hL, at 50 % vol 0.5 mg or 500 ug in a litre of sample; and back; row by row."""
    assert u_in_unit(1.0, "mg/L pa", "ug/L", 1000.0, strength_pct_vol=50.0) == pytest.approx(500.0)
    assert u_in_unit(500.0, "ug/L", "mg/L pa", 10.0, strength_pct_vol=50.0) == pytest.approx(1.0)
    by_row = u_in_unit(1.0, "g/hL pa", "mg/L", [50.0, 50.0], strength_pct_vol=[50.0, 25.0])
    np.testing.assert_allclose(by_row, [5.0, 2.5])


def test_a_relative_part_is_of_the_value_in_the_stated_unit():
    """1 % of 50 °F is 0.5 °F at 10 °C, so 0.2778 K with nothing else; of 10 °C it would be 0.1."""
    assert u_in_unit(0.0, "degF", "degC", 10.0, u_relative=0.01) == pytest.approx(0.5 / 1.8)
    # 0.3 and 0.4 kg/m3 (of 1000 at 0.4 per mille) are 0.5 kg/m3: 0.0005 g/cm3
    assert u_in_unit(0.3, "kg/m3", "g/cm3", 1.0, u_relative=4e-4) == pytest.approx(0.0005)


def test_a_column_keeps_its_shape_and_a_single_value_is_one():
    """An uncertainty in its own unit is the same for each value."""
    assert u_in_unit(0.1, "kg", "kg", [[1.0, 2.0]]).tolist() == [[0.1, 0.1]]
    assert type(u_in_unit(0.1, "kg", "kg", 1.0)) is float
    assert u_in_unit(0.1, "lb", "kg", [1.0, 2.0]).tolist() == pytest.approx([0.045359237] * 2)
    assert np.isnan(u_in_unit(0.1, "kg", "L", [1.0, 2.0])).tolist() == [True, True]
    with pytest.raises(ValueError, match="unit is 'smoot'"):
        u_in_unit(0.1, "smoot", "kg", 1.0)
