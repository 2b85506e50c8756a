"""A fine log on a coarser grid of averages: quick to reckon with, and no value that was not measured."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def averaged(
    times_s: ArrayLike, values: Mapping[str, ArrayLike], step_s: float
) -> tuple[Array, dict[str, Array]]:  # fmt: skip
    """Averages of so many seconds each; a log that is no finer comes back as it is.

    Parameters
    ----------
    times_s : array
        Times, increasing [s]
    values : mapping
        By tag the values, NaN where there is none [-]
    step_s : float
        Length of the stretches that are averaged [s]

    Returns
    -------
    tuple
        Mean times of the stretches that hold a row [s], and by tag the mean of the values there are, else NaN

    Source
    ------
    Arithmetic mean; no published source.

    Examples
    --------
    >>> times, values = averaged([0.0, 1.0, 2.0, 3.0], {"pot": [20.0, 22.0, np.nan, 30.0]}, 2.0)
    >>> times.tolist(), values["pot"].tolist()
    ([0.5, 2.5], [21.0, 30.0])
    """
    t = np.asarray(times_s, dtype=np.float64)
    series = {tag: np.asarray(column, dtype=np.float64) for tag, column in values.items()}
    if t.size < 2 or step_s <= 1.5 * float(np.median(np.diff(t))):
        return t, series
    stretch = ((t - t[0]) // step_s).astype(np.int64)
    starts = np.flatnonzero(np.diff(stretch, prepend=-1))
    rows = np.diff(np.append(starts, t.size))
    means = {}
    for tag, column in series.items():
        there = np.isfinite(column)
        if there.all():
            means[tag] = np.add.reduceat(column, starts) / rows
            continue
        count = np.add.reduceat(there.astype(np.float64), starts)
        total = np.add.reduceat(np.where(there, column, 0.0), starts)
        means[tag] = np.where(count > 0, total / np.maximum(count, 1.0), np.nan)
    return np.add.reduceat(t, starts) / rows, means
