"""Run rules: published run lengths, closed forms, and charts drawn one by one."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal, stats

from gaugebook.pipeline.statistics.control_limits import individuals_limits
from gaugebook.pipeline.statistics.run_rules import (
    HOUSE_RULES,
    alarms,
    alike_neighbours,
    both_sides,
    chance_alarms,
    rule_signals,
    run_length,
)


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


def test_a_value_on_a_line_is_neither_beyond_nor_on_a_side():
    """Strictly beyond three, strictly above or below the mean."""
    on_the_line = rule_signals([3.0, -3.0, math.nextafter(3.0, 4.0), math.nextafter(-3.0, -4.0)])["beyond"]
    assert on_the_line.tolist() == [False, False, True, True]
    assert not rule_signals([0.5] * 8 + [0.0] + [0.5] * 8)["nine"].any()
    assert rule_signals([-0.5] * 10)["nine"].tolist() == [False] * 8 + [True, True]


@pytest.mark.parametrize("gap", [0, 1, 2, 3, 4])
def test_four_of_five_do_not_reach_across_a_gap(gap):
    """Five values hold four beyond one; one of them missing begins the count anew; each series of many by itself."""
    values = np.full((2, 8), 1.5)
    values[0, gap] = math.nan
    marks = rule_signals(values, both_sides("4 of 5", 4, 5, 1.0))["4 of 5"]

    assert marks[1].tolist() == [False] * 3 + [True] * 5
    assert [bool(mark) for mark in marks[0]] == [
        mark and np.isfinite(values[0, max(0, n - 4) : n + 1]).all() for n, mark in enumerate(marks[1])
    ]


@pytest.mark.parametrize("shift", [0.0, 0.5, 1.0, 3.0])
def test_run_lengths_of_a_shifted_process(shift):
    """One rule of three sigma: 1 / (Phi(d - 3) + Phi(-d - 3)). Nine in a row on one side with chance p each: the
    waiting time (1 - p^9) / ((1 - p) p^9) of Feller, An Introduction to Probability Theory I, XIII.7 (from memory)."""
    beyond, above = both_sides("beyond", 1, 1, 3.0), both_sides("nine", 9, 9, 0.0)[:1]
    p = stats.norm.cdf(shift)

    assert run_length(beyond, shift) == pytest.approx(1 / (stats.norm.cdf(shift - 3) + stats.norm.cdf(-shift - 3)))
    assert run_length(above, shift) == pytest.approx((1 - p**9) / ((1 - p) * p**9), rel=1e-9)


def test_an_alarm_is_a_value_beyond_or_the_beginning_of_a_row():
    """Two values beyond in a row are two alarms; twelve on one side, and after a break ten more, are two."""
    assert int(alarms(rule_signals([0.0, 3.5, 3.5, 0.0, -4.0]))) == 3
    assert int(alarms(rule_signals([0.5] * 12 + [-0.5] + [0.5] * 10))) == 2
    assert alarms(rule_signals([[0.5] * 9, [0.1] * 8 + [3.1]])).tolist() == [1, 2]


@pytest.mark.parametrize(("baseline", "after", "alike"), [(12, 40, 0.0), (30, 60, 0.3)])
def test_alarms_by_chance_are_those_of_charts_drawn_one_by_one(baseline, after, alike):
    """600 series of neighbours alike (scipy's filter), each with the limits of its own individuals chart."""
    rng = np.random.default_rng(4)
    counts = []
    for shocks in rng.standard_normal((600, baseline + after)):
        shocks[1:] *= math.sqrt(1 - alike**2)
        values = signal.lfilter([1.0], [1.0, -alike], shocks)
        limits = individuals_limits(values[:baseline])
        sigma = (limits.upper - limits.centre) / 3
        counts.append(int(alarms(rule_signals((values[baseline:] - limits.centre) / sigma))))
    found = chance_alarms(baseline, after, alike=alike)

    joint = math.hypot(np.std(counts) / math.sqrt(600), np.std(found) / math.sqrt(2000))
    assert np.mean(found) == pytest.approx(np.mean(counts), abs=3 * joint)
    assert list(found) == sorted(found, reverse=True) and len(found) == 2000


def test_nothing_judged_has_no_alarm():
    """And one value that is judged may have one."""
    assert chance_alarms(20, 0, trials=5) == (0.0,) * 5
    assert 0 < sum(chance_alarms(5, 1)) < 2000


@given(st.lists(st.floats(-3, 3), min_size=1, max_size=20), st.floats(-0.9, 0.9))
def test_neighbours_are_made_alike_by_a_filter_of_the_first_order(values, alike):
    """x(i) = r x(i-1) + sqrt(1 - r^2) e(i) from x(0) = e(0), as scipy filters it, along the last axis."""
    shocks = np.array(values)
    shocks[1:] *= math.sqrt(1 - alike**2)
    expected = signal.lfilter([1.0], [1.0, -alike], shocks)

    assert alike_neighbours(values, alike) == pytest.approx(expected, abs=1e-12)
    assert alike_neighbours([values, values], alike)[1] == pytest.approx(expected, abs=1e-12)
    assert alike_neighbours(values, 0.0).tolist() == values
