"""Runs alike in phase laid over each other: the band of the good ones, and how far a run left it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

LEAST_RUNS = 8
_OUTSIDE = 0.001  # chance, two-sided, that one value of a good run lies outside the band
_BEYOND = 0.01  # chance that the distance of a good run passes its limit


@dataclass(frozen=True)
class Band:
    """What good runs do, place by place of the phases; the limits are those for one more run."""

    mean: Array
    sd: Array
    low: Array
    high: Array
    runs: int
    limit: float  # of the distance


def band(profiles: ArrayLike, floor: ArrayLike) -> Band:
    """Band of good runs and the control limit of a further run's distance from it.

    At each place mean and standard deviation; the band holds a further run's value with a chance of 99.9 %. The limit
    rests on the distance that each good run has from the band of all others, so that no run is judged by itself: the
    logarithms of those distances are taken as normal, and one further good run in a hundred passes the limit.

    Parameters
    ----------
    profiles : array
        One row a run, at least eight, one column a place; NaN where a run has no value [-]
    floor : array
        Least standard deviation of each place: what its sensor cannot tell apart [-]

    Returns
    -------
    Band
        Mean, limits, and the limit of the distance

    Raises
    ------
    ValueError
        If there are fewer than eight runs.

    Source
    ------
    Prediction interval for one further value (Hahn and Meeker, Statistical Intervals, from memory); leave-one-out.

    Examples
    --------
    >>> runs = np.random.default_rng(3).normal(80.0, 0.5, (12, 40))
    >>> good = band(runs, np.full(40, 0.1))
    >>> distance(runs[0] + 5.0, good) > good.limit
    True
    """
    from scipy.special import stdtrit  # scipy takes long to import, and most of what knows bands makes none

    x = np.asarray(profiles, dtype=np.float64)
    if x.ndim != 2 or x.shape[0] < LEAST_RUNS:
        raise ValueError(f"a band needs at least {LEAST_RUNS} good runs; there are {x.shape[0] if x.ndim else 0}")
    least = np.asarray(floor, dtype=np.float64)
    apart = np.array([_distance(x[i], *_moments(np.delete(x, i, axis=0), least)) for i in range(x.shape[0])])
    mean, sd, n = _moments(x, least)
    reach = stdtrit(np.maximum(n - 1, 1), 1 - _OUTSIDE / 2) * sd * np.sqrt(1 + 1 / np.maximum(n, 1))
    logs = np.log(np.maximum(apart, 1e-9))
    runs = x.shape[0]
    spread = float(np.std(logs, ddof=1)) * float(stdtrit(runs - 1, 1 - _BEYOND)) * np.sqrt(1 + 1 / runs)
    return Band(mean, sd, mean - reach, mean + reach, runs, float(np.exp(logs.mean() + spread)))


def distance(profile: ArrayLike, good: Band) -> float:
    """Distance of a run from a band: root mean square of its standardised deviations.

    Parameters
    ----------
    profile : array
        The run's values at the places of the band; NaN where it has none [-]
    good : Band
        Band of other runs [-]

    Returns
    -------
    float
        The distance, about 1 for a run like the others; NaN where they have no place in common

    Source
    ------
    House method; no published source.

    Examples
    --------
    >>> runs = np.random.default_rng(3).normal(80.0, 0.5, (12, 40))
    >>> bool(distance(runs.mean(axis=0), band(runs, np.full(40, 0.1))) < 0.1)
    True
    """
    x = np.asarray(profile, dtype=np.float64)
    return _distance(x, good.mean, good.sd, np.full(x.size, good.runs))


def outside(profile: ArrayLike, good: Band, least: int = 3) -> list[tuple[int, int]]:
    """Where a run lies outside the band, for at least so many places in a row.

    Parameters
    ----------
    profile : array
        The run's values at the places of one series of the band [-]
    good : Band
        Band of other runs [-]
    least : int
        Places in a row that count [-]

    Returns
    -------
    list of tuple
        First and last place of each stretch

    Source
    ------
    House method; no published source.

    Examples
    --------
    >>> runs = np.random.default_rng(3).normal(80.0, 0.5, (12, 40))
    >>> outside(np.r_[runs[0][:30], runs[0][30:] + 9.0], band(runs, np.full(40, 0.1)))
    [(30, 39)]
    """
    x = np.asarray(profile, dtype=np.float64)
    out = np.concatenate([[False], (x < good.low) | (x > good.high), [False]])
    edges = np.flatnonzero(np.diff(out.astype(np.int8)))
    return [(int(first), int(after) - 1) for first, after in edges.reshape(-1, 2) if after - first >= least]


def _moments(x: Array, least: Array) -> tuple[Array, Array, Array]:
    there = np.isfinite(x)
    n = there.sum(axis=0)
    filled = np.where(there, x, 0.0)
    mean = filled.sum(axis=0) / np.maximum(n, 1)
    squares = (np.where(there, x - mean, 0.0) ** 2).sum(axis=0) / np.maximum(n - 1, 1)
    known = n >= LEAST_RUNS - 1  # a place that few runs have says nothing
    return np.where(known, mean, np.nan), np.where(known, np.maximum(np.sqrt(squares), least), np.nan), n


def _distance(x: Array, mean: Array, sd: Array, n: Array) -> float:
    z = (x - mean) / (sd * np.sqrt(1 + 1 / np.maximum(n, 1)))
    z = z[np.isfinite(z)]
    return float(np.sqrt((z**2).mean())) if z.size else float("nan")
