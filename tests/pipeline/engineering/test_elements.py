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


@pytest.mark.parametrize(("value", "on_the_limit"), [(100.0 + 0.9e-7, 100.0), (-0.9e-9, 0.0)])
def test_rounding_is_a_billionth_of_a_limit_or_of_one(value: float, on_the_limit: float) -> None:
    """A billionth of 100 is 1e-7; below a limit of 1 it is a billionth itself. More than that is refused."""
    assert in_range(value, 0.0, 100.0, "strength", "% vol") == on_the_limit
    assert in_range([value, 50.0], 0.0, 100.0, "strength", "% vol").tolist() == [on_the_limit, 50.0]
    with pytest.raises(ValueError, match="strength is"):
        in_range(value + 1.2 * (value - on_the_limit), 0.0, 100.0, "strength", "% vol")


def test_a_limit_below_zero_has_its_rounding_too() -> None:
    """A billionth of -20 is 2e-8 further down."""
    assert in_range(-20.0 - 1.9e-8, -20.0, 40.0, "temperature", "°C") == -20.0
    with pytest.raises(ValueError, match=r"temperature is -20\.00000003 °C; expected -20 to 40 °C"):
        in_range(-20.0 - 3e-8, -20.0, 40.0, "temperature", "°C")


def test_a_message_has_the_unit_and_says_what_is_no_number() -> None:
    """A value has its unit behind it; what is no number has none."""
    with pytest.raises(ValueError, match=r"^mass is -2 kg; expected 0 or more kg$"):
        in_range(-2.0, 0.0, np.inf, "mass", "kg")
    with pytest.raises(ValueError, match=r"^mass is not a number; expected 0 to 5 kg$"):
        in_range(np.nan, 0.0, 5.0, "mass", "kg")


def test_a_single_value_against_limits_of_a_column_is_judged_row_by_row() -> None:
    """One gravity against the originals of two worts: marked where it is above its own, not raised."""
    assert np.isnan(in_range(1.05, 0.98, [1.06, 1.04], "gravity", "-")).tolist() == [False, True]


def test_what_is_good_is_not_refused() -> None:
    """A single value that can be is a mask of one, and an array comes back as an array."""
    assert not refuse(False, "never {}", 1.0)
    assert as_given([1, 2]).tolist() == [1.0, 2.0]
