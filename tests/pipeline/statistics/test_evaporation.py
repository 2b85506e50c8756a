"""Rates of evaporation: one cask by hand, many against a reference library, leaks among simulated casks."""

from math import log, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.stats.meta_analysis import combine_effects

from gaugebook.pipeline.statistics.evaporation import (
    FEWEST_CASKS,
    evaporation_band,
    evaporation_rate,
    expected_alcohol,
)


def test_two_gauges_by_hand():
    """100 to 90 LPA in two years: ln(100/90)/2 a year; u = sqrt((0.3/100)^2 + (0.4/90)^2)/2."""
    rate = evaporation_rate([0, 2], [100, 90], [0.3, 0.4])

    assert rate.log_rate == pytest.approx(log(100 / 90) / 2, rel=1e-12)
    assert rate.u_log_rate == pytest.approx(sqrt(0.003**2 + (0.4 / 90) ** 2) / 2, rel=1e-12)
    assert rate.per_year == pytest.approx(1 - sqrt(0.9), rel=1e-12)  # two years leave 0.9
    assert rate.u_per_year == pytest.approx(sqrt(0.9) * rate.u_log_rate, rel=1e-12)


def test_many_gauges_are_a_weighted_line():
    """numpy's own weighted polynomial fit gives the slope and its unscaled covariance."""
    t, a = np.array([0.0, 0.7, 1.9, 3.2, 4.0]), np.array([120.0, 117.5, 112.1, 106.0, 103.9])
    u = np.array([0.3, 0.5, 0.4, 0.6, 0.3])
    (slope, _), covariance = np.polyfit(t, np.log(a), 1, w=a / u, cov="unscaled")
    rate = evaporation_rate(t, a, u)

    assert rate.log_rate == pytest.approx(-slope, rel=1e-9)
    assert rate.u_log_rate == pytest.approx(sqrt(covariance[0, 0]), rel=1e-9)


@given(st.floats(0.0, 0.2), st.floats(50, 500), st.permutations(range(5)))
def test_gauges_on_the_curve_give_its_rate(log_rate, start, order):
    """A cask that declines exactly has that rate, in whatever order its gauges are told."""
    t = np.array([0.0, 0.5, 1.0, 2.5, 6.0])[list(order)]
    rate = evaporation_rate(t, start * np.exp(-log_rate * t), np.full(5, 0.4))

    assert rate.log_rate == pytest.approx(log_rate, abs=1e-10)


@pytest.mark.parametrize(
    ("years", "alcohol", "u"),
    [([1], [100], [0.3]), ([1, 1], [100, 99], [0.3, 0.3]), ([0, 1], [100, 0], [0.3, 0.3]), ([0, 1], [9, 8], [0, 1])],
)
def test_no_rate_without_two_sound_gauges(years, alcohol, u):
    """One moment, nothing left or no uncertainty make no rate."""
    with pytest.raises(ValueError, match=r"two times|above 0"):
        evaporation_rate(years, alcohol, u)


@given(st.integers(0, 2**32 - 1), st.integers(FEWEST_CASKS, 60))
@settings(max_examples=30)
def test_mean_and_scatter_solve_the_equation_of_paule_and_mandel(seed, casks):
    """Weighted squares of the distances are one fewer than the casks, or fewer without any scatter."""
    random = np.random.default_rng(seed)
    u = random.uniform(0.001, 0.006, casks)
    k = random.normal(0.05, np.sqrt(u**2 + 0.004**2))
    band = evaporation_band(k, u, false_alarm=1e-9)
    weights = 1 / (u**2 + band.scatter**2)
    squares = (weights * (k - band.log_rate) ** 2).sum()

    assert band.casks == casks
    assert squares == pytest.approx(casks - 1, rel=1e-6) if band.scatter else squares <= casks - 1
    assert band.u_log_rate == pytest.approx(weights.sum() ** -0.5, rel=1e-12)


