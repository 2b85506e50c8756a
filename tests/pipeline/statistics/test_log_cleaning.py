"""Sensors judged by themselves, and the log as a whole."""

import numpy as np
import pytest
from scipy.stats import linregress

from gaugebook.pipeline.statistics.log_cleaning import MEASURED, MISSING, SATURATED, SPIKE, STUCK, UNCLEAR, clean
from gaugebook.pipeline.statistics.sensor_faults import noise, spikes, standing_still

ROWS = 480
TIMES = 60.0 * np.arange(ROWS)


@pytest.fixture
def live():
    """A thermometer that rises by 6 K in eight hours, with a noise of 0.1 K, to one decimal."""
    return np.round(90.0 + 6.0 * np.arange(ROWS) / ROWS + np.random.default_rng(4).normal(0.0, 0.1, ROWS), 1)


def test_noise_is_that_of_the_generator_and_takes_no_notice_of_a_slope(live):
    """Within the fifth that it is on the safe side by, and rounding."""
    assert float(np.median(noise(live))) == pytest.approx(0.1, rel=0.35)
    assert noise(live + 0.2 * np.arange(ROWS)) == pytest.approx(noise(live))


def test_a_live_sensor_is_left_alone(live):
    """No finding, and every value is kept as it was."""
    log = clean(TIMES, {"pot": live})

    assert log.findings == ()
    assert log.values["pot"].tolist() == live.tolist()
    assert (log.states["pot"] == MEASURED).all()


@pytest.mark.parametrize("size", [3.0, -3.0, 40.0])
@pytest.mark.parametrize("rows", [1, 2])
def test_a_spike_is_set_aside_and_nothing_put_in_its_place(live, size, rows):
    """Up or down, of one row or two."""
    live[200 : 200 + rows] += size

    log = clean(TIMES, {"pot": live})

    assert [(found.kind, found.first_s) for found in log.findings] == [("spike", 12000.0)]
    assert (log.states["pot"][200 : 200 + rows] == SPIKE).all()
    assert np.isnan(log.values["pot"][200 : 200 + rows]).all()
    assert np.isfinite(np.delete(log.values["pot"], range(200, 200 + rows))).all()


def test_a_step_is_no_spike(live):
    """What stays has happened."""
    live[200:] += 20.0

    assert spikes(live).tolist() == []


def test_a_stuck_sensor_is_timed(live):
    """From the first row of the one value to the last."""
    live[200:260] = live[200]

    (found,) = clean(TIMES, {"pot": live}).findings

    assert (found.kind, found.tag, found.first_s, found.last_s) == ("stuck", "pot", 12000.0, 259 * 60.0)


def test_a_sensor_at_the_end_of_its_scale_is_saturated_not_stuck(live):
    """The value is the greatest of the series, and comes and goes with what is measured."""
    log = clean(TIMES, {"pot": np.minimum(live, 94.0)})

    assert {found.kind for found in log.findings} == {"saturated"}
    assert (log.states["pot"][-60:] == SATURATED).all()
    assert not (log.states["pot"] == STUCK).any()


def test_a_coarse_sensor_may_rest_longer_than_a_fine_one(live):
    """To whole degrees the same sensor repeats itself for long; that is no fault."""
    assert standing_still(np.round(live), TIMES, rests_at_zero=False) == []


def test_nought_is_no_fault_where_nothing_runs(live):
    """A flow rests before the first drop, and a counter before and after."""
    flow = np.where(np.arange(ROWS) < 60, 0.0, live)
    counter = np.concatenate([np.zeros(60), np.cumsum(live[60:400]), np.full(80, np.sum(live[60:400]))])

    assert clean(TIMES, {"flow": flow, "counter": counter}, resting=["flow"], counters=["counter"]).findings == ()
    assert [found.kind for found in clean(TIMES, {"flow": flow}).findings] == ["saturated"]


