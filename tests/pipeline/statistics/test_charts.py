"""Control charts against the handbook's examples, their constants and published run lengths."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.statistics.capability import cp, cpk
from gaugebook.pipeline.statistics.chart_constants import chart_constants
from gaugebook.pipeline.statistics.cusum import cusum_chart, cusum_run_length
from gaugebook.pipeline.statistics.ewma import ewma_chance, ewma_chart, ewma_run_length
from gaugebook.pipeline.statistics.proportions import TAIL, proportion_interval, proportion_limits
from gaugebook.pipeline.statistics.run_rules import (
    HOUSE_RULES,
    WESTERN_ELECTRIC,
    alarms,
    both_sides,
    chance_alarms,
    rule_signals,
    run_length,
)
from gaugebook.pipeline.statistics.subgroup_charts import between_subgroups, xbar_r_limits, xbar_s_limits

REFERENCE = Path(__file__).parents[2] / "reference"

# NIST's table, as printed in the source of its program Dataplot (src/dp10.F90, read): n, d2, c4, A2, D3, D4. Its D3 and
# D4 are up to 0.0014 off for some n (computed), hence the tolerance of 0.002.
TABLE = [
    (2, 1.128, 0.7979, 1.88, 0.0, 3.267), (3, 1.693, 0.8862, 1.023, 0.0, 2.575), (4, 2.059, 0.9213, 0.729, 0.0, 2.282),
    (5, 2.326, 0.94, 0.577, 0.0, 2.115), (6, 2.534, 0.9515, 0.483, 0.0, 2.004), (7, 2.704, 0.9594, 0.419, 0.076, 1.924),
    (8, 2.847, 0.965, 0.373, 0.136, 1.864), (9, 2.97, 0.9693, 0.337, 0.184, 1.816),
    (10, 3.078, 0.9727, 0.308, 0.223, 1.777), (15, 3.472, 0.9823, 0.223, 0.348, 1.652),
    (20, 3.735, 0.9869, 0.18, 0.414, 1.586), (25, 3.931, 0.9896, 0.153, 0.459, 1.541),
]  # fmt: skip

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


@pytest.mark.parametrize(("n", "d2", "c4", "a2", "d3", "d4"), TABLE)
def test_constants_are_those_of_the_table(n, d2, c4, a2, d3, d4):
    """Constants by quadrature agree with the printed table."""
    exact = chart_constants(n)
    found = (exact.d2, exact.c4, exact.a2, exact.d3_limit, exact.d4_limit)
    assert found == pytest.approx((d2, c4, a2, d3, d4), abs=0.002)


def test_constants_that_have_closed_forms():
    """d2 of two is 2/sqrt(pi), its d3 sqrt(2 - 4/pi), c4 of two sqrt(2/pi); B3 and B4 mirror each other about 1."""
    two, ten = chart_constants(2), chart_constants(10)
    assert two.d2 == pytest.approx(2 / math.sqrt(math.pi), rel=1e-9)
    assert two.d3 == pytest.approx(math.sqrt(2 - 4 / math.pi), rel=1e-8)
    assert two.c4 == pytest.approx(math.sqrt(2 / math.pi), rel=1e-12)
    assert ten.b3 + ten.b4 == pytest.approx(2)
    with pytest.raises(ValueError, match="2 to 200"):
        chart_constants(1)


@pytest.mark.parametrize("method", [xbar_r_limits, xbar_s_limits])
def test_subgroups_of_a_known_process(method):
    """Four thousand subgroups of five give back mean and standard deviation, and nearly no mean lies beyond."""
    values = np.random.default_rng(5).normal(700, 1.2, (4000, 5))
    limits = method(values)
    assert limits.sigma == pytest.approx(1.2, rel=0.02)
    assert limits.mean_upper - limits.mean == pytest.approx(3 * limits.sigma / math.sqrt(5), rel=1e-9)
    means = values.mean(axis=1)
    assert ((means > limits.mean_upper) | (means < limits.mean_lower)).mean() == pytest.approx(0.0027, abs=0.0025)
    with pytest.raises(ValueError, match="none missing"):
        method([[1.0, math.nan], [1.0, 2.0]])


def test_subgroups_by_the_printed_constants():
    """Limits are mean -+ A2 R and D4 R with the printed A2 = 0.577, D4 = 2.115 for five values."""
    values = np.random.default_rng(1).normal(12.94, 0.6, (25, 5))
    limits = xbar_r_limits(values)
    spread = np.ptp(values, axis=1).mean()
    assert limits.mean_upper == pytest.approx(values.mean() + 0.577 * spread, abs=0.001)
    assert limits.spread_upper == pytest.approx(2.115 * spread, abs=0.001)


def test_scatter_between_subgroups():
    """What lies between batches is found beside what lies within them, and is nought where there is nothing."""
    rng = np.random.default_rng(2)
    centre = rng.normal(0, 2.0, 3000)
    assert between_subgroups(centre + rng.normal(0, 0.5, 3000), 1.0, 4) == pytest.approx(2.0, rel=0.05)
    assert between_subgroups([1.0, 1.001, 0.999], 1.0, 4) == 0.0


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
    marks = rule_signals([2.5, 2.5, 0.0, 2.5], WESTERN_ELECTRIC)["2 of 3"]
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


def test_proportion_interval():
    """4 of 20: 0.0573 to 0.4366 (NIST/SEMATECH 7.2.4.1 prints the exact limits of 4 in 20 at 90 % as 0.071, 0.401; from
    memory), and the ends at none and all."""
    assert proportion_interval(4, 20, 0.90) == pytest.approx((0.071354, 0.401029), abs=1e-5)
    assert proportion_interval(0, 10)[0] == 0.0 and proportion_interval(10, 10)[1] == 1.0


def test_published_subgroups():
    """Mean 12.940, mean range 1.352, limits 13.719 and 12.161 (book, from memory, with the range rounded to 1.35)."""
    values = np.loadtxt(REFERENCE / "subgroups_of_five.csv", delimiter=",", comments="#")
    limits = xbar_r_limits(values)
    assert (limits.mean, limits.spread) == pytest.approx((12.940, 1.352), abs=5e-4)
    assert (limits.mean_upper, limits.mean_lower) == pytest.approx((13.719, 12.161), abs=0.0015)
    assert limits.spread_upper == pytest.approx(2.858, abs=0.002)


def test_capability_example():
    """NIST/SEMATECH 6.1.6 (from memory): limits 8 and 20, mean 16, s 2 give Cp 1.0 and Cpk 0.6667."""
    assert cp(8, 20, 2, 50).value == pytest.approx(1.0)
    assert cpk(8, 20, 16, 2, 50).value == pytest.approx(0.6667, abs=5e-5)


def test_capability_of_gears():
    """The gears with 0.99 to 1.01 and their overall s: Cp 0.5309 (0.4570, 0.6046), Cpk 0.4056 (0.3192, 0.4920).

    Data read in Dataplot; the figures are computed by the formulas of its help, no published output is known.
    """
    values = np.loadtxt(REFERENCE / "gear_diameters.csv", delimiter=",", comments="#").ravel()
    mean, s = values.mean(), values.std(ddof=1)
    width, nearer = cp(0.99, 1.01, s, 99), cpk(0.99, 1.01, mean, s, 100)
    assert (width.value, width.low, width.high) == pytest.approx((0.5309, 0.4570, 0.6046), abs=1e-4)
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
