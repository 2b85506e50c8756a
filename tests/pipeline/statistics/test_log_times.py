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


def test_what_is_said_of_a_clock_set_back():
    """By how much, and how far into the log."""
    (found,) = laid_out(np.where(np.arange(120) > 40, MINUTES - 3600.0, MINUTES)).findings

    assert found.detail == "clock set back by 60.0 min, 40 min into the log"
    assert found.last_s == 2400.0


@pytest.mark.parametrize(("back", "forward"), [(5, True), (6, False)])
def test_one_step_in_twenty_may_go_back(back, forward):
    """Of a hundred rows five; of few rows three."""
    times = 60.0 * np.arange(100)
    for row in range(back):
        times[10 * row + 5] -= 90.0
    assert runs_forward(times) == forward
    short = np.arange(20.0)
    short[[4, 8, 12]] -= 1.5
    assert runs_forward(short)
    short[16] -= 1.5
    assert not runs_forward(short)


@pytest.mark.parametrize(("rows", "kind"), [(1, "irregular sampling"), (3, "irregular sampling"), (4, "clock step")])
def test_three_rows_behind_their_time_are_out_of_order_and_four_are_a_clock(rows, kind):
    """So many rows come behind the row before them: they are strays, or the clock was set back."""
    times = MINUTES.copy()
    times[50 : 50 + rows] -= 30.0 + 60.0 * rows

    found, *_ = laid_out(times).findings

    assert found.kind == kind
    assert (np.diff(laid_out(times).times_s) > 0).all()


def test_rows_out_of_order_are_counted_and_dated():
    """Two stray rows, from the row before the first to the row before the last."""
    order = np.r_[0:50, 51, 50, 52:80, 81, 80, 82:120]

    (found,) = laid_out(MINUTES[order]).findings

    assert (found.kind, found.first_s, found.last_s, found.size) == ("irregular sampling", 51 * 60.0, 81 * 60.0, 2.0)
    assert found.detail == "2 rows out of the order of time"


@pytest.mark.parametrize(("late", "is_told"), [(6, False), (7, True)])
def test_one_row_in_twenty_may_be_uneven(late, is_told):
    """Each late row makes two uneven intervals: of 240, twelve are one in twenty and fourteen more."""
    times = 60.0 * np.arange(241)
    times[20 : 20 + 20 * late : 20] += 20.0

    found = laid_out(times).findings

    assert [(one.kind, one.first_s, one.last_s) for one in found] == (
        [("irregular sampling", 0.0, 14_400.0)] if is_told else []
    )
    if is_told:
        assert found[0].size == pytest.approx(14 / 240)
        assert found[0].detail.startswith("6 % of the rows come more than a quarter of the interval (60 s)")


@pytest.mark.parametrize(("late_s", "is_told"), [(15.0, False), (15.1, True)])
def test_a_quarter_of_the_interval_is_even(late_s, is_told):
    """15 of 60 s."""
    times = MINUTES + np.where(np.arange(120) % 4 == 0, late_s, 0.0)

    assert bool(laid_out(times).findings) == is_told


@pytest.mark.parametrize(("gap_s", "is_gap"), [(210.0, False), (211.0, True)])
def test_a_gap_is_longer_than_three_and_a_half_intervals(gap_s, is_gap):
    """And does not count as an uneven row."""
    times = np.where(np.arange(120) >= 60, MINUTES + gap_s - 60.0, MINUTES)
    found = laid_out(times).findings

    assert [(one.kind, one.size) for one in found] == ([("gap", gap_s)] if is_gap else [])
    if is_gap:
        assert found[0].detail == "no row for 3.5 min"


def test_duplicates_are_dated_from_the_first_to_the_last():
    """And counted together."""
    log = laid_out(np.sort(np.r_[MINUTES, 600.0, 1200.0, 1200.0]))

    (found,) = log.findings
    assert (found.first_s, found.last_s, found.size) == (600.0, 1200.0, 3.0)
    assert log.times_s.tolist() == MINUTES.tolist()


@pytest.mark.parametrize("times", [[], [5.0], [5.0, 3.0]])
def test_two_rows_tell_nothing(times):
    """They are kept as they are, without an interval."""
    log = laid_out(times)

    assert (log.times_s.tolist(), log.findings) == (times, ()) and np.isnan(log.interval_s)


def test_three_rows_are_a_log():
    """With an interval; and rows of one time only have none."""
    assert laid_out([0.0, 60.0, 120.0]).interval_s == 60.0
    same = laid_out([7.0, 7.0, 7.0, 7.0])
    assert (same.times_s.tolist(), same.findings[0].size) == ([7.0], 3.0) and np.isnan(same.interval_s)


def test_a_duplicate_before_stray_rows_does_not_date_them():
    """The stray rows begin where time went back."""
    order = np.r_[0:11, 10, 11:50, 51, 50, 52:120]

    found = {one.kind: one for one in laid_out(MINUTES[order]).findings}

    assert (found["irregular sampling"].first_s, found["duplicate"].first_s) == (51 * 60.0, 10 * 60.0)
