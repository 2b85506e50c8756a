"""Averages of a fine log, and the places that a drawing must keep."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.statistics.thinning import averaged, extremes


def test_every_stretch_has_the_mean_of_its_rows():
    """Of 10 s each: rows at 5, 8, 14 s are of the first, 15 to 24 s of the second; without a row there is none."""
    times, means = averaged([5.0, 8.0, 14.0, 15.0, 18.0, 35.0, 38.0], {"pot": [1, 2, 6, 10, 20, 30, 50]}, 10.0)

    assert times.tolist() == [9.0, 16.5, 36.5]
    assert means["pot"].tolist() == [3.0, 15.0, 40.0]


def test_what_is_missing_is_left_out_of_the_mean():
    """Of one tag alone; a stretch without a value has none."""
    nan = float("nan")
    times, means = averaged([0.0, 1.0, 2.0, 3.0], {"pot": [1.0, nan, nan, nan], "head": [1.0, 3.0, 5.0, 9.0]}, 2.0)

    assert times.tolist() == [0.5, 2.5]
    assert means["pot"][0] == 1.0 and np.isnan(means["pot"][1])
    assert means["head"].tolist() == [2.0, 7.0]


@pytest.mark.parametrize(("step_s", "rows"), [(90.0, 6), (91.0, 4)])
def test_a_log_that_is_not_much_finer_comes_back_as_it_is(step_s, rows):
    """Up to one and a half intervals."""
    times, means = averaged(60.0 * np.arange(6), {"pot": np.arange(6.0)}, step_s)

    assert times.size == means["pot"].size == rows


def test_one_row_is_its_own_mean_and_two_are_averaged():
    """And no row at all stays none."""
    assert averaged([7.0], {"pot": [3.0]}, 60.0)[1]["pot"].tolist() == [3.0]
    assert averaged([], {"pot": []}, 60.0)[0].size == 0
    assert averaged([7.0, 8.0], {"pot": [3.0, 5.0]}, 60.0)[1]["pot"].tolist() == [4.0]


@given(st.lists(st.tuples(st.integers(0, 6), st.integers(-5, 5)), max_size=40))
def test_extremes_hold_the_least_and_the_greatest_of_each_stretch(rows):
    """And no more than two places of it, in order of time."""
    rows = sorted(rows, key=lambda row: row[0])
    stretch, values = np.array([row[0] for row in rows]), np.array([row[1] for row in rows])
    found = extremes(values, stretch)

    assert found.tolist() == sorted(set(found.tolist()))
    for number in set(stretch.tolist()):
        own, kept = values[stretch == number], [n for n in found if stretch[n] == number]
        assert {values[n] for n in kept} == {own.min(), own.max()} and len(kept) <= 2