def test_a_tag_that_is_missing_has_a_gap_of_its_own(live):
    """Where the other tags have values."""
    holed = live.copy()
    holed[100:130] = np.nan

    log = clean(TIMES, {"pot": live, "vapour": holed})

    assert [(found.kind, found.tag, found.size) for found in log.findings] == [("gap", "vapour", 31 * 60.0)]
    assert (log.states["vapour"][100:130] == MISSING).all()


def test_a_gap_is_told_from_a_clock_set_forward(live):
    """By whether the values moved on meanwhile: the pot by 6 K in eight hours."""
    keep = np.r_[0:200, 260:ROWS]
    forward = TIMES + np.where(np.arange(ROWS) >= 200, 3600.0, 0.0)

    (gap,) = clean(TIMES[keep], {"pot": live[keep]}).findings
    step = clean(forward, {"pot": live})

    assert (gap.kind, gap.size) == ("gap", 61 * 60.0)
    assert [(found.kind, found.size) for found in step.findings] == [("clock step", 3600.0)]
    assert step.times_s == pytest.approx(TIMES)


def test_where_nothing_moves_a_gap_says_that_it_may_be_the_clock():
    """A plateau tells no time."""
    plateau = np.round(78.2 + np.random.default_rng(5).normal(0.0, 0.1, ROWS), 1)
    keep = np.r_[0:200, 260:ROWS]

    (found,) = clean(TIMES[keep], {"vapour": plateau[keep]}).findings

    assert found.detail.endswith("nothing in the log tells it from a clock set forward")
    assert found.may_be_clock_step


def test_a_flow_at_one_value_throughout_is_stuck(live):
    """Between two noughts; a set point of the same shape is none."""
    flow = np.where((np.arange(ROWS) >= 60) & (np.arange(ROWS) < 400), 45.0, 0.0)

    log = clean(TIMES, {"flow": flow, "reflux": flow, "pot": live}, ["flow", "reflux"], measured=["flow"])

    assert [(found.kind, found.tag) for found in log.findings] == [("stuck", "flow")]
    assert (log.findings[0].first_s, log.findings[0].last_s) == (3600.0, 399 * 60.0)
    assert not (log.values["flow"] > 0).any()


def test_a_flow_at_one_value_from_the_first_row_to_the_last_is_stuck(live):
    """A log of nothing but the run: no nought, no move that would tell its digit. A set point may stay."""
    same = np.full(ROWS, 30.0)
    log = clean(TIMES, {"flow": same, "reflux": same, "pot": live}, ["flow", "reflux"], measured=["flow"])

    assert [(found.kind, found.tag, found.first_s, found.last_s) for found in log.findings] == [
        ("stuck", "flow", 0.0, 60.0 * (ROWS - 1))
    ]
    assert not np.isfinite(log.values["flow"]).any()


def test_a_coarse_sensor_of_a_steady_process_is_not_stuck():
    """To whole °F, with a noise of 0.08 K: it warms, rests for hours, and cools."""
    steady = np.concatenate([20 + 1.5 * np.arange(54), np.full(2000, 101.0), 101 * np.exp(-np.arange(30) / 50)])
    read = np.random.default_rng(6).normal(steady, 0.08)
    coarse = (np.round(read * 1.8 + 32) - 32) / 1.8

    assert clean(60.0 * np.arange(read.size), {"foot": coarse}).findings == ()


def test_a_coarse_sensor_that_leaps_when_it_comes_back_was_stuck(live):
    """To whole degrees: what it held is left by more than its digit."""
    coarse = np.round(20 + 0.16 * np.arange(ROWS) + live - live.mean())
    coarse[200:330] = coarse[200]

    assert [(found.kind, found.tag) for found in clean(TIMES, {"pot": coarse}).findings] == [("stuck", "pot")]


def told(log):
    """Kind, tag, times and size of every finding."""
    return [(found.kind, found.tag, found.first_s, found.last_s, found.size) for found in log.findings]


