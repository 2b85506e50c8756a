"""Steps against two least-squares lines fitted by numpy, place by place, and by the laws that steps must keep."""

from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from gaugebook.pipeline.statistics.sensor_faults import noise
from gaugebook.pipeline.statistics.steps import steps

TIMES = 60.0 * np.arange(120)


@cache
def weights(rows, before):
    """What each of so many evenly spaced rows counts for in the value of their least-squares line half a row off."""
    x = np.arange(rows) - (rows - 0.5 if before else -0.5)
    return np.linalg.pinv(np.column_stack([np.ones(rows), x]))[0]


def line(y, before):
    """Value of the line through some values, half a row after the last or before the first, and its variance."""
    of_rows = weights(len(y), before)
    return of_rows @ y, of_rows @ of_rows


def squares(x, y):
    """Sum of squares about the least-squares line, about the mean where there are fewer than three values."""
    return float(((y - np.polyval(np.polyfit(x, y, 1 if len(x) > 2 else 0), x)) ** 2).sum())


def by_least_squares(t, y, side, least, least_z):
    """The same steps by the definition: time, its uncertainty, size and z of each, nothing summed up beforehand."""
    sigma = noise(y)
    size, z = np.zeros(y.size), np.zeros(y.size)
    for place in range(3, y.size - 2):
        (before, h0), (after, h1) = line(y[max(0, place - side) : place], True), line(y[place : place + side], False)
        size[place] = abs(after - before)
        z[place] = size[place] / (sigma[place] * np.sqrt(h0 + h1))
    free, found = (size > least) & (z > least_z), []
    while free.any():
        place = int(np.argmax(np.where(free, size, 0.0)))
        free[max(0, place - 2 * side) : place + 2 * side + 1] = False
        x, v = t[max(0, place - side) : place + side], y[max(0, place - side) : place + side]
        about = np.array([squares(x[:cut], v[:cut]) + squares(x[cut:], v[cut:]) for cut in range(1, x.size)])
        variance = max(sigma[place] ** 2, about.min() / (x.size - 4))  # two levels and two slopes are fitted
        likelihood = np.exp(-(about - about.min()) / (2 * variance))
        cut, middles = int(likelihood.argmax()) + 1, (x[1:] + x[:-1]) / 2
        if not 3 <= cut <= x.size - 3:
            continue
        at = middles[cut - 1]
        spread_of_place = np.average((middles - at) ** 2, weights=likelihood)
        (before, h0), (after, h1) = line(v[:cut], True), line(v[cut:], False)
        u_time = np.sqrt(spread_of_place + (x[cut] - x[cut - 1]) ** 2 / 12)  # and the rectangle of one interval
        step = (at, u_time, after - before, (after - before) / np.sqrt(variance * (h0 + h1)))
        if abs(step[2]) > least and abs(step[3]) > least_z:
            found.append(step)
    return sorted(found)


def drawn(seed, jumps, slope=0.02, rows=120, scatter=0.1):
    """Noise on a slope, with a jump of so much from each of some rows on."""
    values = np.random.default_rng(seed).normal(slope * np.arange(rows), scatter)
    for row, size in jumps.items():
        values[row:] += size
    return values


def as_told(t, y, side, least, least_z):
    """What is compared of the steps that are found."""
    return [(step.time_s, step.u_time_s, step.size, step.z) for step in steps(t, y, side, least, least_z)]


@pytest.mark.parametrize(("size", "least", "least_z"), [(0.8, 0.3, 5.0), (0.42, 0.2, 3.0)])
@pytest.mark.parametrize("at", [4, 6, 9, 12, 16, 104, 108, 111, 114, 116])
def test_steps_near_an_end_are_those_of_two_least_squares_lines(at, size, least, least_z):
    """There the lines of one side rest on few values, and their spread is greater: it hides no faint step beside."""
    found = []
    for seed in range(25):
        values = drawn(seed, {at: size})
        expected = by_least_squares(TIMES, values, 8, least, least_z)
        told = as_told(TIMES, values, 8, least, least_z)
        assert told == [approx(step, rel=1e-6) for step in expected]
        found += told
    assert found


