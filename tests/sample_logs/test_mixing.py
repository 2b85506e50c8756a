import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.engineering.ethanol_water import DENSITY_ETHANOL_20C, density
from sample_logs.generator.mixing import Liquid, spirit, water, water_to_reduce

KILOGRAMS = st.floats(min_value=0.1, max_value=5000.0)


@given(KILOGRAMS, KILOGRAMS, KILOGRAMS, KILOGRAMS)
def test_mixing_keeps_each_mass(a, b, c, d):
    """What is mixed holds the ethanol and the water of both, to rounding."""
    mixed = Liquid(a, b) + Liquid(c, d)

    assert mixed.ethanol_kg == pytest.approx(a + c, rel=1e-12)
    assert mixed.water_kg == pytest.approx(b + d, rel=1e-12)


@given(st.floats(min_value=1.0, max_value=2000.0), st.floats(min_value=45.0, max_value=96.0))
def test_reduction_reaches_the_strength_and_keeps_the_alcohol(alcohol_l, strength):
    """Water brings a spirit to 40 % vol and leaves its litres of pure alcohol alone."""
    liquid = spirit(alcohol_l, strength)

    reduced = liquid + water(water_to_reduce(liquid, 40.0))

    assert reduced.strength_pct_vol == pytest.approx(40.0, abs=1e-6)
    assert reduced.alcohol_l == pytest.approx(alcohol_l, rel=1e-12)


def test_equal_volumes_shrink_on_mixing():
    """500 mL of alcohol and 500 mL of water make about 970 mL (USP, Diluted Alcohol: at 25 °C; here at 20 °C)."""
    strong_kg = 0.5 * float(density(0.93, 20.0)) / 1000.0  # USP alcohol: 92.3 to 93.8 % by mass
    strong, added = Liquid(0.93 * strong_kg, 0.07 * strong_kg), water(0.5 * 0.998201)

    assert strong.volume_l + added.volume_l == pytest.approx(1.0, abs=1e-6)
    assert (strong + added).volume_l == pytest.approx(0.970, abs=0.004)


def test_sugar_solution_has_the_gravity_of_the_plato_scale():
    """10 g of extract in 100 g has specific gravity 1.0400 (Plato scale)."""
    assert Liquid(water_kg=90.0, extract_kg=10.0).specific_gravity == pytest.approx(1.0400, abs=0.0005)


def test_litres_of_pure_alcohol_follow_from_mass():
    """A litre of ethanol at 20 °C weighs 0.78924 kg (OIML R 22)."""
    assert pytest.approx(789.24, abs=0.01) == DENSITY_ETHANOL_20C
    assert Liquid(ethanol_kg=0.78924).alcohol_l == pytest.approx(1.0, abs=1e-5)
