"""Chance level of difference tests against the tabled minimum numbers of correct answers."""

import pytest
from scipy import stats

from pipeline.statistics.sensory import chance_of_at_least


@pytest.mark.parametrize(
    ("test", "assessors", "at_5_pct", "at_1_pct", "at_0_1_pct"),
    [
        # Minimum correct answers computed from the binomial distribution, as ISO 4120 and ISO 10399 tabulate them
        # (the standards' own pages not seen).
        ("triangle", 12, 8, 9, 10),
        ("triangle", 24, 13, 15, 16),
        ("triangle", 48, 22, 25, 27),
        ("duo-trio", 18, 13, 15, 16),
        ("paired", 30, 20, 22, 24),
    ],
)
def test_minimum_numbers(test, assessors, at_5_pct, at_1_pct, at_0_1_pct):
    """The tabled number reaches its level of significance and one fewer does not."""
    for level, minimum in ((0.05, at_5_pct), (0.01, at_1_pct), (0.001, at_0_1_pct)):
        assert chance_of_at_least(minimum, assessors, test) <= level
        assert chance_of_at_least(minimum - 1, assessors, test) > level


def test_against_scipy():
    """The sum of binomial terms is scipy's survival function."""
    assert chance_of_at_least(7, 18, "triangle") == pytest.approx(stats.binom.sf(6, 18, 1 / 3), rel=1e-12)


def test_unknown_test_has_no_chance_level():
    """A test of a kind that is not tabled gives no number rather than a wrong one."""
    assert chance_of_at_least(7, 18, "tetrad") is None


def test_more_correct_than_assessors():
    """More correct answers than assessors is an error."""
    with pytest.raises(ValueError, match="cannot be"):
        chance_of_at_least(19, 18, "triangle")