def test_what_is_found_after_a_clock_set_forward_has_the_time_of_its_row(live):
    """A spike in row 300 and a gap after row 400 lie where the rows lie once the clock is right, not an hour late."""
    live[300] += 9.0
    forward = TIMES + np.where(np.arange(ROWS) >= 200, 3600.0, 0.0)
    keep = np.r_[0:401, 420:ROWS]

    log = clean(forward[keep], {"pot": live[keep]})

    assert [(kind, first, last) for kind, _, first, last, _ in told(log)] == [
        ("clock step", 199 * 60.0, 199 * 60.0), ("spike", 300 * 60.0, 300 * 60.0), ("gap", 400 * 60.0, 420 * 60.0)
    ]  # fmt: skip
    assert log.times_s == pytest.approx(TIMES[keep])


def test_two_clock_steps_forward_are_each_set_back(live):
    """By an hour and by half an hour."""
    row = np.arange(ROWS)
    log = clean(TIMES + 3600.0 * (row >= 200) + 1800.0 * (row >= 330), {"pot": live + 0.1 * row})

    assert told(log) == [
        ("clock step", None, 199 * 60.0, 199 * 60.0, 3600.0), ("clock step", None, 329 * 60.0, 329 * 60.0, 1800.0)
    ]  # fmt: skip
    assert log.findings[0].detail.startswith("clock set forward by 60.0 min")
    assert log.times_s == pytest.approx(TIMES)


def test_a_clock_set_back_moves_no_other_finding(live):
    """The rows keep their distance from the first: the gap after row 300 lies there."""
    keep = np.r_[0:301, 320:ROWS]
    log = clean((TIMES - 1800.0 * (np.arange(ROWS) >= 100))[keep], {"pot": live[keep]})

    assert [(kind, first, size) for kind, _, first, _, size in told(log)] == [
        ("clock step", 99 * 60.0, -1800.0), ("gap", 300 * 60.0, 20 * 60.0)
    ]  # fmt: skip


def test_spikes_in_one_row_after_the_other_are_one(live):
    """From the first row to the last, by the value that is farthest off; with a good row between they are two."""
    live[100:102] = 99.0, 120.0
    live[[300, 302]] = 60.0

    log = clean(TIMES, {"pot": live})

    assert [(first / 60, last / 60) for _, _, first, last, _ in told(log)] == [(100, 101), (300, 300), (302, 302)]
    around = float(np.median(live[96:106]))  # four rows before and four after
    assert log.findings[0].size == pytest.approx(120.0 - around)
    assert log.findings[0].detail == f"120 among values near {around:g}"
    assert log.findings[1].size == pytest.approx(60.0 - float(np.median(live[296:305])))


def test_a_spike_near_the_beginning_has_the_neighbours_that_there_are(live):
    """Four rows before and four after, of a log that begins four rows before."""
    live[4] = 120.0

    assert clean(TIMES, {"pot": live}).findings[0].size == pytest.approx(120.0 - float(np.median(live[:9])))


@pytest.mark.parametrize("number", [20, 21, 24])
def test_of_very_many_spikes_the_rest_are_told_together(live, number):
    """Twenty one by one, then how many more, from the first of them to the last."""
    places = 20 + 18 * np.arange(number)
    live[places] += 30.0
    rows = 2 if number == 24 else 1  # of the last one
    live[places[-1] : places[-1] + rows] = live[places[-1]]

    found = told(clean(TIMES, {"pot": live}))

    assert len(found) == min(number, 21)
    assert [first for _, _, first, _, _ in found[:20]] == (60.0 * places[:20]).tolist()
    if number > 20:
        assert found[20] == ("spike", "pot", 60.0 * places[20], 60.0 * (places[-1] + rows - 1), number - 20)


def test_a_rest_is_told_with_its_value_and_its_minutes(live):
    """From row 200 to row 259 are 59 min; at the end of the scale that is said."""
    live[200:260] = 93.0
    (stuck,) = clean(TIMES, {"pot": live}).findings
    live[200:260] = 120.0
    (saturated,) = clean(TIMES, {"pot": live}).findings

    assert (stuck.kind, stuck.size, stuck.detail) == ("stuck", 59.0, "93 for 59 min")
    assert (saturated.kind, saturated.detail) == ("saturated", "120 for 59 min, the end of its scale")


