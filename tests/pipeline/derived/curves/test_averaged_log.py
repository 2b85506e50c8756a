"""A log made even: counters that were set back, counts made a flow, and what a run has before its first drop."""

import numpy as np
import pytest

from gaugebook.pipeline.derived.curves.averaged_log import (
    Course,
    _between_counts,
    _flow_of_counter,
    _unwound,
    course_of,
)
from gaugebook.pipeline.derived.curves.records import Circumstances
from gaugebook.pipeline.statistics.log_cleaning import CleanLog

NAN = np.nan


def minutes(count):
    return 60.0 * np.arange(count)


def test_a_counter_that_is_set_back_goes_on_from_where_it_was():
    """20 L were counted when it was set back to nothing, 5 more when it was again; each time half way between rows."""
    whole, resets = _unwound(minutes(6), np.array([0.0, 10.0, 20.0, 0.0, 5.0, 2.0]))

    assert whole.tolist() == [0.0, 10.0, 20.0, 20.0, 25.0, 27.0]
    assert resets == [150.0, 270.0]


def test_rows_without_a_count_stay_so():
    """The counter was set back between the last row before them and the first after."""
    whole, resets = _unwound(minutes(5), np.array([10.0, 20.0, NAN, NAN, 3.0]))

    assert whole == pytest.approx([10.0, 20.0, NAN, NAN, 23.0], nan_ok=True)
    assert resets == [150.0]


@pytest.mark.parametrize("counter", [[0.0, 10.0, 5.0, 6.0], [0.0, -1.0, 0.0, 1.0], [0.0, 1.0, 2.0, 3.0]])
def test_what_falls_to_half_or_from_nothing_was_not_set_back(counter):
    """A count that falls by less is a matter of the sensor."""
    whole, resets = _unwound(minutes(4), np.array(counter))

    assert (whole.tolist(), resets) == (counter, [])


def test_whole_counts_are_joined_by_a_line():
    """It moves between the third and fourth row and between the fifth and sixth: between them it ran evenly."""
    line = _between_counts(minutes(8), np.array([0.0, 0.0, 0.0, 1.0, 1.0, NAN, 2.0, 2.0]))

    # 1 L in the 180 s from the fourth row to the seventh
    assert line == pytest.approx([0.0, 0.0, 0.0, 1.0, 1.0 + 60 / 180, NAN, 2.0, 2.0], nan_ok=True)
    assert _between_counts(minutes(3), np.array([4.0, 4.0, 4.0])).tolist() == [4.0, 4.0, 4.0]


def test_the_flow_of_a_counter_is_nought_where_it_rests_on_one_side():
    """2 L in two minutes are 60 L/h; where it rested before or rests after, nothing ran; rows at any distance."""
    assert _flow_of_counter(minutes(5), np.array([0.0, 0.0, 1.0, 2.0, 2.0])).tolist() == [0.0, 0.0, 60.0, 0.0, 0.0]
    uneven = _flow_of_counter(np.array([0.0, 60.0, 120.0, 240.0]), np.array([0.0, 1.0, 2.0, 4.0]))
    assert uneven == pytest.approx([0.0, 60.0, 60.0, 0.0])
    missing = _flow_of_counter(minutes(5), np.array([0.0, 1.0, NAN, 3.0, 4.0]))
    assert missing == pytest.approx([0.0, 60.0, NAN, 60.0, 0.0], nan_ok=True)
    assert np.isnan(_flow_of_counter(minutes(3), np.array([0.0, NAN, 1.0]))).all()  # two counts are no course


def log_of(**values):
    """A run of an hour: 20 minutes of heating, then 36 L until the fifty-sixth minute, at 80 % vol and 20 °C."""
    row = np.arange(61)
    runs = (row > 20) & (row < 57)
    whole = {
        "distillate_flow_l_h": np.where(runs, 60.0, 0.0), "pot_temperature_c": 20.0 + 3.0 * np.minimum(row, 20),
        "parrot_strength_pct_vol": np.full(61, 80.0), "parrot_temperature_c": np.full(61, 20.0),
    }  # fmt: skip
    logged = {tag: series for tag, series in (whole | values).items() if series is not None}
    return CleanLog(minutes(61), 60.0, logged, {}, ())


