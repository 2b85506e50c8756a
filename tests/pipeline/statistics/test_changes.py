"""Trends, changes, shares and many tests against published values, a reference package and simulation."""

import csv
import importlib.util
import math
from pathlib import Path

import numpy as np
import pymannkendall
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from scipy.stats import false_discovery_control

from gaugebook.pipeline.statistics import change_scan
from gaugebook.pipeline.statistics.change_points import buishand, pettitt
from gaugebook.pipeline.statistics.change_scan import changed_stretches, effective_stretches, likeness, scan_chance
from gaugebook.pipeline.statistics.many_tests import benjamini_hochberg, chance_beyond, holm, sum_by_chance
from gaugebook.pipeline.statistics.shares import attribute_shares
from gaugebook.pipeline.statistics.trend_tests import autocorrelation, mann_kendall, persistence, sen_slope


def nile() -> np.ndarray:
    """Annual flow of the Nile at Aswan 1871 to 1970, from the data sets that come with statsmodels."""
    package = importlib.util.find_spec("statsmodels")
    assert package is not None and package.origin
    path = Path(package.origin).parent / "datasets" / "nile" / "nile.csv"
    with path.open(encoding="utf-8") as file:
        return np.array([float(row["volume"]) for row in csv.DictReader(file)])


SERIES = st.lists(st.integers(-5, 5).map(float), min_size=8, max_size=40)


@given(SERIES)
def test_mann_kendall_is_that_of_the_reference(values):
    """Score, variance with ties and chance are those of pymannkendall, for series full of ties."""
    found, expected = mann_kendall(values), pymannkendall.original_test(values)
    assert (found.s, found.variance) == (expected.s, pytest.approx(expected.var_s))
    if expected.var_s > 0:
        assert found.p == pytest.approx(expected.p, abs=1e-12)


@pytest.mark.parametrize("lags", [3, 10])
def test_autocorrelation_is_allowed_for_as_in_the_reference(lags):
    """The variance of Hamed and Rao is that of pymannkendall on an autocorrelated series."""
    rng = np.random.default_rng(4)
    values = [0.0]
    for shock in rng.normal(size=79):
        values.append(0.6 * values[-1] + shock)
    found = mann_kendall(values, lags=lags, may_shrink=True)
    expected = pymannkendall.hamed_rao_modification_test(values, lag=lags)
    assert found.variance * found.inflation == pytest.approx(expected.var_s)
    assert found.p == pytest.approx(expected.p, abs=1e-12)
    assert found.inflation > 1


def test_alike_neighbours_do_not_make_a_trend():
    """With neighbours alike (0.5), the plain test is far oftener wrong than it says, the one that minds it less."""
    rng = np.random.default_rng(6)
    plain = minded = 0
    for _ in range(200):
        values = np.zeros(40)
        for n, shock in enumerate(rng.normal(size=40)):
            values[n] = 0.5 * values[n - 1] + shock if n else shock
        plain += mann_kendall(values).p < 0.05
        minded += mann_kendall(values, lags=10, persistence=persistence(values)).p < 0.05
    assert plain > 30
    assert minded < 0.45 * plain


def test_sen_slope_is_that_of_the_reference():
    """The slope of the Nile is that of pymannkendall, which looks at all pairs too."""
    values = nile()
    expected = pymannkendall.sens_slope(values)
    found = sen_slope(np.arange(100.0), values)
    assert (found.slope, found.intercept) == pytest.approx((expected.slope, expected.intercept))
    assert found.low < found.slope < found.high < 0


@given(SERIES)
def test_sen_interval_is_that_of_the_reference(values):
    """Slope and interval are those of scipy's theilslopes, for series full of ties."""
    times = np.arange(len(values), dtype=float)
    found, expected = sen_slope(times, values), stats.theilslopes(values, times)
    assert (found.slope, found.low, found.high, found.intercept) == pytest.approx(
        (expected.slope, expected.low_slope, expected.high_slope, expected.intercept)
    )


def test_nile():
    """The Nile fell after 1898: Pettitt K 1617 and year 28; Buishand R/sqrt(n) 2.9518 and U 2.4764 (read, help of R's
    trend); Mann-Kendall's z of -4.128 calls the step a trend."""
    values = nile()
    found = pettitt(values)
    assert (found.k, found.before) == (1617, 28)
    deviations = buishand(values)
    assert (deviations.r, deviations.u) == pytest.approx((2.9518, 2.4764), abs=5e-5)
    assert mann_kendall(values).z == pytest.approx(-4.128, abs=5e-4)
    assert (values[:28].mean(), values[28:].mean()) == pytest.approx((1097.75, 849.97), abs=0.005)


