"""First-order propagation, confirmed by drawing: JCGM 101:2008, propagation of distributions."""

from collections.abc import Callable

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given

from gaugebook.pipeline.engineering.gauging import volume_at_20c
from gaugebook.pipeline.engineering.pure_alcohol import litres_of_pure_alcohol
from gaugebook.pipeline.engineering.strength import strength_from_alcoholmeter, strength_from_density
from gaugebook.pipeline.engineering.uncertainty import (
    propagate,
    u_alcohol,
    u_ratio,
    u_strength_from_alcoholmeter,
    u_strength_from_density,
    u_volume_at_20c,
)

DRAWS = 200_000  # the standard deviation of so many draws is good to 0.2 %
AGREE = 0.015


def drawn(function: Callable[..., object], values: list[float], us: list[float]) -> float:
    """Standard deviation of a function of normal quantities, by drawing."""
    rng = np.random.default_rng(101)
    draws = np.asarray(function(*(rng.normal(v, u, DRAWS) for v, u in zip(values, us, strict=True))))
    assert np.isnan(draws).mean() < 1e-3
    return float(np.nanstd(draws))


def test_a_worked_case_by_hand() -> None:
    """1000 ± 2 L of 40 ± 0.1 % vol: sqrt((0.4 x 2)^2 + (10 x 0.1)^2) L (JCGM 100:2008, equation 12)."""
    assert u_alcohol(1000.0, 2.0, 40.0, 0.1) == pytest.approx(np.sqrt(0.8**2 + 1.0**2), rel=1e-6)


@pytest.mark.parametrize("strength", [8.0, 40.0, 63.5, 95.0])
def test_drawing_confirms_the_strength_from_a_density(strength: float) -> None:
    """First order and drawing agree for a density with its temperature."""
    rho = 1000.0 - 1.3 * strength if strength < 50 else 1010.0 - 2.0 * strength
    values, us = [rho, 20.0], [0.1, 0.2]
    interleaved = [x for pair in zip(values, us, strict=True) for x in pair]

    assert u_strength_from_density(*interleaved) == pytest.approx(drawn(strength_from_density, values, us), rel=AGREE)


@pytest.mark.parametrize(("reading", "t"), [(12.0, 25.0), (43.0, 12.0), (68.0, 5.0), (90.0, 15.0)])
def test_drawing_confirms_the_strength_from_an_alcoholmeter(reading: float, t: float) -> None:
    """First order and drawing agree for a reading with its temperature."""
    found = u_strength_from_alcoholmeter(reading, 0.1, t, 0.3)

    assert found == pytest.approx(drawn(strength_from_alcoholmeter, [reading, t], [0.1, 0.3]), rel=AGREE)


def test_drawing_confirms_a_volume_at_20c_and_its_alcohol() -> None:
    """First order and drawing agree for a volume brought to 20 °C and for the alcohol in it."""
    values, us = [2000.0, 27.0, 63.5], [4.0, 0.5, 0.2]
    found = u_volume_at_20c(*(x for pair in zip(values, us, strict=True) for x in pair))

    assert found == pytest.approx(drawn(volume_at_20c, values, us), rel=AGREE)
    assert u_alcohol(2000.0, 4.0, 63.5, 0.2) == pytest.approx(
        drawn(litres_of_pure_alcohol, [2000.0, 63.5], [4.0, 0.2]), rel=AGREE
    )


def test_drawing_confirms_a_ratio() -> None:
    """First order and drawing agree for a recovery."""
    assert u_ratio(95.0, 0.5, 100.0, 0.7) == pytest.approx(
        drawn(lambda a, b: a / b, [95.0, 100.0], [0.5, 0.7]), rel=AGREE
    )


@given(st.floats(-50.0, 50.0), st.floats(0.01, 2.0), st.floats(-50.0, 50.0), st.floats(0.01, 2.0))
def test_a_sum_adds_in_squares(a: float, u_a: float, b: float, u_b: float) -> None:
    """The uncertainty of a sum of independent quantities is the root of the sum of squares."""
    assert propagate(lambda x, y: x + y, [a, b], [u_a, u_b]) == pytest.approx(np.hypot(u_a, u_b), rel=1e-6)


def test_rows_are_propagated_at_once_and_each_as_alone() -> None:
    """A column of rows gives what each row gives by itself."""
    readings, t = np.linspace(10.0, 90.0, 5000), np.linspace(5.0, 30.0, 5000)

    found = u_strength_from_alcoholmeter(readings, 0.1, t, 0.2)

    assert found.shape == (5000,)
    for i in (0, 1234, 4999):
        assert found[i] == pytest.approx(u_strength_from_alcoholmeter(readings[i], 0.1, t[i], 0.2), rel=1e-6)


def test_at_the_end_of_the_scale_the_slope_is_taken_from_inside() -> None:
    """Pure ethanol has an uncertainty though no mixture is stronger."""
    inside = u_volume_at_20c(100.0, 0.1, 20.0, 0.1, 99.9, 0.1)

    assert u_volume_at_20c(100.0, 0.1, 20.0, 0.1, 100.0, 0.1) == pytest.approx(inside, rel=0.01)


def test_an_unknown_uncertainty_makes_the_result_unknown() -> None:
    """NaN is not 0: what is not known does not shrink the result."""
    assert np.isnan(u_alcohol(1000.0, np.nan, 40.0, 0.1))
    assert np.isnan(u_ratio(1.0, np.nan, 2.0, 0.1))
    assert np.isnan(u_ratio(1.0, 0.1, 0.0, 0.1))


def test_a_value_that_cannot_be_has_no_uncertainty() -> None:
    """A frozen or impossible row is NaN in the uncertainty as in the value."""
    assert np.isnan(u_strength_from_density(1050.0, 0.1, 20.0, 0.1))


@pytest.mark.parametrize(
    "call",
    [
        lambda: u_alcohol(1.0, -0.1, 40.0, 0.1),
        lambda: u_ratio(1.0, 0.1, 2.0, -0.1),
        lambda: propagate(lambda a: a, [1.0], [-1.0]),
    ],
)
def test_a_negative_uncertainty_is_refused(call: Callable[[], object]) -> None:
    """A standard uncertainty is never negative."""
    with pytest.raises(ValueError, match="negative; expected 0 or more"):
        call()


def test_values_and_uncertainties_must_pair() -> None:
    """One uncertainty for each value."""
    with pytest.raises(ValueError, match="2 values and 1 uncertainties"):
        propagate(lambda a, b: a, [1.0, 2.0], [0.1])
