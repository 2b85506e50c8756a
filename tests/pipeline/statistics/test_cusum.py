"""The cumulative sum against the handbook's example, published run lengths and simulation."""

import math

import numpy as np
import pytest

from gaugebook.pipeline.statistics.cusum import cusum_chart, cusum_run_length
from gaugebook.pipeline.statistics.ewma import ewma_chart

# The same, 6.3.2.3 (from memory): twenty group means, target 325, k 0.3175, h 4.1959; the sums as printed.
CUSUM_MEANS = [324.925, 324.675, 324.725, 324.35, 325.35, 325.225, 324.125, 324.525, 325.225, 324.6, 324.625, 325.15,
               328.325, 327.25, 327.825, 328.5, 326.675, 327.775, 326.875, 328.35]  # fmt: skip


CUSUM_HIGH = [0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.0, 19.04]


def test_cusum_example():
    """The handbook's sums, to the digits it prints, with the first signal at group 14."""
    chart = cusum_chart(CUSUM_MEANS, 325.0, 0.3175, 4.1959)
    assert chart.high == pytest.approx(CUSUM_HIGH, abs=0.0051)
    assert chart.signals[0] == 13


@pytest.mark.parametrize(
    ("h", "shift", "published"),
    # Lucas and Crosier 1982, k 0.5, two-sided (h = 4 read in the help of R's spc; h = 5 from memory).
    [(4, 0.0, 168), (4, 0.25, 74.2), (4, 0.5, 26.6), (4, 0.75, 13.3), (4, 1.0, 8.38),
     (5, 0.0, 465), (5, 0.25, 139), (5, 0.5, 38.0), (5, 0.75, 17.0), (5, 1.0, 10.4)],
)  # fmt: skip
def test_cusum_run_lengths(h, shift, published):
    """Run lengths of the two-sided CUSUM are the published ones, to their digits."""
    assert cusum_run_length(0.5, h, shift, two_sided=True) == pytest.approx(published, rel=0.005)


def test_cusum_of_one_side():
    """One side with h = 5 gives 930 values (NIST/SEMATECH 6.3.2.3, from memory), twice the 465 of two."""
    assert cusum_run_length(0.5, 5.0) == pytest.approx(930, rel=0.005)


def test_a_gap_leaves_averages_and_sums_as_they_were():
    """And the limits too: a value that is missing is none of the values so far."""
    chart = ewma_chart([52.0, math.nan, 47.0], 50.0, 2.0, 0.3, 3.0)
    whole = ewma_chart([52.0, 47.0], 50.0, 2.0, 0.3, 3.0)
    assert chart.averages[[0, 2]].tolist() == whole.averages.tolist() and chart.averages[1] == chart.averages[0]
    assert chart.upper[[0, 2]].tolist() == whole.upper.tolist() and chart.upper[1] == chart.upper[0]
    sums = cusum_chart([2.0, math.nan, 2.0], 0.0, 0.5, 2.5)
    assert (sums.high.tolist(), sums.low.tolist(), sums.signals) == ([1.5, 1.5, 3.0], [0.0] * 3, (2,))


def test_sums_below_the_target_mirror_those_above():
    """Values turned about the target turn the two sums, and the signals stay."""
    up = cusum_chart(CUSUM_MEANS, 325.0, 0.3175, 4.1959)
    down = cusum_chart([650.0 - mean for mean in CUSUM_MEANS], 325.0, 0.3175, 4.1959)
    assert down.low.tolist() == pytest.approx(up.high.tolist()) and down.high.tolist() == pytest.approx(up.low.tolist())
    assert down.signals == up.signals


def test_a_signal_is_the_passing_of_the_decision_value():
    """Not the reaching of it, and told once until the sum came back."""
    assert cusum_chart([1.5, 1.0, 1.0, 1.0], 0.0, 0.5, 2.0).signals == (3,)
    assert cusum_chart([3.0, -1.0, 3.0], 0.0, 0.5, 2.0).signals == (0, 2)
    assert cusum_chart([3.0, 3.0, 3.0], 0.0, 0.0, 2.0).signals == (0,)


@pytest.mark.parametrize(("allowance", "decision"), [(-0.1, 4.0), (0.5, 0.0), (0.5, -1.0)])
def test_what_is_no_cumulative_sum(allowance, decision):
    """An allowance below nought, or a decision value that is not above it."""
    with pytest.raises(ValueError, match="at least 0 and more than 0"):
        cusum_chart([1.0], 0.0, allowance, decision)


@pytest.mark.parametrize(("shift", "start"), [(0.5, 2.5), (1.0, 4.0)])
def test_a_head_start_by_simulation(shift, start):
    """The sum that starts at `start` of h = 5 with k = 0.5: by four thousand series of normal values."""
    rng = np.random.default_rng(6)
    lengths, total, alive = np.zeros(4000), np.full(4000, start), np.ones(4000, dtype=bool)
    while alive.any():
        lengths[alive] += 1
        total[alive] = np.maximum(0.0, total[alive] + rng.normal(shift, 1.0, alive.sum()) - 0.5)
        alive &= total <= 5.0
    assert cusum_run_length(0.5, 5.0, shift, start) == pytest.approx(lengths.mean(), rel=0.06)


def test_a_head_start_has_one_side():
    """Both sums together are reckoned from nought only."""
    with pytest.raises(ValueError, match="one side only"):
        cusum_run_length(0.5, 5.0, 0.0, 1.0, two_sided=True)
