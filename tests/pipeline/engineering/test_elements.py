"""The one habit for single values and arrays."""

import numpy as np
import pytest

from gaugebook.pipeline.engineering.elements import as_given, in_range, refuse


def test_rounding_beyond_a_limit_is_moved_back_on_it() -> None:
    """A chain of conversions that ends at 100.00000000001 is still 100."""
    assert in_range(100.00000000001, 0.0, 100.0, "strength", "% vol") == 100.0


@pytest.mark.parametrize("value", [100.001, -0.001, np.inf, np.nan])
def test_a_single_value_outside_is_an_error(value: float) -> None:
    """The message gives name, value and range."""
    with pytest.raises(ValueError, match=r"strength is .*; expected 0 to 100 % vol"):
        in_range(value, 0.0, 100.0, "strength", "% vol")


def test_limits_may_differ_by_element() -> None:
    """Each element is judged by its own limits."""
    np.testing.assert_array_equal(in_range([1.0, 1.0], 0.0, [2.0, 0.5], "x", "-"), [1.0, np.nan])


def test_a_refusal_names_its_values() -> None:
    """The values are written into the message only when it is raised."""
    with pytest.raises(ValueError, match="60 is above 40"):
        refuse(True, "{} is above {}", 60.0, 40.0)
    assert refuse([True, False], "{} is above {}", [60.0, 30.0], 40.0).tolist() == [True, False]


def test_a_single_result_is_a_plain_float() -> None:
    """A scalar in gives a float out, so that it prints and serialises as one."""
    assert type(as_given(np.array(1.0))) is float


@pytest.mark.parametrize("value", [-1.0, -np.inf, np.inf, np.nan])
def test_no_upper_limit_still_refuses_below_and_infinite(value: float) -> None:
    """A quantity that may be as large as it likes may not be negative, infinite or missing."""
    with pytest.raises(ValueError, match=r"volume is .*; expected 0 or more L"):
        in_range(value, 0.0, np.inf, "volume", "L")
    assert np.isnan(in_range([value, 1.0], 0.0, np.inf, "volume", "L")).tolist() == [True, False]
