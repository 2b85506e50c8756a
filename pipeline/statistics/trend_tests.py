"""Slow trends: the test of Mann and Kendall with ties and autocorrelation minded, and the slope of Theil and Sen."""

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.statistics.ranks import FIGURES, alike_made_equal, mean_ranks, sizes_of_ties


@dataclass(frozen=True)
class MannKendall:
    """The test's score with its variance; `inflation` is the factor that autocorrelation puts on the variance."""

    s: int
    variance: float
    z: float
    p: float
    tau: float
    inflation: float


@dataclass(frozen=True)
class SenSlope:
    """Median of the slopes of all pairs with its confidence interval; intercept at time 0."""

    slope: float
    low: float
    high: float
    intercept: float


def mann_kendall(values: ArrayLike, *, lags: int = 0, persistence: float = 0.0) -> MannKendall:
    """Does a series rise or fall more than its order by chance would?

    A step is reported as a trend too: whether it was one says `change_scan`.

    Parameters
    ----------
    values : array
        In order of time; gaps (NaN) are left out [any unit]
    lags : int
        Greatest lag whose autocorrelation of the detrended ranks, where significant at 5 %, widens the variance;
        0 takes the values as independent [-]
    persistence : float
        Lag-one autocorrelation r of the detrended values: the variance is widened by at least (1 + r)/(1 - r), since
        the published method finds too little in short series; 0 widens nothing [-]

    Returns
    -------
    MannKendall
        Two-sided, with the normal approximation and continuity correction

    Raises
    ------
    ValueError
        If fewer than four values are there.

    Source
    ------
    Mann 1945; Kendall, Rank Correlation Methods, 4th edition 1976 (ties: example 4.3); autocorrelation: Hamed and
    Rao, Journal of Hydrology 204 (1998) 182-196; persistence: Bayley and Hammersley 1946 (from memory).

    Examples
    --------
    >>> found = mann_kendall([1.0, 2.0, 2.0, 3.0, 5.0, 4.0, 6.0, 7.0])
    >>> found.s, round(found.variance, 2), round(found.p, 4)
    (25, 64.33, 0.0028)
    """
    x = alike_made_equal(_there(values, 4))
    n = x.size
    s = int(np.sign(x[None, :] - x[:, None])[np.triu_indices(n, 1)].sum())
    ties = sizes_of_ties(x)
    variance = (n * (n - 1) * (2 * n + 5) - float((ties * (ties - 1) * (2 * ties + 5)).sum())) / 18
    inflation = max(1.0, _inflation(x, lags)) if lags else 1.0  # the published method lets it shrink, even below nought
    if persistence > 0:
        inflation = max(inflation, (1 + persistence) / (1 - persistence))
    spread = sqrt(variance * inflation) if variance > 0 else 0.0
    z = (s - np.sign(s)) / spread if spread else 0.0
    return MannKendall(s, variance, float(z), _two_sided(float(z)), s / (n * (n - 1) / 2), inflation)


