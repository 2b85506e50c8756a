"""Columns to arrays and back: what is missing is NaN in the one and NULL in the other."""

import numpy as np
import polars as pl
import pytest

from gaugebook.pipeline.derived.arrays import array, column


def test_missing_is_nan_and_comes_back_as_null():
    """Whole numbers become those of an array."""
    given = pl.Series([1, None, 3])

    assert array(given) == pytest.approx([1.0, np.nan, 3.0], nan_ok=True)
    assert column(array(given)).to_list() == [1.0, None, 3.0]
    assert column([]).dtype == pl.Float64


def test_what_is_done_to_the_array_is_not_done_to_the_column():
    """It is a copy that may be written into."""
    given = pl.Series([1.0, 2.0])
    values = array(given)
    values[0] = 9.0

    assert given.to_list() == [1.0, 2.0]
