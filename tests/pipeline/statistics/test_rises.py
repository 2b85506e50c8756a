"""The one-sided cumulative sum: where a series rose, worked out by hand and by the handbook's chart."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.statistics.cusum import cusum_chart
from gaugebook.pipeline.statistics.rises import Rise, rises


@pytest.mark.parametrize(
    ("values", "expected"),
    # sums with the allowance of 0.5 behind each
    [
        ([5.5], []), ([5.6], [Rise(0, 0, 0)]), ([5.2], []),  # 5.0 reaches 5 and does not pass it; 5.1; 4.7
        ([6.0, -9.0, 0.0], [Rise(0, 0, 0)]),  # 5.5, 0
        ([0.0, 3.0, 4.0, 3.0], [Rise(1, 2, 3)]),  # 0, 2.5, 6, 8.5: goes on to the end
        ([0.0, 3.0, 4.0, 0.0], [Rise(1, 2, 2)]),  # 0, 2.5, 6, 5.5: greatest in place 2, and has not come back
        ([1.0, -2.0, 3.0, 4.0, -9.0, 0.0, 7.0], [Rise(2, 3, 3), Rise(6, 6, 6)]),  # 0.5, 0, 2.5, 6, 0, 0, 6.5
        ([6.0, -5.5, 3.0, 3.5, -9.0], [Rise(0, 0, 0), Rise(2, 3, 3)]),  # 5.5, 0 (-0.5), 2.5, 5.5, 0
        ([], []), ([0.4] * 9, []),
    ],
)  # fmt: skip
def test_rises_worked_out_by_hand(values, expected):
    """A rise begins after the last nought, is one where the sum passes five, and ends where the sum was greatest."""
    assert rises(values) == expected


def test_a_small_rise_after_a_great_one_has_its_own_end():
    """With a decision value of 0.3: 5.5, 0, 0.7, 0."""
    assert rises([6.0, -9.0, 1.2, -3.0], 0.5, 0.3) == [Rise(0, 0, 0), Rise(2, 2, 2)]


@given(st.lists(st.floats(-3.0, 4.0), max_size=40), st.floats(0.0, 1.0), st.floats(0.5, 5.0))
def test_rises_are_those_of_the_cumulative_sum(values, allowance, decision):
    """Every place where the upper sum of NIST/SEMATECH 6.3.2.3 is beyond lies within a rise, and no rise is without."""
    high = cusum_chart(values, 0.0, allowance, decision).high
    found = rises(values, allowance, decision)

    for place in np.flatnonzero(high > decision):
        assert sum(rise.first <= place and rise.signal <= place for rise in found) >= 1
    for rise in found:
        assert high[rise.signal] > decision and not (high[rise.first : rise.signal] > decision).any()
        assert rise.first == 0 or high[rise.first - 1] == 0.0
        assert high[rise.last] == high[rise.first : rise.last + 1].max() and (high[rise.first : rise.last] > 0).all()


def test_a_gap_has_no_sum():
    """It must be left out."""
    with pytest.raises(ValueError, match="leave the gaps out"):
        rises([1.0, np.nan])
