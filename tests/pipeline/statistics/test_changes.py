"""Trends, changes, shares and many tests against published values, a reference package and simulation."""

import csv
import importlib.util
import math
from itertools import combinations
from pathlib import Path

import numpy as np
import pymannkendall
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from gaugebook.pipeline.statistics import change_scan
from gaugebook.pipeline.statistics.change_scan import changed_stretches, likeness
from gaugebook.pipeline.statistics.many_tests import chance_beyond, holm, sum_by_chance
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
    found = mann_kendall(values, lags=lags)
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
    """The Nile fell after 1898 (read, help of R's trend: 1097.75 before, 849.97 after); Mann-Kendall's z of -4.128
    calls the step a trend."""
    values = nile()
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


@given(st.lists(st.floats(1e-6, 1.0), min_size=1, max_size=6))
def test_adjusted_chances(p):
    """Holm's are those of testing every set of tests together by Bonferroni, the worst set of each test counting."""
    sets = [one for size in range(1, len(p) + 1) for one in combinations(range(len(p)), size)]
    worst = [max(min(1.0, len(s) * min(p[i] for i in s)) for s in sets if test in s) for test in range(len(p))]

    assert holm(p) == pytest.approx(worst)


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


@pytest.mark.parametrize("persisting", [0.0, 0.4, 0.9])
def test_persistence_is_the_corrected_autocorrelation_of_what_a_slope_leaves(persisting):
    """(n r + 1) / (n - 4) of the values less the slope of Theil and Sen (scipy), where above 1.645 / sqrt n, to 0.9."""
    rng = np.random.default_rng(17)
    for n in (10, 25, 80):
        values = np.zeros(n)
        for place, shock in enumerate(rng.normal(size=n)):
            values[place] = persisting * values[place - 1] + shock if place else shock
        values += 0.3 * np.arange(n)
        rest = values - stats.theilslopes(values, np.arange(n)).slope * np.arange(n)
        rest = rest - rest.mean()
        r = (n * (rest[1:] @ rest[:-1]) / (rest @ rest) + 1) / (n - 4)
        assert persistence(values) == pytest.approx(min(r, 0.9) if r > 1.645 / math.sqrt(n) else 0.0)


def test_persistence_widens_the_variance():
    """By (1 + r) / (1 - r) at least: 3 at a half; independent values and shrinking ones leave it as it is."""
    values = nile()
    plain = mann_kendall(values)
    assert mann_kendall(values, persistence=0.5).inflation == pytest.approx(3.0)
    assert mann_kendall(values, persistence=0.5).z == pytest.approx(plain.z / math.sqrt(3.0))
    assert plain.inflation == 1.0 and plain.tau == pytest.approx(plain.s / (100 * 99 / 2))
    turning = np.tile([1.0, -1.0, 2.0, -2.0], 10) + 0.01 * np.arange(40)
    assert mann_kendall(turning, lags=3).inflation == 1.0


@pytest.mark.parametrize("lags", [5, 7, 30])
def test_lags_reach_as_far_as_they_are_asked_for(lags):
    """And no farther than the series; a short one is that of pymannkendall too."""
    rng = np.random.default_rng(18)
    values = np.zeros(19)
    for place, shock in enumerate(rng.normal(size=19)):
        values[place] = 0.9 * values[place - 1] + shock if place else shock
    found = mann_kendall(values, lags=lags)
    expected = pymannkendall.hamed_rao_modification_test(values, lag=min(lags, 18))
    assert found.variance * found.inflation == pytest.approx(max(expected.var_s, found.variance))


@pytest.mark.parametrize(
    ("call", "fewest"), [(mann_kendall, 4), (persistence, 10), (lambda x: sen_slope(range(len(x)), x), 4)]
)
def test_too_few_values_have_no_trend(call, fewest):
    """Gaps do not count."""
    values = np.random.default_rng(19).normal(size=fewest)
    call(values)
    with pytest.raises(ValueError, match="too few"):
        call(np.append(values[1:], math.nan))


def test_values_that_are_alike_have_no_trend():
    """No variance, no score, and no slope where all times are one."""
    found = mann_kendall([3.0] * 6)
    assert (found.s, found.variance, found.z, found.p) == (0, 0.0, 0.0, 1.0)
    with pytest.raises(ValueError, match="all times are alike"):
        sen_slope([1.0] * 5, [1.0, 2.0, 3.0, 4.0, 5.0])


@pytest.mark.parametrize("lag", [1, 2, 5])
def test_autocorrelation_is_that_of_the_handbook(lag):
    """NIST/SEMATECH 1.3.3.1: sum of (x(i) - mean)(x(i + lag) - mean) over that of the squares."""
    x = np.random.default_rng(20).normal(size=30)
    above = sum((x[i] - x.mean()) * (x[i + lag] - x.mean()) for i in range(30 - lag))
    assert autocorrelation(x, lag) == pytest.approx(above / sum((x - x.mean()) ** 2))
    assert autocorrelation(x, 30) == autocorrelation([1.0] * 5) == 0.0
    assert autocorrelation(x, 29) == pytest.approx((x[0] - x.mean()) * (x[29] - x.mean()) / sum((x - x.mean()) ** 2))


@pytest.mark.parametrize(("points", "most_degrees"), [(3, math.inf), (20, math.inf), (20, 5.0)])
def test_chance_of_one_more_value_is_students(points, most_degrees):
    """Two-sided, with 0.62 (n - 1) degrees of freedom or as many as are allowed, by scipy, on either side."""
    degrees = min(0.62 * (points - 1), most_degrees)
    expected = 2 * stats.t.sf(1.5 / (0.5 * math.sqrt(1 + 1 / points)), degrees)
    for value in (11.5, 8.5):
        assert chance_beyond(value, 10.0, 0.5, points, most_degrees) == pytest.approx(expected)
    assert math.isnan(chance_beyond(1.0, 0.0, 1.0, 2)) and math.isnan(chance_beyond(1.0, 0.0, 0.0, 9))


def test_sums_of_alarms_have_mean_and_quantile():
    """Of two charts that alarm in one trial of four: both in one of sixteen; no chart has none."""
    chart = [1.0] * 250 + [0.0] * 750
    mean, most = sum_by_chance([chart, chart])
    assert (mean, most) == (pytest.approx(0.5), 2.0)  # 1 - 1/16 = 0.9375 of the sums are 0 or 1
    assert sum_by_chance([chart, chart], 0.9)[1] == 1.0
    assert sum_by_chance([]) == (0.0, 0.0)
