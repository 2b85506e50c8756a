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
    contributions,
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
        lambda: u_ratio(1.0, -0.1, 2.0, 0.1),
        lambda: u_ratio([1.0, 1.0], [0.1, -0.1], 2.0, 0.1),
        lambda: propagate(lambda a: a, [[1.0, 1.0]], [[0.1, -0.1]]),
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


def test_contributions_keep_their_signs() -> None:
    """Slope times uncertainty, by hand: a b / c at 6, 2, 3 with slopes 2/3, 2 and -4/3, times 0.3, 0.1 and 0.15."""
    parts = contributions(lambda a, b, c: a * b / c, [6.0, 2.0, 3.0], [0.3, 0.1, 0.15])

    assert parts == [pytest.approx(x, rel=1e-5) for x in (0.2, 0.2, -0.2)]
    assert all(type(part) is float for part in parts)
    assert propagate(lambda a, b, c: a * b / c, [6.0, 2.0, 3.0], [0.3, 0.1, 0.15]) == pytest.approx(0.2 * np.sqrt(3.0))


def test_several_results_of_one_function_are_kept_apart() -> None:
    """Sum and difference of two columns: an error of the second enters them with opposite signs."""
    parts = contributions(lambda a, b: np.stack([a + b, a - b]), [[1.0, 2.0, 3.0], 5.0], [0.1, [0.2, 0.0, np.nan]])

    np.testing.assert_allclose(parts[0], np.full((2, 3), 0.1), rtol=1e-6)
    np.testing.assert_allclose(parts[1], [[0.2, 0.0, np.nan], [-0.2, 0.0, np.nan]], rtol=1e-6, atol=1e-12)


@pytest.mark.parametrize(("value", "slope"), [(0.0, 1.0), (5.0, 2.0), (10.0, 1.0)])
def test_at_either_end_of_a_range_the_slope_is_that_of_the_side_that_is_there(value: float, slope: float) -> None:
    """A roof of 45 degrees from 0 to 10 that stands on a ramp: x from 0 on, as long as 10 is not passed."""

    def ramp(x: np.ndarray) -> np.ndarray:
        return np.where((x < 0.0) | (x > 10.0), np.nan, x)

    assert contributions(ramp, [value], [0.1])[0] == pytest.approx(0.1)
    # where there is something on both sides, both count: of a kink the mean of its two slopes
    kink = contributions(lambda x: np.where(x < 5.0, x, 3.0 * x - 10.0), [value], [0.1])[0]
    assert kink == pytest.approx(0.1 * {0.0: 1.0, 5.0: 2.0, 10.0: 3.0}[value])


def test_where_neither_side_has_a_value_there_is_no_uncertainty() -> None:
    """A quantity that may not move at all leaves the result's uncertainty unknown."""
    only_there = lambda x: np.where(x == 1.0, 5.0, np.nan)  # noqa: E731

    assert np.isnan(propagate(only_there, [1.0], [0.1]))


def test_what_is_known_exactly_adds_nothing() -> None:
    """A decision has no uncertainty, and its slope is not asked for."""
    parts = contributions(lambda a, b: a + np.where(b == 2.0, b, np.nan), [1.0, 2.0], [0.1, 0.0])

    assert parts == [pytest.approx(0.1), 0.0]


def test_the_glass_and_the_vessel_are_those_given() -> None:
    """An alcoholmeter's own uncertainty counts as its glass reads; a vessel that grows enlarges volume and uncertainty.

    At 40 °C 50e-6 a kelvin are a thousandth of the volume, and of its uncertainty.
    """
    free, steel = (u_volume_at_20c(1000.0, 5.0, 40.0, 0.0, 60.0, 0.0, e) for e in (0.0, 50e-6))
    assert steel / free == pytest.approx(1.001, abs=1e-6)

    soda, boro = (u_strength_from_alcoholmeter(40.0, 0.0, 25.0, 1.0, glass) for glass in ("soda-lime", "borosilicate"))
    # 15e-6 a kelvin of 948 kg/m3 is 0.0142 kg/m3, 0.009 % vol at 1.6 kg/m3 a % vol (slope of R 22, Table IVa)
    assert abs(soda - boro) == pytest.approx(0.0142 / 1.62, rel=0.1)


def test_a_ratio_of_rows_and_of_a_negative_denominator() -> None:
    """GUM, equation (12): 2/4 with 0.2 and 0.4 is 0.5 times hypot(0.1, 0.1), whatever the signs; 0/4 has 0.2/4."""
    u = u_ratio([2.0, -2.0, 0.0, 2.0], [0.2, 0.2, 0.2, 0.2], [4.0, -4.0, 4.0, 0.0], [0.4, 0.4, 0.4, 0.4])

    np.testing.assert_allclose(u, [0.5 * np.hypot(0.1, 0.1), 0.5 * np.hypot(0.1, 0.1), 0.05, np.nan])
