"""Charts of samples that need not be of one size: each mean, and each standard deviation, against the scatter within.

With samples of one size these are the X-bar and S charts of subgroups.
"""

from dataclasses import dataclass
from functools import cache
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.statistics.chart_constants import c4
from gaugebook.pipeline.statistics.run_rules import alarms, rule_signals

Array = NDArray[np.float64]


@dataclass(frozen=True)
class SampleBaseline:
    """Centre of the means and standard deviation within samples; limits for a sample of any size follow from them."""

    mean: float
    sigma: float


def sample_baseline(means: ArrayLike, spreads: ArrayLike, sizes: ArrayLike) -> SampleBaseline:
    """Centre and scatter within, from samples of like or unlike size.

    Parameters
    ----------
    means, spreads : array
        Mean and standard deviation of each sample [any unit]
    sizes : array
        Values in each [-]

    Returns
    -------
    SampleBaseline
        Mean weighted by size; sigma the mean of s / c4(n) weighted by n - 1, so that each is unbiased

    Raises
    ------
    ValueError
        If there are no two samples of at least two values, or a number is missing.

    Source
    ------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.1 (mean s over c4); unlike sizes: Montgomery, Introduction to
    Statistical Quality Control (from memory).

    Examples
    --------
    >>> found = sample_baseline([11.0, 11.5, 10.5], [2**0.5, 0.5**0.5, 4.5**0.5], [2, 2, 2])
    >>> round(found.mean, 2), round(found.sigma, 4)
    (11.0, 1.7725)
    """
    m, s, n = (np.asarray(numbers, dtype=np.float64) for numbers in (means, spreads, sizes))
    if not m.size == s.size == n.size >= 2 or (n < 2).any() or not np.isfinite([m, s, n]).all():
        raise ValueError("expected at least two samples of two values or more, each with mean and standard deviation")
    sigma = float(np.average(s / _c4(n), weights=n - 1))
    return SampleBaseline(float(np.average(m, weights=n)), sigma)


def sample_scores(values: ArrayLike, sizes: ArrayLike, baseline: SampleBaseline, *, of_spread: bool) -> Array:
    """How many of its own standard deviations each sample's mean, or its standard deviation, lies from the centre.

    Parameters
    ----------
    values : array
        Means or standard deviations; NaN is a gap [any unit]
    sizes : array
        Values in each sample [-]
    baseline : SampleBaseline
        What the limits rest on [unit of the values]
    of_spread : bool
        Whether the values are standard deviations [-]

    Returns
    -------
    array
        Beyond -3 or 3 a sample lies outside the limits of the X-bar or S chart for its size [-]

    Source
    ------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.1.

    Examples
    --------
    >>> base = SampleBaseline(10.0, 2.0)
    >>> sample_scores([13.0, 10.0], [4, 16], base, of_spread=False).tolist()
    [3.0, 0.0]
    """
    x, n = np.asarray(values, dtype=np.float64), np.asarray(sizes, dtype=np.float64)
    if not of_spread:
        return np.asarray((x - baseline.mean) * np.sqrt(n) / baseline.sigma)
    share = _c4(n)
    return np.asarray((x - share * baseline.sigma) / (baseline.sigma * np.sqrt(1 - share**2)))


def unlike_means(means: ArrayLike, spreads: ArrayLike, sizes: ArrayLike) -> float:
    """Chance that means of samples of one process differ as much as these: where it is small, their own scatter is the
    measure of a further mean, not the scatter within samples.

    Parameters
    ----------
    means, spreads : array
        Mean and standard deviation of each sample [any unit]
    sizes : array
        Values in each, 2 or more [-]

    Returns
    -------
    float
        Probability; 1 where nothing scatters

    Source
    ------
    One-way analysis of variance: NIST/SEMATECH e-Handbook of Statistical Methods, 7.4.3.

    Examples
    --------
    >>> round(unlike_means([4.0, 5.0, 9.0], [1.0, 1.0, 1.0], [5, 5, 5]), 5), unlike_means([1, 1], [1, 1], [5, 5])
    (1e-05, 1.0)
    """
    from scipy.special import fdtrc

    m, s, n = (np.asarray(numbers, dtype=np.float64) for numbers in (means, spreads, sizes))
    within = float(((n - 1) * s**2).sum() / (n - 1).sum())
    between = float((n * (m - np.average(m, weights=n)) ** 2).sum() / (m.size - 1))
    return float(fdtrc(m.size - 1, (n - 1).sum(), between / within)) if within > 0 else 1.0


def unlike_spreads(spreads: ArrayLike, sizes: ArrayLike) -> float:
    """Chance that standard deviations of samples of one process differ as much as these.

    Parameters
    ----------
    spreads : array
        Standard deviation of each sample, above 0 [any unit]
    sizes : array
        Values in each, 2 or more [-]

    Returns
    -------
    float
        Probability

    Source
    ------
    Bartlett's test: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.7.

    Examples
    --------
    >>> round(unlike_spreads([1.0, 1.0, 1.0], [9, 9, 9]), 3), unlike_spreads([1.0, 1.0, 5.0], [9, 9, 9]) < 0.001
    (1.0, True)
    """
    from scipy.special import chdtrc

    s, free = np.asarray(spreads, dtype=np.float64), np.asarray(sizes, dtype=np.float64) - 1
    pooled = float((free * s**2).sum() / free.sum())
    raw = free.sum() * np.log(pooled) - float((free * np.log(s**2)).sum())
    shrunk = 1 + (float((1 / free).sum()) - 1 / free.sum()) / (3 * (s.size - 1))
    return float(chdtrc(s.size - 1, max(0.0, raw / shrunk)))


@cache
def sample_chance_alarms(
    samples: int, size: int, after: int, *, of_spread: bool, trials: int = 2000
) -> tuple[float, ...]:
    """How many alarms chance gives on an X-bar or S chart with limits from so many samples, in each of many trials.

    Parameters
    ----------
    samples : int
        Samples of the baseline, 2 or more [-]
    size : int
        Values in each sample [-]
    after : int
        Samples judged [-]
    of_spread : bool
        Of the S chart, else of the X-bar chart [-]
    trials : int
        Simulated series of normal values [-]

    Returns
    -------
    tuple of float
        One number a trial, in falling order, by the house's run rules

    Source
    ------
    Simulation with a fixed seed.

    Examples
    --------
    >>> many = sample_chance_alarms(20, 30, 100, of_spread=False)
    >>> 0.4 < sum(many) / len(many) < 1.2  # known limits: 100 / 216.7 = 0.46
    True
    """
    if after < 1:
        return (0.0,) * trials
    rng = np.random.default_rng(20_260_103)
    shape = (trials, samples + after)
    spreads = np.sqrt(rng.chisquare(size - 1, shape) / (size - 1))
    sigma = spreads[:, :samples].mean(axis=1, keepdims=True) / c4(size)
    if of_spread:
        share = c4(size)
        scores = (spreads - share * sigma) / (sigma * sqrt(1 - share**2))
    else:
        means = rng.standard_normal(shape) / sqrt(size)
        scores = (means - means[:, :samples].mean(axis=1, keepdims=True)) * sqrt(size) / sigma
    marked = rule_signals(scores[:, samples:])
    return tuple(sorted(alarms(marked).astype(float).tolist(), reverse=True))


def _c4(sizes: Array) -> Array:
    by_size = {n: c4(int(n)) for n in set(sizes.tolist())}
    return np.array([by_size[n] for n in sizes.tolist()])
