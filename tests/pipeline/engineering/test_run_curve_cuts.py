"""Cuts from what the receivers hold, and the rate at which a run ran then."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.engineering.run_curve import cut_by_receivers, cut_by_volume, rate_at

TIMES = 60.0 * np.arange(301)


@given(
    heads=st.floats(0.5, 50.0), hearts=st.floats(50.0, 400.0), tails=st.floats(5.0, 100.0), factor=st.floats(0.8, 1.2)
)
def test_the_cut_by_receivers_takes_no_notice_of_a_wrong_factor(heads, hearts, tails, factor):
    """A meter that shows more, or a steady loss, leaves the time as it is."""
    running = np.linspace(0.0, factor * (heads + hearts + tails), TIMES.size)

    at, _ = cut_by_receivers(TIMES, running, [heads], [hearts, tails], [0.1], [0.5, 0.3])

    assert at == pytest.approx(TIMES[-1] * heads / (heads + hearts + tails))


def test_a_receiver_that_was_not_gauged_gives_no_cut():
    """No time, rather than a wrong one."""
    assert np.isnan(cut_by_receivers(TIMES, TIMES, [np.nan], [1.0], [0.1], [0.1])).all()


def test_a_rate_is_taken_over_five_minutes():
    """A litre a second that stops at 1000 s: half of that around the stop, all of it 150 s before, none 150 s after."""
    times = np.arange(0.0, 2001.0, 10.0)
    running = np.minimum(times, 1000.0)

    assert rate_at(times, running, [850.0, 1000.0, 1075.0, 1150.0]).tolist() == pytest.approx([1.0, 0.5, 0.25, 0.0])
    assert rate_at(times, times, [0.0, 2000.0]).tolist() == pytest.approx([1.0, 1.0])  # at the ends of the log, too
    assert rate_at([5.0], [7.0], [5.0]).tolist() == [0.0]  # a log of one row has no rate


def test_the_uncertainty_of_a_cut_by_receivers_by_hand():
    """25 ± 1 L before and 75 ± 2 L after; 100 L in an hour, of a counter that began at 500 L.

    GUM 5.1.2 for b / (b + a): hypot(75 x 1, 25 x 2) / 100^2 = 0.0090139 of all, which is 32.45 s.
    """
    at, u = cut_by_receivers(TIMES[:61], 500.0 + np.arange(61) / 0.6, [20.0, 5.0], [75.0], [0.6, 0.8], [2.0])

    assert (at, u) == (pytest.approx(900.0), pytest.approx(0.00901388 * 3600.0, rel=1e-5))


@pytest.mark.parametrize(
    ("running", "before", "after"),
    [
        (TIMES, [0.0], [0.0]),  # nothing was gauged
        (np.zeros(301), [10.0], [10.0]),  # nothing ran
        (TIMES, [np.nan], [10.0]),
        (TIMES, [10.0], [np.inf]),
        (TIMES, [-20.0], [10.0]),  # no vessel holds less than nothing
    ],
)
def test_where_no_part_can_be_told_there_is_no_cut(running, before, after):
    """Neither a time nor an uncertainty, rather than wrong ones."""
    assert np.isnan(cut_by_receivers(TIMES, running, before, after, [0.1], [0.1])).all()


@pytest.mark.parametrize(("is_from_end", "at_s"), [(False, 1800.0), (True, 5400.0)])
def test_a_cut_by_volume_is_where_so_much_has_run_or_is_still_to_run(is_from_end, at_s):
    """30 of 120 L, a litre a minute, of a counter that began at 500 L: half an hour from an end; 2 L are 2 min."""
    found = cut_by_volume(TIMES[:121], 500.0 + TIMES[:121] / 60.0, 30.0, 2.0, is_from_end=is_from_end)

    assert found == (pytest.approx(at_s), pytest.approx(120.0))


@pytest.mark.parametrize(
    ("passed_l", "u_l", "is_told"),
    [
        (30.0, 2.0, True),
        (4.01, 2.0, True),
        (4.0, 2.0, False),  # within its expanded uncertainty (k = 2) of nothing
        (115.99, 2.0, True),
        (116.0, 2.0, False),  # and of all, 120 L
        (np.nan, 2.0, False),
    ],
)
def test_a_cut_that_may_be_the_begin_or_the_end_is_not_told(passed_l, u_l, is_told):
    """What passed must differ from nothing and from all by more than twice its standard uncertainty."""
    for is_from_end in (False, True):
        found = cut_by_volume(TIMES[:121], 500.0 + TIMES[:121] / 60.0, passed_l, u_l, is_from_end=is_from_end)
        assert np.isnan(found).tolist() == [not is_told] * 2


def test_a_cut_after_a_pause_lies_after_it():
    """Two litres before an hour's pause and two after it, at a litre in half an hour: 2.5 L have run at 2 h 15 min.

    What ran when the pause began is known then, and not again until it ends.
    """
    times, running = 3600.0 * np.array([0.0, 1.0, 2.0, 3.0]), [0.0, 2.0, 2.0, 4.0]

    assert cut_by_volume(times, running, 2.5, 0.1, is_from_end=False)[0] == pytest.approx(2.25 * 3600.0)
    assert cut_by_volume(times, running, 1.5, 0.1, is_from_end=True)[0] == pytest.approx(2.25 * 3600.0)
    assert cut_by_volume(times, running, 2.0, 0.1, is_from_end=False)[0] == pytest.approx(3600.0)
    assert cut_by_receivers(times, running, [2.5], [1.5], [0.1], [0.1])[0] == pytest.approx(2.25 * 3600.0)


def test_a_cut_before_anything_ran_is_the_begin_and_its_uncertainty_unknown():
    """Empty receivers before the cut, and no flow in the first two hours: there is no rate to reckon seconds with."""
    times, running = 3600.0 * np.array([0.0, 1.0, 2.0, 3.0]), [0.0, 0.0, 0.0, 4.0]

    at, u = cut_by_receivers(times, running, [0.0], [4.0], [0.1], [0.1])

    assert at == 0.0
    assert np.isnan(u)
    assert cut_by_receivers(times, running, [4.0], [0.0], [0.1], [0.1])[0] == times[-1]