def test_a_tag_without_any_value_has_no_finding(live):
    """Nothing is said of it, and every value is missing."""
    log = clean(TIMES, {"pot": live, "vapour": np.full(ROWS, np.nan)})

    assert log.findings == () and (log.states["vapour"] == MISSING).all()
    assert np.isnan(log.values["vapour"]).all()


@pytest.mark.parametrize(("missing", "is_gap"), [(2, False), (3, True)])
def test_a_tag_may_miss_as_many_rows_as_a_log(live, missing, is_gap):
    """Three and a half intervals; a gap of the whole log is told once, for the log."""
    other = live.copy()
    live[100 : 100 + missing] = np.nan

    assert told(clean(TIMES, {"pot": live, "other": other})) == (
        [("gap", "pot", 99 * 60.0, (100 + missing) * 60.0, (missing + 1) * 60.0)] if is_gap else []
    )
    keep = np.delete(np.arange(ROWS), range(200, 220))
    holed = live[keep].copy()
    of_log = [one for one in told(clean(TIMES[keep], {"pot": holed, "o": other[keep]})) if one[2] == 199 * 60.0]
    assert [(kind, tag) for kind, tag, *_ in of_log] == [("gap", None)]


def moved_on(share, gap_s=3600.0, rows=60, slope=0.01, scatter=0.01, seed=1):
    """A series that rises before and after a gap, and over it by so much of what it would have in that time."""
    noise_ = np.random.default_rng(seed).normal(0.0, scatter, 2 * rows)
    times = np.concatenate([60.0 * np.arange(rows), 60.0 * (rows - 1) + gap_s + 60.0 * np.arange(rows)])
    steady = 60.0 * slope * np.arange(2 * rows) + np.where(np.arange(2 * rows) < rows, 0.0, share * slope * gap_s)
    return times, steady + noise_


@pytest.mark.parametrize(("share", "kind"), [(-0.3, "clock step"), (0.3, "clock step"), (0.4, "gap"), (-0.4, "gap"),
                                             (1.0, "gap"), (0.0, "clock step")])  # fmt: skip
def test_time_has_passed_where_a_third_of_what_was_expected_has_happened(share, kind):
    """Less than 0.35 of it, either way: the clock was set forward."""
    times, values = moved_on(share)
    (found,) = clean(times, {"pot": values}).findings

    assert found.kind == kind
    assert found.size == (3600.0 if kind == "gap" else 3540.0)


@pytest.mark.parametrize(("gap_s", "kind"), [(600.0, "gap"), (660.0, "clock step")])
def test_gaps_of_ten_minutes_are_no_clock(gap_s, kind):
    """Nobody sets a clock by so little."""
    times, values = moved_on(0.0, gap_s)

    assert [found.kind for found in clean(times, {"pot": values}).findings] == [kind]


@pytest.mark.parametrize(("rows", "is_told"), [(7, False), (8, True)])
def test_eight_values_on_each_side_tell_where_a_series_was_going(rows, is_told):
    """With fewer before the gap, or after it, nothing tells a clock from a gap."""
    times, values = moved_on(0.0)
    for some in (slice(60 - rows, None), slice(None, 60 + rows)):
        (found,) = clean(times[some], {"pot": values[some]}).findings
        assert (found.kind == "clock step") == is_told
        assert found.detail.endswith(UNCLEAR) == (not is_told)


def test_only_the_half_hour_on_either_side_counts():
    """What a series did 31 min before the gap and 31 min after it is not what it was doing at the gap."""
    times, values = moved_on(0.0)
    bent = values.copy()
    bent[:28] += 5.0 * np.arange(28)[::-1]
    bent[92:] -= 5.0 * np.arange(28)

    assert [found.kind for found in clean(times, {"pot": bent}).findings] == ["clock step"]


