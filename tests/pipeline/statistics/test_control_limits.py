"""Individuals chart against the handbook's example, its constant and the laws that must hold."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.statistics.control_limits import D2_OF_TWO, individuals_limits, runs_on_one_side

# NIST/SEMATECH e-Handbook 6.3.2.2: ten batches' flow rates; the page prints mean 50.81, mean moving range
# 1.8778, limits 55.8041 and 45.8159, made with d2 = 1.128 (from memory; they recompute to all digits).
FLOW_RATES = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
NUMBERS = st.lists(st.floats(-1e3, 1e3), min_size=2, max_size=40)


def test_handbook_example():
    """The handbook's flow rates give the handbook's limits, to the digits it prints."""
    limits = individuals_limits(FLOW_RATES)
    assert limits.centre == pytest.approx(50.81, abs=0.005)
    assert limits.mean_moving_range == pytest.approx(1.8778, abs=5e-5)
    assert limits.upper == pytest.approx(55.8041, abs=5e-5)
    assert limits.lower == pytest.approx(45.8159, abs=5e-5)
    assert limits.points == 10


def test_constant_is_the_printed_one():
    """d2 for two values is the table's 1.128, which is 2/sqrt(pi) rounded to three decimals."""
    assert round(2 / math.sqrt(math.pi), 3) == D2_OF_TWO


def test_no_range_across_a_gap():
    """A gap adds no moving range: 1, 2, gap, 100, 101 has two ranges of 1."""
    limits = individuals_limits([1.0, 2.0, math.nan, 100.0, 101.0])
    assert limits.mean_moving_range == 1.0
    assert limits.points == 4


def test_missing_value_is_a_gap():
    """None is a gap as NaN is."""
    with_none, with_nan = ([1.0, 2.0, gap, 5.0, 6.0] for gap in (None, math.nan))
    assert individuals_limits(with_none) == individuals_limits(with_nan)


def test_baseline_is_not_moved_by_later_values():
    """Values after the baseline do not change the limits."""
    assert individuals_limits([*FLOW_RATES, 99.0, 7.0], baseline=10) == individuals_limits(FLOW_RATES)


@pytest.mark.parametrize("values", [[], [1.0], [math.nan, 1.0, math.nan, 2.0]])
def test_too_few_values(values):
    """Without two neighbouring values there are no limits, and the error says so."""
    with pytest.raises(ValueError, match="two neighbouring values"):
        individuals_limits(values)


@pytest.mark.parametrize("baseline", [-3, 0, 1])
def test_baseline_too_short(baseline):
    """A baseline that cannot hold two values is refused."""
    with pytest.raises(ValueError, match="at least 2"):
        individuals_limits(FLOW_RATES, baseline=baseline)


@given(NUMBERS, st.floats(-100, 100), st.floats(0.1, 10))
def test_limits_follow_the_unit(values, shift, scale):
    """Changing the unit of the values changes the limits in the same way."""
    plain = individuals_limits(values)
    moved = individuals_limits([shift + scale * value for value in values])
    assert moved.upper == pytest.approx(shift + scale * plain.upper, rel=1e-6, abs=1e-6)
    assert moved.lower == pytest.approx(shift + scale * plain.lower, rel=1e-6, abs=1e-6)


def test_eight_in_a_row():
    """The eighth value on one side is the signal, seven are none, and both sides count."""
    assert not runs_on_one_side([1.0] * 7, 0.0).any()
    assert runs_on_one_side([1.0] * 9, 0.0).tolist() == [False] * 7 + [True, True]
    assert runs_on_one_side([-1.0] * 8, 0.0).tolist() == [False] * 7 + [True]


@pytest.mark.parametrize("break_", [math.nan, 0.0, -1.0])
def test_row_is_broken(break_):
    """A gap, a value on the centre and a value on the other side each break the row."""
    assert not runs_on_one_side([1.0] * 7 + [break_] + [1.0] * 7, 0.0).any()


@given(NUMBERS)
def test_a_row_is_symmetric(values):
    """Mirrored values give the same signals."""
    mirrored = [-value for value in values]
    assert runs_on_one_side(values, 0.0, 3).tolist() == runs_on_one_side(mirrored, 0.0, 3).tolist()


def test_a_baseline_of_two_values_has_limits():
    """Of 1 and 2: mean 1.5, range 1, limits 1.5 -+ 3 / 1.128."""
    limits = individuals_limits([1.0, 2.0, 9.0], baseline=2)

    assert (limits.lower, limits.upper) == pytest.approx((1.5 - 3 / 1.128, 1.5 + 3 / 1.128))
