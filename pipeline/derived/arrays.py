"""Between frames, where a missing number is NULL, and the engineering functions, where it is NaN."""

import numpy as np
import polars as pl
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def array(series: pl.Series) -> Array:
    """A column as numbers, NaN where it is NULL."""
    return series.cast(pl.Float64).fill_null(np.nan).to_numpy().astype(float, copy=True)


def column(values: ArrayLike) -> pl.Series:
    """Numbers as a column, NULL where they are NaN."""
    return pl.Series(np.asarray(values, dtype=float), dtype=pl.Float64, nan_to_null=True)
