"""Ranks of values, those alike sharing the mean of theirs.

Here because `scipy.stats`, which has them too, takes longer to import than the trends of a year to compute.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

FIGURES = 9  # of the greatest value; by what values differ further down is arithmetic, not measured


def alike_made_equal(values: ArrayLike) -> NDArray[np.float64]:
    """Values rounded to nine figures of the greatest of them, so that those which agree to these are ties.

    A tie must depend neither on the unit in which a value came nor on the order in which something was added up. The
    greatest counts, since a small value that is the difference of two is no surer than these.

    Parameters
    ----------
    values : array
        Any finite numbers [any unit]

    Returns
    -------
    array
        The same, rounded [that unit]

    Source
    ------
    House convention; no published source.

    Examples
    --------
    >>> alike_made_equal([0.1 + 0.2, 0.3, 40.1 - 40.0 - 0.1, 0.0]).tolist()
    [0.3, 0.3, 0.0, 0.0]
    """
    x = np.asarray(values, dtype=np.float64)
    greatest = float(np.abs(x).max(initial=0.0))
    return x if greatest == 0 else np.round(x, FIGURES - 1 - int(np.floor(np.log10(greatest))))


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
    _, which, times = np.unique(alike_made_equal(values), return_inverse=True, return_counts=True)
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
    _, times = np.unique(alike_made_equal(values), return_counts=True)
    return times[times > 1]
