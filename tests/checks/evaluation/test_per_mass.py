"""What laws ask by mass, from results by volume: by the densities of OIML R 22 and of sugar in water."""

import polars as pl
import pytest
from r22_formula import density, mass_fraction_of_strength

from gaugebook.checks.evaluation.per_mass import contaminants_per_kg, sugar_by_mass

AT_40 = 0.94805  # kg/L of 40 % vol at 20 °C: OIML R 22, Table IVa


def sugars(**row):
    given = {
        "sugar_g_l": 100.0, "u_sugar_g_l": 2.0, "laboratory_strength_pct_vol": 0.0, "laboratory_strength_is": "true",
        "extract_g_l": None,
    } | row  # fmt: skip
    schema = dict.fromkeys(given, pl.Float64) | {"laboratory_strength_is": pl.String}
    frame = sugar_by_mass(pl.DataFrame([given], schema=schema))
    return frame["sugar_pct_mass"].item(), frame["u_sugar_pct_mass"].item()


def test_sugar_by_the_density_that_it_makes():
    """100 g/L of sugar in water: a litre weighs 1.0365 kg (0.618 mL for each gram), so 9.648 %; u in proportion."""
    share, u = sugars()

    assert share == pytest.approx(10.0 / 1.0365, rel=1e-4)
    assert u == pytest.approx(0.2 / 1.0365, rel=1e-4)


def test_the_extract_goes_before_the_sugar():
    """Of 200 g/L: a litre weighs 1.0748 kg, (1 - 0.1236) x 0.9982 + 0.2."""
    assert sugars(extract_g_l=200.0)[0] == pytest.approx(10.0 / ((1 - 0.1236) * 0.99820 + 0.2), rel=1e-4)


@pytest.mark.parametrize(("standing", "kg_per_l"), [("apparent", AT_40), (None, None), ("true", None)])
def test_an_apparent_strength_is_the_one_that_the_density_shows(standing, kg_per_l):
    """A litre of 40 % vol as it was read weighs 0.94805 kg, whatever is dissolved; of a true one the sugar is added."""
    left = 1 - 0.0618  # of the litre, by 0.618 mL for each gram: in it 40 / 0.9382 % vol
    with_sugar = left * density(mass_fraction_of_strength(40.0 / left), 20.0) / 1000 + 0.1
    share, _ = sugars(laboratory_strength_is=standing, laboratory_strength_pct_vol=40.0)

    assert share == pytest.approx(10.0 / (kg_per_l or with_sugar), rel=2e-3)
    if kg_per_l is None:
        assert share < 10.0 / AT_40 * 0.97


@pytest.mark.parametrize("row", [{"sugar_g_l": None}, {"laboratory_strength_pct_vol": None}, {"extract_g_l": 501.0}])
def test_sugar_is_unknown_where_what_it_rests_on_is(row):
    """Sugar, strength, or an extract that is none; 500 g/L is one, and so is none at all."""
    assert sugars(**row)[0] is None
    assert sugars(extract_g_l=500.0)[0] is not None
    assert sugars(extract_g_l=0.0)[0] == pytest.approx(10.0 / 0.99820, rel=1e-4)
    assert sugars(extract_g_l=-1.0)[0] is None


def contaminant(**row):
    given = {
        "value_mg_l": 0.2, "u_value_mg_l": 0.02, "laboratory_strength_pct_vol": 40.0, "below_limit": False,
        "most_ug_kg": 150.0,
    } | row  # fmt: skip
    schema = dict.fromkeys(given, pl.Float64) | {"below_limit": pl.Boolean}
    frame = contaminants_per_kg(pl.DataFrame([given], schema=schema))
    return frame["value_ug_kg"].item(), frame["u_value_ug_kg"].item()


def test_a_contaminant_by_the_kilogram():
    """0.2 mg/L at 40 % vol: 200 ug in 0.94805 kg."""
    assert contaminant() == (pytest.approx(200 / AT_40, rel=1e-4), pytest.approx(20 / AT_40, rel=1e-4))


@pytest.mark.parametrize(
    ("below_limit", "most_ug_kg", "is_seen"),
    [(True, 150.0, False), (True, 300.0, True), (None, 150.0, True), (False, 150.0, True)],
)
def test_a_method_that_cannot_see_as_little_as_the_limit_says_nothing(below_limit, most_ug_kg, is_seen):
    """Not found, with a limit of quantification of 211 ug/kg; found, or with one below the limit, it counts."""
    assert (contaminant(below_limit=below_limit, most_ug_kg=most_ug_kg)[0] is not None) is is_seen
