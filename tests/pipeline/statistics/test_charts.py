"""Control charts against the handbook's examples, their constants and published run lengths."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.statistics.capability import cpk
from pipeline.statistics.chart_constants import c4
from pipeline.statistics.cusum import cusum_chart, cusum_run_length
from pipeline.statistics.ewma import ewma_chance, ewma_chart, ewma_run_length
from pipeline.statistics.proportions import TAIL, proportion_limits
from pipeline.statistics.run_rules import (
    HOUSE_RULES,
    alarms,
    both_sides,
    chance_alarms,
    rule_signals,
    run_length,
)

REFERENCE = Path(__file__).parents[2] / "reference"

# NIST's table, as printed in the source of its program Dataplot (src/dp10.F90, read).
C4 = {2: 0.7979, 3: 0.8862, 4: 0.9213, 5: 0.94, 6: 0.9515, 7: 0.9594, 8: 0.965, 9: 0.9693, 10: 0.9727, 15: 0.9823,
      20: 0.9869, 25: 0.9896}  # fmt: skip

# NIST/SEMATECH e-Handbook 6.3.2.4 (from memory): twenty values, their EWMA with weight 0.3 from the target of 50 on, as
# printed; limits 52.5884 and 47.4115 with s = 2.0539.
EWMA_VALUES = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6,
               52.4, 53.6, 52.1]  # fmt: skip
EWMA_PRINTED = [50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05,
                49.38, 49.92, 50.73, 51.23, 51.94, 51.99]  # fmt: skip

# The same, 6.3.2.3 (from memory): twenty group means, target 325, k 0.3175, h 4.1959; the sums as printed.
CUSUM_MEANS = [324.925, 324.675, 324.725, 324.35, 325.35, 325.225, 324.125, 324.525, 325.225, 324.6, 324.625, 325.15,
               328.325, 327.25, 327.825, 328.5, 326.675, 327.775, 326.875, 328.35]  # fmt: skip
CUSUM_HIGH = [0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.0, 19.04]


@pytest.mark.parametrize("n", C4)
def test_c4_is_that_of_the_table(n):
    """To the four figures printed."""
    assert c4(n) == pytest.approx(C4[n], abs=5.1e-5)


def test_c4_of_two_has_a_closed_form():
    """sqrt(2 / pi); one value has no standard deviation."""
    assert c4(2) == pytest.approx(math.sqrt(2 / math.pi), rel=1e-12)
    with pytest.raises(ValueError, match="2 or more"):
        c4(1)


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


@pytest.mark.parametrize(
    ("rules", "published"),
    # Champ and Woodall 1987, Table 1, no shift: 370.40, 225.44, 166.05, 152.73 (read in the help of R's spc); all four
    # 91.75 (from memory). Eight in a row alone: 255 exactly, 2^8 - 1.
    [((1,), 370.40), ((1, 2), 225.44), ((1, 3), 166.05), ((1, 4), 152.73), ((1, 2, 3, 4), 91.75), ((4,), 255.0)],
)
def test_run_rules_of_champ_and_woodall(rules, published):
    """The Markov chain gives the published run lengths."""
    sets = {1: both_sides("beyond", 1, 1, 3.0), 2: both_sides("2 of 3", 2, 3, 2.0),
            3: both_sides("4 of 5", 4, 5, 1.0), 4: both_sides("eight", 8, 8, 0.0)}  # fmt: skip
    assert run_length([rule for number in rules for rule in sets[number]]) == pytest.approx(published, abs=0.0051)


def test_house_rules_cry_wolf_as_rarely_as_stated():
    """Beyond three and nine in a row: once in 216.7 values by the chain, and by counting in simulated values."""
    assert run_length(HOUSE_RULES) == pytest.approx(216.7, abs=0.05)
    marks = rule_signals(np.random.default_rng(3).normal(size=(4000, 400)))
    either = marks["beyond"] | marks["nine"]
    first = np.where(either.any(axis=1), either.argmax(axis=1) + 1, 400)
    expected = sum((1 - 1 / 216.696) ** n for n in range(400))  # mean of a nearly geometric run length cut at 400
    assert first.mean() == pytest.approx(expected, rel=0.06)


def test_rules_need_their_last_value_and_break_at_a_gap():
    """2 of 3 speaks only at a value that is itself beyond; a gap starts every row anew."""
    marks = rule_signals([2.5, 2.5, 0.0, 2.5], both_sides("2 of 3", 2, 3, 2.0))["2 of 3"]
    assert marks.tolist() == [False, True, False, True]
    assert not rule_signals([1.0] * 8 + [math.nan] + [1.0] * 8)["nine"].any()
    assert int(alarms(rule_signals([1.0] * 20))) == 1


def test_limits_from_few_runs_speak_oftener():
    """Limits from twenty values give more alarms by chance than known limits do, limits from many as few."""
    known = 200 / run_length(HOUSE_RULES)
    few, many = (np.mean(chance_alarms(n, 200)) for n in (20, 2000))
    assert few > 2 * known
    assert many == pytest.approx(known, rel=0.25)


@given(st.integers(1, 3000), st.floats(0.0, 0.3))
def test_binomial_limits_keep_their_tail(size, centre):
    """No more than the stated chance lies beyond either limit, whatever the size."""
    from scipy.stats import binom

    limits = proportion_limits([size], centre)
    assert binom.sf(round(limits.upper[0] * size), size, centre) <= TAIL + 1e-12
    assert binom.cdf(round(limits.lower[0] * size) - 1, size, centre) <= TAIL + 1e-12


def test_capability_example():
    """NIST/SEMATECH 6.1.6 (from memory): limits 8 and 20, mean 16, s 2 give Cpk 0.6667."""
    assert cpk(8, 20, 16, 2, 50).value == pytest.approx(0.6667, abs=5e-5)


def test_capability_of_gears():
    """The gears with 0.99 to 1.01 and their overall s: Cpk 0.4056 (0.3192, 0.4920).

    Data read in Dataplot; the figures are computed by the formulas of its help, no published output is known.
    """
    values = np.loadtxt(REFERENCE / "gear_diameters.csv", delimiter=",", comments="#").ravel()
    mean, s = values.mean(), values.std(ddof=1)
    nearer = cpk(0.99, 1.01, mean, s, 100)
    assert (nearer.value, nearer.low, nearer.high) == pytest.approx((0.4056, 0.3192, 0.4920), abs=1e-4)
    assert cpk(0.99, None, mean, s, 100).value >= nearer.value


def test_capability_interval_holds_what_it_says():
    """The 95 % interval of Cpk covers the true value in about 95 of 100 samples."""
    rng = np.random.default_rng(8)
    covered = 0
    for _ in range(600):
        values = rng.normal(16, 2, 40)
        index = cpk(8, 20, values.mean(), values.std(ddof=1), 40)
        covered += index.low <= 2 / 3 <= index.high
    assert covered / 600 == pytest.approx(0.95, abs=0.03)
