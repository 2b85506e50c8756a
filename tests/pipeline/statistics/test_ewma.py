"""The weighted average against the handbook's example, published run lengths and charts drawn one by one."""

import math

import numpy as np
import pytest
from scipy import stats

from gaugebook.pipeline.statistics.control_limits import individuals_limits
from gaugebook.pipeline.statistics.ewma import ewma_chance, ewma_chart, ewma_run_length
from gaugebook.pipeline.statistics.run_rules import (
    alike_neighbours,
)

# NIST/SEMATECH e-Handbook 6.3.2.4 (from memory): twenty values, their EWMA with weight 0.3 from the target of 50 on, as
# printed; limits 52.5884 and 47.4115 with s = 2.0539.
EWMA_VALUES = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6,
               52.4, 53.6, 52.1]  # fmt: skip


EWMA_PRINTED = [50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05,
                49.38, 49.92, 50.73, 51.23, 51.94, 51.99]  # fmt: skip


def test_ewma_example():
    """The handbook's averages and limits, to the digits it prints."""
    chart = ewma_chart(EWMA_VALUES, 50.0, 2.0539, 0.3, 3.0, widening=False)
    assert chart.averages == pytest.approx(EWMA_PRINTED, abs=0.0051)
    assert (chart.upper[0], chart.lower[0]) == pytest.approx((52.5884, 47.4115), abs=1e-4)


def test_chance_of_the_average():
    """With well-known limits the average leaves them in 100 values about as the run length of 500 says, with limits
    from twenty values far oftener."""
    known, unknown = ewma_chance(5000, 100), ewma_chance(20, 100)
    assert known == pytest.approx(1 - math.exp(-100 / ewma_run_length(0.2, 2.962)), abs=0.04)
    assert unknown > 1.5 * known


def test_ewma_limits_widen():
    """The first average is the first value's alone, so its limits are narrower than the last ones."""
    chart = ewma_chart([50.0] * 30, 50.0, 1.0, 0.2, 3.0)
    assert chart.upper[0] - 50 == pytest.approx(3 * 0.2)
    assert chart.upper[-1] - 50 == pytest.approx(3 * math.sqrt(0.2 / 1.8), rel=1e-5)


@pytest.mark.parametrize(
    ("weight", "reach", "shift", "published"),
    # Lucas and Saccucci 1990 (.5, 3.071) and (.03, 2.437) for 500, as in the help of R's spc (read); pairs for 500 with
    # weights .4 to .05 from memory.
    [(0.5, 3.071, 0, 500), (0.03, 2.437, 0, 500), (0.4, 3.054, 0, 500), (0.25, 2.998, 0, 500), (0.2, 2.962, 0, 500),
     (0.1, 2.814, 0, 500), (0.05, 2.615, 0, 500)],
)  # fmt: skip
def test_ewma_run_lengths(weight, reach, shift, published):
    """Run lengths of the EWMA chart are the published ones."""
    assert ewma_run_length(weight, reach, shift) == pytest.approx(published, rel=0.004)


@pytest.mark.parametrize(
    ("baseline", "after", "weight", "reach", "alike"), [(15, 30, 0.2, 2.962, 0.0), (30, 25, 0.4, 2.5, 0.3)]
)
def test_chance_of_the_average_is_that_of_charts_drawn_one_by_one(baseline, after, weight, reach, alike):
    """800 series, each averaged by the chart itself with the centre and sigma of its own baseline."""
    rng = np.random.default_rng(5)
    left = []
    for shocks in rng.standard_normal((800, baseline + after)):
        values = alike_neighbours(shocks, alike)
        limits = individuals_limits(values[:baseline])
        chart = ewma_chart(values[baseline:], limits.centre, (limits.upper - limits.centre) / 3, weight, reach)
        left.append(bool(((chart.averages > chart.upper) | (chart.averages < chart.lower)).any()))
    share = np.mean(left)

    spread = math.sqrt(share * (1 - share) * (1 / 800 + 1 / 2000))
    assert ewma_chance(baseline, after, weight, reach, alike=alike) == pytest.approx(share, abs=3 * spread)


def test_the_limits_of_the_average_by_their_formula():
    """reach sigma sqrt(w / (2 - w) (1 - (1 - w)^(2 i))) after i values (Lucas and Saccucci 1990), the same below."""
    chart = ewma_chart([1.0, 2.0, 3.0], 10.0, 2.0, 0.4, 2.5)
    for i, (low, high) in enumerate(zip(chart.lower, chart.upper, strict=True), start=1):
        half = 2.5 * 2.0 * math.sqrt(0.4 / 1.6 * (1 - 0.6 ** (2 * i)))
        assert (low, high) == pytest.approx((10.0 - half, 10.0 + half))
    alone = ewma_chart([1.0, 2.0], 10.0, 2.0, 1.0, 2.5)  # a weight of one is no average: Shewhart's limits
    assert (alone.averages.tolist(), alone.upper.tolist()) == ([1.0, 2.0], [15.0, 15.0])


@pytest.mark.parametrize(("weight", "sigma"), [(0.0, 1.0), (1.01, 1.0), (0.2, 0.0), (0.2, math.nan)])
def test_what_is_no_average(weight, sigma):
    """A weight of nought or above one, and no scatter."""
    with pytest.raises(ValueError, match="expected 0 < weight"):
        ewma_chart([1.0, 2.0], 0.0, sigma, weight)


@pytest.mark.parametrize("shift", [0.0, 0.5, 1.5])
def test_an_average_of_one_value_has_the_run_length_of_its_limits(shift):
    """With a weight of nearly one the chart is Shewhart's: 1 / (Phi(d - 3) + Phi(-d - 3))."""
    expected = 1 / (stats.norm.cdf(shift - 3) + stats.norm.cdf(-shift - 3))
    assert ewma_run_length(0.9999, 3.0, shift) == pytest.approx(expected, rel=2e-3)


def test_run_lengths_of_a_shifted_average():
    """Crowder 1987, Table 1 (from memory): weight 0.25, limits at 3: 502.9 in control, 11.1 at a shift of one."""
    assert ewma_run_length(0.25, 3.0) == pytest.approx(502.9, rel=2e-3)
    assert ewma_run_length(0.25, 3.0, 1.0) == pytest.approx(11.1, rel=5e-3)


def test_one_value_may_leave_the_limits_and_none_cannot():
    """Its limits are those of single values: 2.962 standard deviations of a baseline of twenty."""
    assert ewma_chance(20, 0) == 0.0
    assert 0.003 < ewma_chance(20, 1) < 0.03  # 0.0031 for known limits, more for a baseline
