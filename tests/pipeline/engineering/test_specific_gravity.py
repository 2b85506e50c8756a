"""Specific gravity at 20/20 °C and 60/60 °F."""

import hypothesis.strategies as st
import pytest
from hypothesis import given

from gaugebook.pipeline.engineering.specific_gravity import specific_gravity, strength_from_specific_gravity

SIXTY_F = (60.0 - 32.0) / 1.8


def test_ethanol_at_60_60_f() -> None:
    """The definition of proof has 0.7939 for ethanol (27 CFR 30.11); OIML R 22 is 0.0003 below."""
    assert specific_gravity(100.0, SIXTY_F) == pytest.approx(0.7939, abs=0.0004)


@given(st.floats(0.0, 100.0), st.sampled_from([20.0, SIXTY_F, 25.0]), st.booleans())
def test_round_trip(strength: float, reference_c: float, in_air: bool) -> None:
    """To specific gravity and back is the same strength."""
    back = strength_from_specific_gravity(specific_gravity(strength, reference_c, in_air), reference_c, in_air)

    assert back == pytest.approx(strength, abs=1e-6)


def test_water_is_one() -> None:
    """By definition."""
    assert specific_gravity(0.0) == 1.0


def test_a_gravity_no_spirit_has_is_refused() -> None:
    """A syrup is not taken for spirit."""
    with pytest.raises(ValueError, match="no mixture of ethanol and water"):
        strength_from_specific_gravity(1.05)


@pytest.mark.parametrize(("in_air", "air"), [(True, 1.2), (False, 0.0)])
def test_masses_in_air_or_true_ones(in_air: bool, air: float) -> None:
    """40 % vol over water at 20 °C, 948.05 and 998.20 kg/m3 (OIML R 22, Table IVa), each less 1.2 of air or not."""
    expected = (948.05 - air) / (998.20 - air)

    assert specific_gravity(40.0, in_air=in_air) == pytest.approx(expected, abs=1e-5)
    assert strength_from_specific_gravity(expected, in_air=in_air) == pytest.approx(40.0, abs=0.01)
    assert specific_gravity(40.0) == specific_gravity(40.0, 20.0, True)  # as laboratories state it
    assert strength_from_specific_gravity(expected) == strength_from_specific_gravity(expected, 20.0, True)