def test_nile_by_the_scan():
    """The scan finds the same step at the same year, with an interval that holds it and few other years."""
    found = changed_stretches(nile())[0]
    assert (found.shape, found.first, found.last) == ("step", 28, 99)
    assert found.before + found.change == pytest.approx(849.97, abs=0.01)
    assert found.first_low <= 28 <= found.first_high
    assert found.first_high - found.first_low <= 12
    assert found.p < 1e-6


def test_pettitt_as_published():
    """Page's simulated data as in Pettitt 1979: K 232 of 40 values has p 0.01456 (read, help of R's trend)."""
    k, n = 232, 40
    assert 2 * math.exp(-6 * k * k / (n**3 + n**2)) == pytest.approx(0.01456, abs=5e-6)
    values = [0.0] * 17 + [1.0] * 23  # the greatest K that a change after 17 of 40 can have: 17 x 23
    assert pettitt(values).k == 17 * 23
    assert pettitt(values).before == 17


@pytest.mark.parametrize(("size", "trials"), [(12, 3000), (40, 1500)])
def test_scan_is_wrong_as_seldom_as_it_says(size, trials):
    """In stable series, normal and heavy-tailed, the chance of the best stretch is below 0.05 in no more than 5 %."""
    rng = np.random.default_rng(9)
    for draw in (rng.standard_normal, lambda shape: rng.standard_t(4, shape)):
        p = [change_scan._chance(x, np.ones(size) * (np.arange(size) > 4)) for x in draw((trials // 3, size))]
        assert np.mean(np.array(p) < 0.05) < 0.05 + 2.5 * math.sqrt(0.05 * 0.95 / (trials // 3))


def test_alike_neighbours_are_seen_together_and_allowed_for():
    """Series with neighbours alike by 0.2 show it on the average, and the scan that is told of it is seldom wrong."""
    rng = np.random.default_rng(12)
    series = rng.standard_normal((300, 50))
    for n in range(1, 50):
        series[:, n] = 0.2 * series[:, n - 1] + math.sqrt(1 - 0.2**2) * series[:, n]
    assert np.mean([likeness(x) for x in series]) == pytest.approx(0.2, abs=0.03)
    told, untold = (np.mean([changed_stretches(x, most=1, alike=r)[0].p < 0.05 for x in series]) for r in (0.2, 0.0))
    assert told <= 0.05 < untold


def test_kept_number_of_stretches_is_on_the_safe_side():
    """The number of independent stretches that the chance rests on is no smaller than a simulation gives."""
    assert effective_stretches(20, 2000, 0.02) < math.exp(
        np.interp(math.log(20), np.log(change_scan._SIZES), np.log(change_scan._EFFECTIVE))
    )
    assert scan_chance(0.2, 40) > scan_chance(0.3, 40) > scan_chance(0.6, 40)


def test_beginning_of_a_step_is_covered():
    """The 95 % interval of the beginning of a step of two standard deviations holds the true run at least so often."""
    rng = np.random.default_rng(10)
    held = []
    for _ in range(150):
        values = rng.standard_normal(50)
        values[30:] += 2.0
        found = changed_stretches(values)[0]
        held.append(found.first_low <= 30 <= found.first_high)
    assert np.mean(held) > 0.9


def test_slope_is_told_from_step():
    """A fall that grows with every run is a slope, dated near its start; a sudden one that ends is a step."""
    rng = np.random.default_rng(11)
    values = rng.normal(0, 1, 60)
    values[25:40] -= np.arange(1, 16) * 0.6
    found = changed_stretches(values)[0]
    assert found.shape == "slope" and abs(found.first - 25) <= 3 and found.last == 39
    values = rng.normal(0, 1, 60)
    values[25:32] += 5
    found = changed_stretches(values)[0]
    assert (found.shape, found.first, found.last) == ("step", 25, 31)
    assert found.change == pytest.approx(5, abs=1)


def test_a_lone_wild_value_is_no_change():
    """One value forty standard deviations off makes no stretch."""
    values = np.random.default_rng(12).normal(0, 1, 60)
    values[30] += 40
    assert all(found.p > 0.05 for found in changed_stretches(values))


def test_counts_with_many_ties():
    """Noughts with a few ones scattered are no change; a row of ones among noughts is one."""
    scattered = np.zeros(45)
    scattered[[3, 14, 22, 37]] = 1
    together = np.zeros(45)
    together[20:27] = 1
    assert changed_stretches(scattered)[0].p > 0.05
    assert changed_stretches(together)[0].p < 0.01
    assert changed_stretches(np.ones(20)) == []


def test_shares_tell_what_goes_with_the_scatter():
    """A still that is off explains the scatter, operators who work both do not."""
    rng = np.random.default_rng(13)
    still = [["S1"] if n % 2 else ["S2"] for n in range(80)]
    operator = [["AQ"] if n % 3 else ["BR"] for n in range(80)]
    y = rng.normal(0, 1, 80) + 3 * np.array([one == ["S2"] for one in still])
    first, second = attribute_shares(y, {"still": still, "operator": operator})
    assert first.attribute == "still" and first.alone == pytest.approx(2.25 / 3.25, abs=0.1)
    assert second.alone < 0.05 and second.p > 0.01
    assert first.confounded_with == second.confounded_with == ()


def test_shares_warn_of_what_cannot_be_told_apart():
    """Where an operator always has the same malt lot, the two explain the same and each names the other."""
    rng = np.random.default_rng(14)
    lot = [["RYE-1"] if n < 20 else ["RYE-2"] for n in range(40)]
    operator = [["AQ"] if n < 20 else ["BR"] for n in range(40)]
    y = rng.normal(0, 1, 40) + 2 * (np.arange(40) < 20)
    shares = {share.attribute: share for share in attribute_shares(y, {"malt lot": lot, "operator": operator})}
    assert shares["malt lot"].confounded_with == ("operator",)
    assert shares["operator"].confounded_with == ("malt lot",)
    assert shares["malt lot"].unique == pytest.approx(0.0, abs=1e-9)


def test_many_levels_do_not_look_telling():
    """Twenty malt lots of three runs each explain nothing of pure noise, on the average."""
    rng = np.random.default_rng(15)
    lots = [[f"L{n // 3}"] for n in range(60)]
    shares = [attribute_shares(rng.normal(0, 1, 60), {"malt lot": lots})[0] for _ in range(200)]
    assert np.mean([share.p < 0.05 for share in shares]) == pytest.approx(0.05, abs=0.04)
    assert np.mean([share.alone for share in shares]) < 0.1


@given(st.lists(st.floats(1e-6, 1.0), min_size=1, max_size=30))
def test_adjusted_chances(p):
    """Benjamini-Hochberg is scipy's; Holm is never below it nor below Bonferroni's for the smallest."""
    fdr, fwer = benjamini_hochberg(p), holm(p)
    assert fdr == pytest.approx(false_discovery_control(p))
    assert (fwer >= fdr - 1e-12).all()
    assert fwer.min() == pytest.approx(min(1.0, len(p) * min(p)))


def test_holm_by_hand():
    """0.01, 0.02, 0.04 of three and one not made: 3 x 0.01, 2 x 0.02, 1 x 0.04; what was not made stays unknown."""
    adjusted = holm([0.04, math.nan, 0.01, 0.02])
    assert adjusted[[0, 2, 3]].tolist() == pytest.approx([0.04, 0.03, 0.04])
    assert math.isnan(adjusted[1])


def test_alarms_add_up():
    """The mean of sums is the sum of means, and the quantile lies above it."""
    mean, most = sum_by_chance([[0.0, 0.0, 1.0, 3.0]] * 5)
    assert mean == pytest.approx(5.0)
    assert most > mean


def test_prediction_of_one_more_value():
    """A new value lies beyond the chance of 0.01 in about one of a hundred times, after a baseline of twenty."""
    rng = np.random.default_rng(16)
    p = []
    for _ in range(3000):
        values = rng.normal(size=21)
        sd = np.abs(np.diff(values[:20])).mean() / 1.128
        p.append(chance_beyond(values[20], values[:20].mean(), sd, 20))
    assert np.mean(np.array(p) < 0.01) == pytest.approx(0.01, abs=0.006)


def test_autocorrelation():
    """Lag one of a slow wave is near one, of alternating values near minus one."""
    assert autocorrelation(np.sin(np.linspace(0, 6, 100))) > 0.9
    assert autocorrelation([1.0, -1.0] * 20) < -0.9