def sen_slope(times: ArrayLike, values: ArrayLike, confidence: float = 0.95) -> SenSlope:
    """Median slope of all pairs of points, which a few wild values cannot move.

    Parameters
    ----------
    times : array
        Any unit of time, not all alike [-]
    values : array
        One a time; gaps (NaN) are left out [any unit]
    confidence : float
        Of the interval [-]

    Returns
    -------
    SenSlope
        In the unit of the values over that of the times

    Raises
    ------
    ValueError
        If fewer than four values are there.

    Source
    ------
    Sen, J. Am. Stat. Assoc. 63 (1968) 1379-1389; the interval's variance with ties in times and values.

    Examples
    --------
    >>> sen_slope([0.0, 1.0, 2.0, 3.0, 4.0], [0.0, 1.0, 2.1, 2.9, 30.0]).slope.__round__(3)
    1.075
    """
    from scipy.special import ndtri

    t, y = np.asarray(times, dtype=np.float64), np.asarray(values, dtype=np.float64)
    there = np.isfinite(t) & np.isfinite(y)
    t, y = t[there], y[there]
    n = _there(y, 4).size
    first, second = np.triu_indices(n, 1)
    apart = t[second] - t[first]
    slopes = np.sort((y[second] - y[first])[apart != 0] / apart[apart != 0])
    if not slopes.size:
        raise ValueError("all times are alike; a slope needs at least two")
    ties = sum(float((k * (k - 1) * (2 * k + 5)).sum()) for k in (sizes_of_ties(t), sizes_of_ties(y)))
    variance = max(n * (n - 1) * (2 * n + 5) - ties, 0) / 18  # below zero where nearly all are alike
    reach = float(ndtri((1 + confidence) / 2)) * sqrt(variance)
    low = max(round((slopes.size - reach) / 2) - 1, 0)
    high = min(round((slopes.size + reach) / 2), slopes.size - 1)
    slope = float(np.median(slopes))
    return SenSlope(slope, float(slopes[low]), float(slopes[high]), float(np.median(y) - slope * np.median(t)))


def autocorrelation(values: ArrayLike, lag: int = 1) -> float:
    """Correlation of each value with that so many places before.

    Parameters
    ----------
    values : array
        In order of time, without gaps [any unit]
    lag : int
        Places [-]

    Returns
    -------
    float
        Between -1 and 1; 0 where all values are alike or the lag is as long as the series

    Source
    ------
    NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.3.1 (autocorrelation plot).

    Examples
    --------
    >>> autocorrelation([1.0, -1.0, 1.0, -1.0])
    -0.75
    """
    x = np.asarray(values, dtype=np.float64)
    x = x - x.mean()
    whole = float(x @ x)
    return float(x[lag:] @ x[:-lag]) / whole if 0 < lag < x.size and whole > 0 else 0.0


def persistence(values: ArrayLike) -> float:
    """Lag-one autocorrelation of a series less its slope, corrected for its bias; 0 where it is not significant.

    Parameters
    ----------
    values : array
        In order of time, without gaps, at least ten [any unit]

    Returns
    -------
    float
        Between 0 and 0.9

    Source
    ------
    (n r + 1)/(n - 4) (Kendall 1954, from memory); significant above 1.645/sqrt n.

    Examples
    --------
    >>> persistence([1.0, -1.0] * 10)
    0.0
    """
    x = _there(values, 10)
    order = np.arange(x.size, dtype=np.float64)
    r = (x.size * autocorrelation(x - sen_slope(order, x).slope * order) + 1) / (x.size - 4)
    return min(r, 0.9) if r > 1.645 / sqrt(x.size) else 0.0


def _inflation(x: NDArray[np.float64], lags: int) -> float:
    from scipy.special import ndtri

    n = x.size
    order = np.arange(n, dtype=np.float64)
    greatest = float(np.abs(x).max()) or 1.0  # what is left over is no surer than the values
    ranks = mean_ranks(np.round((x - sen_slope(order, x).slope * order) / greatest, FIGURES))
    bound = float(ndtri(0.975)) / sqrt(n)
    total = 0.0
    for lag in range(1, min(lags, n - 1) + 1):
        r = autocorrelation(ranks, lag)
        if abs(r) > bound:
            total += (n - lag) * (n - lag - 1) * (n - lag - 2) * r
    return 1 + 2 * total / (n * (n - 1) * (n - 2))


def _two_sided(z: float) -> float:
    from scipy.special import ndtr

    return float(2 * ndtr(-abs(z)))


def _there(values: ArrayLike, fewest: int) -> NDArray[np.float64]:
    x = np.asarray(values, dtype=np.float64)
    x = x[np.isfinite(x)]
    if x.size < fewest:
        raise ValueError(f"{x.size} values are too few; a trend needs at least {fewest}")
    return x
