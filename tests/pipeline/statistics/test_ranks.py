"""Ranks, and what is put together from them and from scipy.special: equal to the slower scipy.stats."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from gaugebook.pipeline.statistics.proportions import TAIL, proportion_limits
from gaugebook.pipeline.statistics.ranks import mean_ranks, sizes_of_ties
from gaugebook.pipeline.statistics.trend_tests import mann_kendall, sen_slope

FEW_VALUES = st.lists(st.integers(-30, 30).map(float), min_size=4, max_size=40)


@given(FEW_VALUES)
def test_ranks_and_ties(values):
    """Ranks are those of scipy.stats.rankdata, and the sizes of ties those of counting by hand."""
    assert mean_ranks(values).tolist() == stats.rankdata(values).tolist()
    assert sizes_of_ties(values).tolist() == [values.count(v) for v in sorted(set(values)) if values.count(v) > 1]


@given(FEW_VALUES, st.integers(0, 999))
def test_ties_do_not_hang_on_the_last_digits(values, which):
    """Values that are equal as written are ties, though the arithmetic that they came by left them 1e-11 apart.

    Rank tests then say the same of a series in whatever unit its values were told.
    """
    written = np.array(values) / 100
    told = written * (1 + 1e-11 * np.random.default_rng(which).uniform(-1, 1, len(values)))

    assert mean_ranks(told).tolist() == stats.rankdata(written).tolist()
    assert sizes_of_ties(told).tolist() == sizes_of_ties(written).tolist()
    assert mann_kendall(told, lags=3) == mann_kendall(written, lags=3)


def test_differences_of_great_values_are_ties_to_the_digits_of_these():
    """Strengths less their labels: 40.06 - 40 and 42.06 - 42 are one value, and so are nought and 1e-10."""
    assert mean_ranks([40.06 - 40.0, 42.06 - 42.0, 0.0, 1e-10, 0.6]).tolist() == [3.5, 3.5, 1.5, 1.5, 5.0]
    assert mean_ranks([3e9, 1.0, 2e9]).tolist() == [3.0, 1.0, 2.0]


@given(FEW_VALUES)
def test_sen_slope_with_its_interval(values):
    """Slope, interval and intercept are those of scipy.stats.theilslopes, with ties in values and in times."""
    assume(len(set(values)) > len(values) / 2)  # with nearly all alike the reference has no variance
    times = np.arange(len(values)) // 2
    found, expected = sen_slope(times, values), stats.theilslopes(values, times)
    assert (found.slope, found.low, found.high, found.intercept) == pytest.approx(
        (expected.slope, expected.low_slope, expected.high_slope, expected.intercept), abs=1e-12
    )


@given(st.integers(1, 5000), st.sampled_from([0.0, 1e-6, 0.01, 0.3, 0.97, 1.0]))
def test_binomial_limits_are_quantiles(size, centre):
    """Limits are the quantiles of scipy.stats.binom."""
    limits = proportion_limits([size], centre)
    assert limits.upper[0] * size == pytest.approx(stats.binom.ppf(1 - TAIL, size, centre), abs=1e-6)
    assert limits.lower[0] * size == pytest.approx(max(stats.binom.ppf(TAIL, size, centre), 0), abs=1e-6)


@pytest.mark.parametrize("scale", [1e-6, 1e-3, 1.0, 1e4, 1e7])
def test_what_is_a_tie_does_not_hang_on_the_unit(scale):
    """Two values apart by 1e-11 of the greatest are one; by 1e-6 of it they are two."""
    values = scale * np.array([3.0, 3.0 + 3e-11, 3.0 + 3e-6, 1.0])

    assert mean_ranks(values).tolist() == [2.5, 2.5, 4.0, 1.0]
