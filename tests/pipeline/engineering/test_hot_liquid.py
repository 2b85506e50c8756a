"""Weak liquids above 40 °C: water by published tables, mixtures by published excess volumes, and where it ends."""

import hypothesis.strategies as st
import numpy as np
import pytest
import r22_formula as plain
from hypothesis import given

from gaugebook.pipeline.engineering.hot_liquid import (
    MOST_MASS_FRACTION,
    hot_density,
    hot_volume_at_20c,
    u_of_expansion,
    water_density,
)

WATER_G_MOL, ETHANOL_G_MOL = 18.015, 46.069
ETHANOL_60C = 753.99  # kg/m3, saturated liquid: Schroeder and others, J. Phys. Chem. Ref. Data 43 (2014) 043102


def mass_fraction(x: float) -> float:
    """Of a mole fraction of ethanol."""
    return x * ETHANOL_G_MOL / (x * ETHANOL_G_MOL + (1 - x) * WATER_G_MOL)


@pytest.mark.parametrize(
    ("t", "published"),
    [(0.0, 999.84), (4.0, 999.97), (20.0, 998.20), (40.0, 992.2), (60.0, 983.2), (80.0, 971.8), (100.0, 958.4)],
)
def test_density_of_water_is_that_of_the_tables(t: float, published: float) -> None:
    """CRC Handbook, density of water at atmospheric pressure, to its printed digits; the same by IAPWS R6-95 (2018)."""
    assert water_density(t) == pytest.approx(published, abs=0.06 if t >= 40 else 0.006)


@pytest.mark.parametrize(
    ("t", "by_iapws"), [(50.0, 988.035), (70.0, 977.765), (90.0, 965.310)]
)  # IAPWS R6-95 at 101.325 kPa, computed with CoolProp 8.0
def test_density_of_water_agrees_with_the_equation_of_state(t: float, by_iapws: float) -> None:
    """Two formulations that share no coefficient differ by less than 0.01 kg/m3."""
    assert water_density(t) == pytest.approx(by_iapws, abs=0.01)


def test_the_excess_volume_is_the_published_one() -> None:
    """Marsh and Richards, Aust. J. Chem. 33 (1980) 2121: -0.420 cm3/mol at a mole fraction of 0.082, 5 to 65 °C."""
    x, t = 0.082, 60.0
    molar_g = x * ETHANOL_G_MOL + (1 - x) * WATER_G_MOL
    mixed = molar_g / hot_density(mass_fraction(x), t)
    apart = x * ETHANOL_G_MOL / ETHANOL_60C + (1 - x) * WATER_G_MOL / 983.196  # water: IAPWS R6-95

    assert 1000 * (mixed - apart) == pytest.approx(-0.420, abs=0.005)


@given(st.floats(0.0, MOST_MASS_FRACTION))
def test_it_begins_where_the_general_formula_ends(w: float) -> None:
    """At 40 °C it is the density of OIML R 22."""
    assert hot_density(w, 40.0) == pytest.approx(plain.density(w, 40.0), rel=1e-12)


@given(st.floats(0.0, 22.5), st.floats(40.0, 99.0))
def test_hot_liquid_shrinks_on_cooling(strength: float, t: float) -> None:
    """Its volume at 20 °C falls with the temperature at which it was gauged, and its uncertainty grows."""
    assert hot_volume_at_20c(1.0, t + 1.0, strength) < hot_volume_at_20c(1.0, t, strength) < 1.0
    assert 0.0 < u_of_expansion(t, strength) < u_of_expansion(t + 1.0, strength) < 0.008


def test_stillage_is_water_near_enough() -> None:
    """A thousand litres at 80 °C of 0.5 % vol: as of water, 971.8 over 998.2 (handbooks), within 0.3 L."""
    assert hot_volume_at_20c(1000.0, 80.0, 0.5) == pytest.approx(1000 * 971.8 / 998.2, abs=0.3)


def test_the_vessel_grows_too() -> None:
    """Stainless steel, 51e-6 a kelvin: 60 K make its litres 0.306 % larger."""
    plain_l, in_steel = (hot_volume_at_20c(1000.0, 80.0, 0.0, per_k) for per_k in (0.0, 51e-6))

    assert in_steel / plain_l == pytest.approx(1.00306, abs=1e-9)


@pytest.mark.parametrize(("t", "strength"), [(60.0, 23.0), (60.0, 60.0), (101.0, 1.0), (39.0, 1.0)])
def test_what_no_source_supports_is_refused(t: float, strength: float) -> None:
    """Stronger, hotter or colder: no value, alone or among others."""
    with pytest.raises(ValueError, match="expected"):
        hot_volume_at_20c(1000.0, t, strength)

    volumes = np.asarray(hot_volume_at_20c([1000.0, 1000.0], [t, 60.0], [strength, 1.0]))
    assert np.isnan(volumes[0])
    assert np.isfinite(volumes[1])
