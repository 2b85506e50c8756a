"""Sensors judged by themselves, and the log as a whole."""

import numpy as np
import pytest

from gaugebook.pipeline.statistics.log_cleaning import MEASURED, MISSING, SATURATED, SPIKE, STUCK, clean
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
