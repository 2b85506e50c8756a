"""Net contents: tolerable errors and the mean test, against the Directive's own figures."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.statistics.fill import mean_test_factor, tolerable_negative_error_ml


@pytest.mark.parametrize(
    ("nominal_ml", "expected"),
    [
        # Directive 76/211/EEC, Annex I, 2.4, and the values that follow from it for the usual bottles
        (50, 4.5), (100, 4.5), (200, 9.0), (350, 10.5), (500, 15.0), (700, 15.0), (1000, 15.0), (1500, 22.5),
        (1750, 26.3),
    ],
)  # fmt: skip
def test_tolerable_negative_errors(nominal_ml, expected):
    """The tolerable negative error of each usual bottle is the published one, shares rounded up to 0.1 mL."""
    assert tolerable_negative_error_ml(nominal_ml) == expected


@pytest.mark.parametrize("nominal_ml", [4.9, 10_001, -1, float("nan")])
def test_a_bottle_outside_the_directive_is_an_error(nominal_ml):
    """Below 5 mL and above 10 L there is no tolerable error."""
    with pytest.raises(ValueError, match="expected 5 to 10 000"):
        tolerable_negative_error_ml(nominal_ml)


@given(st.floats(5, 10_000), st.floats(5, 10_000))
def test_a_larger_bottle_may_not_fall_short_by_less(a, b):
    """The tolerable error never falls as the bottle grows (rounding up aside)."""
    small, large = sorted((a, b))

    assert tolerable_negative_error_ml(small) <= tolerable_negative_error_ml(large) + 0.1


@pytest.mark.parametrize(("sample", "factor", "digits"), [(30, 0.503, 3), (50, 0.379, 3), (20, 0.640, 3)])
def test_mean_test_factors(sample, factor, digits):
    """Directive 76/211/EEC, Annex II, 2.3.2: 0.503 s for 30 bottles, 0.379 s for 50, 0.640 s for 20."""
    assert round(mean_test_factor(sample), digits) == factor


def test_a_mean_needs_two_bottles():
    """One bottle has no standard deviation."""
    with pytest.raises(ValueError, match="at least 2"):
        mean_test_factor(1)