@pytest.mark.parametrize("side", [3, 5, 8, 12])
@pytest.mark.parametrize(
    "jumps",
    [{60: 1.0}, {40: 0.5, 80: -0.7}, {4: 2.0, 116: 1.0}, {6: -1.0, 60: 0.4}, {50: 1.0, 62: 1.0}, {50: 1.0, 67: -2.0},
     {40: 0.6, 57: 0.6, 75: 0.8}, {3: 1.5, 117: -1.5}, {60: 0.7}],
)  # fmt: skip
def test_steps_are_those_of_two_least_squares_lines(side, jumps):
    """Time, uncertainty of the time, size and z of every step are those of lines fitted by numpy at every place."""
    together = 0
    for seed in range(4):
        values = drawn(seed, jumps)
        expected = by_least_squares(TIMES, values, side, 0.3, 5.0)
        found = as_told(TIMES, values, side, 0.3, 5.0)
        assert found == [approx(step, rel=1e-6) for step in expected]
        together += len(found)
    assert together or side == 3  # three values on each side show no faint step


def test_six_standard_uncertainties_are_asked_for_where_nothing_is_said():
    """The default tells steps of more than six of their own uncertainties, and none below."""
    every = [step for seed in range(60) for step in steps(TIMES, drawn(seed, {60: 0.55}), 8, 0.3, 3.0)]
    told = [step for seed in range(60) for step in steps(TIMES, drawn(seed, {60: 0.55}), 8, 0.3)]

    assert min(abs(step.z) for step in told) > 6.0
    assert any(6.0 < abs(step.z) < 7.0 for step in told)
    assert any(step.z < 6.0 for step in every) and len(told) < len(every)


def test_a_clean_step_has_the_uncertainty_of_one_interval():
    """Where no other place is likely the time lies within one interval: 60 s / sqrt 12 = 17.32 s."""
    (found,) = steps(TIMES, drawn(1, {60: 50.0}), 8, 1.0)

    assert found.time_s == 59.5 * 60.0
    assert found.u_time_s == approx(60.0 / np.sqrt(12.0), rel=1e-9)


@pytest.mark.parametrize(("apart", "told"), [(8, 1), (20, 2)])
def test_neighbours_within_a_window_are_one(apart, told):
    """With eight values on each side the greater hides what lies eight rows off, and nothing twenty rows off."""
    assert len(steps(TIMES, drawn(2, {50: 8.0, 50 + apart: 4.0}), 8, 1.0)) == told
    assert len(steps(TIMES, drawn(2, {50: 4.0, 50 + apart: 8.0}), 8, 1.0)) == told


@pytest.mark.parametrize(("rows", "told"), [(16, 0), (17, 1)])
def test_a_series_needs_two_sides_and_one_value(rows, told):
    """Eight values on each side and one more; values that are missing do not count."""
    values = drawn(3, {8: 20.0}, rows=rows)

    assert len(steps(TIMES[:rows], values, 8, 1.0)) == told
    assert len(steps(TIMES[: rows + 3], np.append(values, [np.nan] * 3), 8, 1.0)) == told


def test_a_window_with_a_gap_has_no_step():
    """Nothing is told beside a missing value, and everything that is a window away from it."""
    values = drawn(4, {40: 5.0, 80: 5.0})
    values[41] = np.nan

    assert [step.time_s for step in steps(TIMES, values, 8, 1.0)] == [79.5 * 60.0]
    assert steps(TIMES, np.full(120, np.nan), 8, 1.0) == []


def test_the_last_digit_of_a_sensor_is_no_step():
    """A series of two values only has moved by one digit, whose rounding has a standard uncertainty of 34 / sqrt 12."""
    assert steps(TIMES, np.where(np.arange(120) < 30, 12.0, 46.0), 8, 1.0) == []


@given(st.floats(-50.0, 50.0), st.floats(0.1, 20.0))
def test_unit_and_level_change_nothing(level, scale):
    """Times stay, sizes go with the unit, z is without one."""
    plain = steps(TIMES, drawn(5, {40: 1.0, 80: -1.5}), 8, 0.3)
    other = steps(TIMES, level + scale * drawn(5, {40: 1.0, 80: -1.5}), 8, 0.3 * scale)

    assert [step.time_s for step in other] == [step.time_s for step in plain]
    assert [step.size for step in other] == approx([scale * step.size for step in plain], rel=1e-6)
    assert [step.z for step in other] == approx([step.z for step in plain], rel=1e-6)
