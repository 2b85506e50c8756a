"""One change of level: the rank test of Pettitt and the cumulative deviations of Buishand."""

from dataclasses import dataclass
from math import exp, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.statistics.ranks import mean_ranks


@dataclass(frozen=True)
class Pettitt:
    """Statistic K, number of values before the change, and the approximate chance of so great a K."""

    k: int
    before: int
    p: float


@dataclass(frozen=True)
class Buishand:
    """Rescaled range R / sqrt n and statistic U of the cumulative deviations, with the number of values before."""

    r: float
    u: float
    before: int


def pettitt(values: ArrayLike) -> Pettitt:
    """Where ranks change most, and whether chance does that.

    Parameters
    ----------
    values : array
        In order of time, without gaps [any unit]

    Returns
    -------
    Pettitt
        p = 2 exp(-6 K^2 / (n^3 + n^2)), at most 1

    Raises
    ------
    ValueError
        If there are fewer than four values, or gaps.

    Source
    ------
    Pettitt, Applied Statistics 28 (1979) 126-135.

    Examples
    --------
    >>> pettitt([1.0, 2.0, 1.5, 1.7, 5.0, 6.0, 5.5, 5.2]).before
    4
    """
    x = _series(values)
    n = x.size
    u = 2 * np.cumsum(mean_ranks(x)) - np.arange(1, n + 1) * (n + 1)
    k = float(np.abs(u).max())
    before = int(np.abs(u).argmax()) + 1
    return Pettitt(round(k), before, min(1.0, 2 * exp(-6 * k * k / (n**3 + n**2))))


def buishand(values: ArrayLike) -> Buishand:
    """Cumulative deviations from the mean, over the standard deviation.

    Parameters
    ----------
    values : array
        In order of time, without gaps [any unit]

    Returns
    -------
    Buishand
        With the n - 1 standard deviation

    Raises
    ------
    ValueError
        If there are fewer than four values, gaps, or no scatter.

    Source
    ------
    Buishand, Journal of Hydrology 58 (1982) 11-27 and 69 (1984) 51-69.

    Examples
    --------
    >>> found = buishand([1.0, 2.0, 1.5, 1.7, 5.0, 6.0, 5.5, 5.2])
    >>> found.before, round(found.r, 3)
    (4, 1.299)
    """
    x = _series(values)
    n, sd = x.size, float(x.std(ddof=1))
    if sd == 0:
        raise ValueError("all values are alike; there is no change to look for")
    sums = np.cumsum(x - x.mean())
    r = (float(sums.max()) - min(0.0, float(sums.min()))) / sd / sqrt(n)
    u = float((sums[:-1] ** 2).sum()) / sd**2 / (n * (n + 1))
    return Buishand(r, u, int(np.abs(sums).argmax()) + 1)


def _series(values: ArrayLike) -> NDArray[np.float64]:
    x = np.asarray(values, dtype=np.float64)
    if x.ndim != 1 or x.size < 4 or not np.isfinite(x).all():
        raise ValueError("a change of level needs one row of at least four values without gaps")
    return x
