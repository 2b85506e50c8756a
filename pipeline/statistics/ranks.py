"""Ranks of values, those alike sharing the mean of theirs.

Here because `scipy.stats`, which has them too, takes longer to import than the trends of a year to compute.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray


def mean_ranks(values: ArrayLike) -> NDArray[np.float64]:
    """Place of each value among all, from 1; values that are alike share the mean of their places.

    Parameters
    ----------
    values : array
        Without gaps [any unit]

    Returns
    -------
    array
        One rank a value [-]

    Source
    ------
    Midranks, as in Conover, Practical Nonparametric Statistics (1999), 5.1 (from memory).

    Examples
    --------
    >>> mean_ranks([7.0, 5.0, 7.0, 9.0]).tolist()
    [2.5, 1.0, 2.5, 4.0]
    """
    _, which, times = np.unique(np.asarray(values, dtype=np.float64), return_inverse=True, return_counts=True)
    return (np.cumsum(times) - (times - 1) / 2)[which]


def sizes_of_ties(values: ArrayLike) -> NDArray[np.int64]:
    """How often each value that is there more than once is there.

    Parameters
    ----------
    values : array
        Without gaps [any unit]

    Returns
    -------
    array
        One number a repeated value, in rising order of these values [-]

    Source
    ------
    Counting.

    Examples
    --------
    >>> sizes_of_ties([7.0, 5.0, 7.0, 9.0]).tolist()
    [2]
    """
    _, times = np.unique(np.asarray(values, dtype=np.float64), return_counts=True)
    return times[times > 1]
