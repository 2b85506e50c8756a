"""Times of a log put in order: each fault found and timed, and a good log left alone."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from gaugebook.pipeline.statistics.log_times import laid_out, runs_forward

MINUTES = 60.0 * np.arange(120)


def kinds(times):
    """Kind and times of each finding."""
    return [(found.kind, found.first_s, found.last_s) for found in laid_out(times).findings]


@given(interval=st.floats(0.5, 600.0), rows=st.integers(3, 300))
def test_an_even_log_has_no_finding_and_keeps_every_row(interval, rows):
    """Whatever the interval."""
    log = laid_out(interval * np.arange(rows))

    assert log.findings == ()
    assert log.rows.tolist() == list(range(rows))


def test_up_to_three_missing_rows_are_no_gap_and_four_are():
    """The limit is three and a half intervals."""
    assert kinds(np.delete(MINUTES, [50, 51])) == []
    assert kinds(np.delete(MINUTES, [50, 51, 52])) == [("gap", 2940.0, 3180.0)]


def test_a_clock_set_back_is_set_forward_again():
    """The rows keep the order in which they were written and their distance in time."""
    times = np.where(np.arange(120) > 40, MINUTES - 3600.0, MINUTES)

    log = laid_out(times)

    assert [(found.kind, found.first_s, found.size) for found in log.findings] == [("clock step", 2400.0, -3600.0)]
    assert log.times_s == pytest.approx(MINUTES)
    assert log.rows.tolist() == list(range(120))


def test_a_stray_row_is_sorted_in():
    """One row that comes late is no clock that was set back."""
    order = np.r_[0:50, 51, 50, 52:120]

    log = laid_out(MINUTES[order])

    assert [found.kind for found in log.findings] == ["irregular sampling"]
    assert log.rows.tolist() == np.argsort(order).tolist()


@given(order=st.randoms(use_true_random=False).map(lambda rng: rng.sample(range(120), 120)))
def test_rows_in_no_order_are_the_log_that_they_were(order):
    """They say nothing of a clock, and their interval is that of the rows in order of time."""
    assume(not runs_forward(MINUTES[order]) and not runs_forward(MINUTES[order][::-1]))

    log = laid_out(MINUTES[order])

    assert (log.times_s.tolist(), log.interval_s, log.findings) == (MINUTES.tolist(), 60.0, ())
    assert MINUTES[order][log.rows].tolist() == MINUTES.tolist()


def test_gaps_of_rows_newest_first_are_those_of_the_log():
    """A gap is a gap whichever end of the log was written first."""
    holed = np.delete(MINUTES, range(50, 60))[::-1]

    assert kinds(holed) == [("gap", 2940.0, 3600.0)]


def test_gaps_of_shuffled_rows_are_those_of_the_log():
    """And so are duplicates and uneven rows."""
    rng = np.random.default_rng(1)
    holed = np.delete(MINUTES, range(50, 60))

    assert kinds(rng.permutation(holed)) == [("gap", 2940.0, 3600.0)]
    assert kinds(rng.permutation(np.append(MINUTES, 600.0))) == [("duplicate", 600.0, 600.0)]


def test_several_steps_back_are_each_a_clock_set_back():
    """Of a log that runs forward otherwise."""
    times = MINUTES - 1800.0 * (np.arange(120) > 40) - 900.0 * (np.arange(120) > 80)

    log = laid_out(times)

    assert [(found.kind, found.size) for found in log.findings] == [("clock step", -1800.0), ("clock step", -900.0)]
    assert log.times_s == pytest.approx(MINUTES)


def test_of_rows_with_one_time_the_first_is_kept():
    """And the others are counted."""
    log = laid_out([0.0, 60.0, 60.0, 60.0, 120.0, 180.0])

    assert [(found.kind, found.size) for found in log.findings] == [("duplicate", 2.0)]
    assert log.rows.tolist() == [0, 1, 4, 5]


def test_uneven_rows_are_told_with_their_share():
    """More than a quarter of the interval early or late, in more than one row of twenty."""
    late = np.where(np.arange(120) % 4 == 0, 25.0, 0.0)

    (found,) = laid_out(MINUTES + late).findings

    assert (found.kind, round(found.size, 1)) == ("irregular sampling", 0.5)


@given(st.lists(st.floats(0.0, 1e6), min_size=3, max_size=60))
def test_any_times_come_out_in_order(times):
    """Rows kept stand in order of time, none of them twice."""
    log = laid_out(times)

    assert (np.diff(log.times_s) > 0).all()
    assert len(set(log.rows.tolist())) == log.rows.size


def test_a_row_without_time_is_refused():
    """It has no place in a log."""
    with pytest.raises(ValueError, match="no time"):
        laid_out([0.0, np.nan, 60.0])
