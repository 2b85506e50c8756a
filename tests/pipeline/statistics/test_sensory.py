"""Chance level of difference tests against the tabled minimum numbers of correct answers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from gaugebook.pipeline.statistics.sensory import chance_of_at_least


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


# Fewest correct answers at 5, 1 and 0.1 %, None where the table has a dash; assessors as tabled from 6 to 60.
TRIANGLE = {  # FAO document V7180E, Appendix A: "Triangle Test for Difference: Critical Number"
    6: (5, 6, None), 7: (5, 6, 7), 8: (6, 7, 8), 9: (6, 7, 8), 10: (7, 8, 9), 11: (7, 8, 10), 12: (8, 9, 10),
    13: (8, 9, 11), 14: (9, 10, 11), 15: (9, 10, 12), 16: (9, 11, 12), 17: (10, 11, 13), 18: (10, 12, 13),
    19: (11, 12, 14), 20: (11, 13, 14), 21: (12, 13, 15), 22: (12, 14, 15), 23: (12, 14, 16), 24: (13, 15, 16),
    25: (13, 15, 17), 26: (14, 15, 17), 27: (14, 16, 18), 28: (15, 16, 18), 29: (15, 17, 19), 30: (15, 17, 19),
    31: (16, 18, 20), 32: (16, 18, 20), 33: (17, 18, 21), 34: (17, 19, 21), 35: (17, 19, 22), 36: (18, 20, 22),
    42: (20, 22, 25), 48: (22, 25, 27), 54: (25, 27, 30), 60: (27, 30, 33),
}  # fmt: skip
DUO_TRIO = {  # GOST ISO 10399-2015, Table A.1
    6: (6, None, None), 7: (7, 7, None), 8: (7, 8, None), 9: (8, 9, None), 10: (9, 10, 10), 11: (9, 10, 11),
    12: (10, 11, 12), 13: (10, 12, 13), 14: (11, 12, 13), 15: (12, 13, 14), 16: (12, 14, 15), 17: (13, 14, 16),
    18: (13, 15, 16), 19: (14, 15, 17), 20: (15, 16, 18), 21: (15, 17, 18), 22: (16, 17, 19), 23: (16, 18, 20),
    24: (17, 19, 20), 25: (18, 19, 21), 26: (18, 20, 22), 27: (19, 20, 22), 28: (19, 21, 23), 29: (20, 22, 24),
    30: (20, 22, 24), 32: (22, 24, 26), 36: (24, 26, 28), 40: (26, 28, 31), 44: (28, 31, 33), 48: (31, 33, 36),
    52: (33, 35, 38), 56: (35, 38, 40), 60: (37, 40, 43),
}  # fmt: skip
LEVELS = (0.05, 0.01, 0.001)


@pytest.mark.parametrize(("test", "table"), [("triangle", TRIANGLE), ("duo-trio", DUO_TRIO), ("paired", DUO_TRIO)])
def test_fewest_correct_answers_as_published(test, table):
    """Every tabled number is the fewest that guessing reaches so seldom, and where the table has a dash all are not
    enough; the one-sided paired test has the duo-trio's (the same chance of 1/2)."""
    for assessors, row in table.items():
        chances = [chance_of_at_least(correct, assessors, test) for correct in range(assessors + 1)]
        assert row == tuple(next((n for n, p in enumerate(chances) if p <= level), None) for level in LEVELS)


@given(st.integers(0, 60), st.data(), st.sampled_from([("triangle", 1 / 3), ("duo-trio", 1 / 2), ("paired", 1 / 2)]))
def test_chance_is_the_binomial_tail(assessors, data, test):
    """The sum of binomial terms is scipy's survival function, from no right answer to all."""
    correct = data.draw(st.integers(0, assessors))
    expected = stats.binom.sf(correct - 1, assessors, test[1])

    assert chance_of_at_least(correct, assessors, test[0]) == pytest.approx(expected, rel=1e-9)


def test_unknown_test_has_no_chance_level():
    """A test of a kind that is not tabled gives no number rather than a wrong one."""
    assert chance_of_at_least(7, 18, "tetrad") is None


def test_more_correct_than_assessors():
    """More correct answers than assessors, or fewer than none, is an error."""
    for correct in (19, -1):
        with pytest.raises(ValueError, match="cannot be"):
            chance_of_at_least(correct, 18, "triangle")
