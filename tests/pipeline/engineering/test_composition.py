"""Mole, mass and volume fractions."""

import hypothesis.strategies as st
import pytest
from hypothesis import given

from gaugebook.pipeline.engineering.composition import (
    mass_from_mole_fraction,
    mole_fraction_from_strength,
    mole_from_mass_fraction,
    strength_from_mole_fraction,
)


@given(st.floats(0.0, 1.0))
def test_moles_and_mass_round_trip(x: float) -> None:
    """By moles to by mass and back is the same mixture."""
    assert mole_from_mass_fraction(mass_from_mole_fraction(x)) == pytest.approx(x, abs=1e-14)


@given(st.floats(0.0, 100.0))
def test_moles_and_strength_round_trip(q: float) -> None:
    """By volume to by moles and back is the same strength."""
    assert strength_from_mole_fraction(mole_fraction_from_strength(q)) == pytest.approx(q, abs=1e-6)


def test_the_azeotrope_in_three_units() -> None:
    """Mole fraction 0.8943 is 95.58 % mass and 97.19 % vol (Perry's handbook, 4th edition, p. 13-5)."""
    assert 100.0 * mass_from_mole_fraction(0.8943) == pytest.approx(95.58, abs=0.006)
    assert strength_from_mole_fraction(0.8943) == pytest.approx(97.19, abs=0.01)


def test_equal_masses_in_moles() -> None:
    """1 g of each: 1/46.068 and 1/18.015 mol by the standard atomic weights, so 18.015/64.083 is ethanol."""
    assert mole_from_mass_fraction(0.5) == pytest.approx(18.015 / 64.083, rel=1e-6)
    assert mass_from_mole_fraction(0.5) == pytest.approx(46.068 / 64.083, rel=1e-6)
    # 24.61 % mass is 30 % vol (OIML R 22, Table IVb)
    moles = 24.61 / 46.068, 75.39 / 18.015
    assert mole_fraction_from_strength(30.0) == pytest.approx(moles[0] / sum(moles), abs=3e-5)