def test_mean_and_scatter_are_those_of_the_reference_library():
    """statsmodels combines the same effects by Paule and Mandel ("iterated"), a thousandfold since it iterates to an
    absolute tolerance."""
    random = np.random.default_rng(1)
    u = random.uniform(0.001, 0.006, 40)
    k = random.normal(0.05, np.sqrt(u**2 + 0.008**2))
    band = evaporation_band(k, u, false_alarm=1e-9)
    reference = combine_effects(1000 * k, (1000 * u) ** 2, method_re="iterated", atol=1e-9, maxiter=500)

    assert band.scatter == pytest.approx(np.sqrt(reference.tau2) / 1000, rel=1e-4)
    assert band.log_rate == pytest.approx(reference.mean_effect_re / 1000, rel=1e-6)
    assert band.u_log_rate == pytest.approx(reference.sd_eff_w_re / 1000, rel=1e-4)


def simulated_casks(seed: int, casks: int, leaks: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """True rates, estimated ones and their uncertainties: filled with 120 LPA, gauged each year for eight years with
    0.4 LPA; the last casks leak besides. Invented figures."""
    random = np.random.default_rng(seed)
    true = random.normal(0.045, 0.006, casks)
    true[casks - leaks :] += random.uniform(0.05, 0.15, leaks)
    t = np.arange(9.0)
    gauged = 120 * np.exp(-np.outer(true, t)) + random.normal(0, 0.4, (casks, 9))
    rates = [evaporation_rate(t, row, np.full(9, 0.4)) for row in gauged]
    return true, np.array([rate.log_rate for rate in rates]), np.array([rate.u_log_rate for rate in rates])


def test_two_thousand_casks_lie_within_their_uncertainty_and_ten_leaks_are_found():
    """95 % of the rates within twice their uncertainty; ten leaks found, at most one cask called so that is none."""
    true, k, u = simulated_casks(7, 2000, 10)
    band = evaporation_band(k, u)

    assert 0.94 < np.mean(np.abs(k - true) <= 2 * u) < 0.965
    assert band.is_outlier[-10:].all()
    assert band.is_outlier[:-10].sum() <= 1


def test_usual_casks_are_seldom_called_outliers():
    """Of 200 houses of 30 usual casks about one in twenty has an outlier, as the false alarm says."""
    alarms = sum(evaporation_band(*simulated_casks(seed, 30, 0)[1:]).is_outlier.any() for seed in range(200))

    assert alarms <= 20  # expected 10; more than 20 by chance once in a thousand


def test_leaks_do_not_hide_each_other():
    """A quarter of the casks leak, and are all named."""
    _, k, u = simulated_casks(3, 40, 10)

    assert evaporation_band(k, u).is_outlier.tolist() == [False] * 30 + [True] * 10


def test_few_casks_have_no_band():
    """Below eight casks nothing is said."""
    with pytest.raises(ValueError, match="8 casks at least"):
        evaporation_band([0.05] * 7, [0.001] * 7)
    with pytest.raises(ValueError, match="above 0"):
        evaporation_band([0.05] * 8, [0.0] * 8)


def test_what_is_still_there():
    """100 LPA at 0.05 a year for two years: 100 exp(-0.1); each part of its uncertainty by hand."""
    held, u_held = expected_alcohol(100.0, 0.3, 2.0, 0.05, 0.001, 0.005)

    assert held == pytest.approx(90.4837418, rel=1e-8)
    assert u_held == pytest.approx(sqrt((0.3 * 0.904837418) ** 2 + (2 * 90.4837418) ** 2 * (0.001**2 + 0.005**2)))
    assert expected_alcohol(100.0, 0.3, 0.0, 0.05, 0.001, 0.005) == pytest.approx((100.0, 0.3))
    with pytest.raises(ValueError, match="negative"):
        expected_alcohol(100.0, 0.3, -1.0, 0.05, 0.001, 0.005)


def test_casks_never_gauged_again_hold_what_was_foretold():
    """95 % of 2,000 casks with a band hold after six years what was foretold, within twice its uncertainty."""
    true, k, u = simulated_casks(11, 2000, 0)
    band = evaporation_band(k, u)
    foretold = expected_alcohol(120.0, 0.4, 6.0, band.log_rate, band.u_log_rate, band.scatter)
    filled = np.random.default_rng(5).normal(120.0, 0.4, true.size)

    assert 0.94 < np.mean(np.abs(filled * np.exp(-6 * true) - foretold[0]) <= 2 * foretold[1]) < 0.97
