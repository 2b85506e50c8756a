"""A fine log made coarser: averages to reckon with, extremes to draw; no value that was not measured."""

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
    starts = np.unique(stretch, return_index=True)[1]
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


def extremes(values: ArrayLike, stretches: ArrayLike) -> NDArray[np.int64]:
    """Places of the least and the greatest value of each stretch: what a drawing must keep so that no spike is lost.

    Parameters
    ----------
    values : array
        A series without missing values, in order of time [-]
    stretches : array
        Number of the stretch that each value lies in, never falling [-]

    Returns
    -------
    array
        Places in order of time; one where the least and the greatest value of a stretch are the same

    Source
    ------
    Least and greatest value of each stretch; no published source.

    Examples
    --------
    >>> extremes([78.0, 78.1, 95.0, 78.2, 78.3, 78.1], [0, 0, 0, 1, 1, 1]).tolist()
    [0, 2, 4, 5]
    """
    y, stretch = np.asarray(values, dtype=np.float64), np.asarray(stretches)
    if not y.size:
        return np.empty(0, dtype=np.int64)
    order = np.lexsort((y, stretch))
    firsts = np.flatnonzero(np.diff(stretch[order], prepend=stretch[0] - 1))
    lasts = np.append(firsts[1:], y.size) - 1
    return np.unique(order[np.concatenate([firsts, lasts])])