def verdict(times, columns, row):
    """By scipy's lines through half an hour on each side: what moved against what should have, in standard deviations,
    by least squares over the series. True: nothing moved; None: nothing should have moved far enough to tell."""
    gap, moved, expected = times[row + 1] - times[row], [], []
    for y in columns:
        sides = []
        for rows, edge in (((times <= times[row]) & (times >= times[row] - 1800.0), times[row]),
                           ((times > times[row]) & (times <= times[row + 1] + 1800.0), times[row + 1])):  # fmt: skip
            fit = linregress(times[rows] - edge, y[rows])
            left = y[rows] - fit.intercept - fit.slope * (times[rows] - edge)
            sides.append((fit.slope, fit.intercept, np.sqrt(np.mean(left**2)), np.median(noise(y[rows])), rows.sum()))
        (s0, level0, bent0, noise0, n0), (s1, level1, bent1, noise1, n1) = sides
        sigma = max(noise0, noise1)
        spread = np.hypot(2 * max(sigma, bent0) / np.sqrt(n0), 2 * max(sigma, bent1) / np.sqrt(n1))
        slope = min(s0, s1, key=abs) if s0 * s1 > 0 else 0.0
        moved.append((level1 - level0 - slope * 60.0) / spread)
        expected.append(slope * gap / spread)
    moved, expected = np.array(moved), np.array(expected)
    if np.linalg.norm(expected) <= 8.0:
        return None
    return bool(abs(moved @ expected) < 0.35 * (expected @ expected))


@pytest.mark.parametrize("tags", [1, 2, 3])
def test_all_series_together_tell_a_gap_from_a_clock(tags):
    """Sixty logs whose series are as noisy as they move: the verdict is that of lines fitted by scipy."""
    kinds = []
    for seed in range(60):
        rng = np.random.default_rng(seed)
        share, columns = rng.uniform(-0.2, 1.0), []
        for tag in range(tags):
            times, values = moved_on(
                share, 3600.0, 50, rng.choice([-1, 1]) * 10 ** rng.uniform(-4.5, -3.0), 0.4, seed + tag
            )
            columns.append(values + (0.03 * np.arange(100) if tag == 2 else 0.0))
        expected = verdict(times, columns, 49)
        (found,) = clean(times, {f"tag {n}": values for n, values in enumerate(columns)}).findings
        kinds.append(expected)
        assert (found.kind == "clock step") == (expected is True)
        assert found.detail.endswith(UNCLEAR) == (expected is None)
    assert {None, False, True} == set(kinds)


def test_a_fast_log_tells_by_some_of_its_rows():
    """Every second there are 1800 rows in half an hour; forty to eighty of them are enough."""
    rows = np.arange(8000)
    values = 80.0 + 0.001 * rows + np.random.default_rng(2).normal(0.0, 0.02, 8000)
    log = clean(rows + np.where(rows >= 4000, 3600.0, 0.0), {"pot": values})

    assert [(found.kind, found.size) for found in log.findings] == [("clock step", 3600.0)]
    assert log.times_s == pytest.approx(rows)


@pytest.mark.parametrize("tag", ["stuck", "gap"])
def test_minutes_across_a_clock_set_forward_are_those_that_passed(live, tag):
    """A sensor that shows one value, or none, from row 150 to row 250 does so for 100 min, whatever the clock said."""
    row = np.arange(ROWS)
    other = live + 0.0
    other[150:251] = other[150] if tag == "stuck" else np.nan
    log = clean(TIMES + 3600.0 * (row >= 200), {"pot": live + 0.1 * row, "vapour": other})

    [found] = [found for found in log.findings if found.kind == tag]
    minutes = 100.0 if tag == "stuck" else 102.0 * 60.0  # of a gap seconds, from the value before to the one after
    assert found.tag == "vapour" and found.size == pytest.approx(minutes)
    assert f"for {100 if tag == 'stuck' else 102}" in found.detail
