"""Litres of pure alcohol."""

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given

from gaugebook.pipeline.engineering.pure_alcohol import litres_of_pure_alcohol, volume_of_pure_alcohol


def test_a_hundred_cases() -> None:
    """100 cases of twelve 70 cl bottles at 40 % vol are 336 litres of alcohol (United Kingdom guidance)."""
    assert litres_of_pure_alcohol(100 * 12 * 0.70, 40.0) == pytest.approx(336.0, abs=1e-9)


@given(st.floats(0.0, 1e6), st.floats(0.1, 100.0))
def test_volume_and_alcohol_round_trip(volume_l: float, strength: float) -> None:
    """The volume that holds so much alcohol holds so much alcohol."""
    back = volume_of_pure_alcohol(litres_of_pure_alcohol(volume_l, strength), strength)

    assert back == pytest.approx(volume_l, rel=1e-12)


def test_bad_rows_are_marked() -> None:
    """A negative volume or a strength above 100 % vol makes its own row NaN."""
    found = litres_of_pure_alcohol([100.0, -1.0, 100.0], [40.0, 40.0, 101.0])

    np.testing.assert_array_equal(found, [40.0, np.nan, np.nan])


def test_a_single_negative_volume_is_named() -> None:
    """The error gives value and range."""
    with pytest.raises(ValueError, match=r"volume is -1 L; expected 0 or more L"):
        litres_of_pure_alcohol(-1.0, 40.0)


def test_a_cask_by_hand() -> None:
    """200 L of 63.5 % vol hold 127 L; 127 L fill 254 L of 50 % vol."""
    assert litres_of_pure_alcohol(200.0, 63.5) == pytest.approx(127.0)
    assert volume_of_pure_alcohol(127.0, 50.0) == pytest.approx(254.0)
    np.testing.assert_array_equal(volume_of_pure_alcohol([127.0, 1.0], [50.0, 0.0]), [254.0, np.nan])