def test_a_strength_counts_while_distillate_runs():
    """The parrot holds what ran last before it and after it; 20 °C are those of its scale."""
    course, when = course_of(log_of(), Circumstances(u_strength_pct_vol=0.15, u_temperature_c=0.0))

    assert (when.first_drop_s, when.end_s) == (1230.0, 3390.0)
    assert course.strength[21:57] == pytest.approx(80.0)
    assert np.isnan(course.strength[:21]).all() and np.isnan(course.strength[57:]).all()
    assert course.u_strength[21:57] == pytest.approx(0.15)
    assert course.total.volume_l[-1] == pytest.approx(36.0)  # 35 minutes in full, and half of one on either side
    assert course.resets_s == []


def test_a_run_that_goes_on_to_the_last_row_has_its_strength_there():
    """The log ends while distillate runs."""
    course, when = course_of(log_of(distillate_flow_l_h=np.where(np.arange(61) > 20, 60.0, 0.0)), Circumstances())

    assert when.end_s == 3600.0
    assert np.isfinite(course.strength[-1])


def test_a_counter_stands_in_for_a_flow_that_is_not_logged():
    """36 counts of a litre, set back after the twentieth: what was counted is what ran."""
    row = np.arange(61)
    counted = np.clip(row - 20.0, 0.0, 36.0)
    counter = np.where(counted > 20, counted - 20, counted)
    course, when = course_of(log_of(distillate_flow_l_h=None, collected_volume_l=counter), Circumstances())

    assert course.total.volume_l[-1] - course.total.volume_l[0] == pytest.approx(36.0)
    assert course.series("distillate_flow_l_h")[30] == pytest.approx(60.0)
    assert course.resets_s == [2430.0]  # between the fortieth minute and the next
    assert abs(when.first_drop_s - 1230.0) <= 60.0
    still = course_of(log_of(distillate_flow_l_h=np.zeros(61), collected_volume_l=counter), Circumstances())[0]
    assert still.total.volume_l[-1] == pytest.approx(course.total.volume_l[-1])


def test_a_flow_that_is_logged_goes_before_a_counter():
    """Of half as much the counter says nothing where the flow has no gap."""
    counter = np.clip(np.arange(61) - 20.0, 0.0, 36.0) / 2
    course, _ = course_of(log_of(collected_volume_l=counter), Circumstances())

    assert course.total.volume_l[-1] == pytest.approx(36.0)


@pytest.mark.parametrize(("known", "has_total"), [(0, False), (1, False), (2, True)])
def test_one_flow_alone_adds_up_to_nothing(known, has_total):
    """Two are the least."""
    flow = np.full(61, NAN)
    flow[30 : 30 + known] = 60.0
    course, _ = course_of(log_of(distillate_flow_l_h=flow), Circumstances())

    assert (course.total is not None) == has_total


def test_a_time_known_to_the_row_is_a_rectangle():
    """Rows of a minute, one of them late: 60 s / sqrt(12) (JCGM 100:2008, 4.3.7); a fine log is averaged to 15 s."""
    course = Course(np.array([0.0, 60.0, 120.0, 200.0]), {}, np.full(4, NAN), np.full(4, NAN), None, [])
    fine = CleanLog(np.arange(601.0), 1.0, {"pot_temperature_c": np.full(601, 20.0)}, {}, ())

    assert course.interval_s == 60.0
    assert course.u_row_s == pytest.approx(60.0 / 12**0.5)
    assert np.isnan(course.series("pot_temperature_c")).tolist() == [True] * 4
    assert course_of(fine, Circumstances())[0].interval_s == pytest.approx(15.0)
