"""Exponentially weighted moving average: a chart that remembers, for small lasting shifts."""

from dataclasses import dataclass
from functools import cache
from math import pi, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.statistics.run_lengths import fredholm_run_length
from gaugebook.pipeline.statistics.run_rules import alike_neighbours


@dataclass(frozen=True)
class EwmaChart:
    """The averages with their limits, one each a value; limits widen to the asymptotic ones."""

    averages: NDArray[np.float64]
    lower: NDArray[np.float64]
    upper: NDArray[np.float64]


def ewma_chart(
    values: ArrayLike, target: float, sigma: float, weight: float = 0.2, reach: float = 2.962, *, widening: bool = True
) -> EwmaChart:
    """Weighted averages z(i) = weight x(i) + (1 - weight) z(i-1) from the target on, with limits.

    Parameters
    ----------
    values : array
        In order of time; a gap (NaN) leaves the average as it was [any unit]
    target : float
        Centre, and where the average starts [unit of the values]
    sigma : float
        Standard deviation of one value [unit of the values]
    weight : float
        Weight of the newest value, above 0 and at most 1 [-]
    reach : float
        Limits in standard deviations of the average; 2.962 with a weight of 0.2 gives a run length of 500 [-]
    widening : bool
        Limits for the number of values so far; otherwise the asymptotic ones throughout [-]

    Returns
    -------
    EwmaChart
        In the unit of the values

    Raises
    ------
    ValueError
        If the weight is outside its range or sigma is not positive.

    Source
    ------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4 (with asymptotic limits); widening limits: Lucas and
    Saccucci, Technometrics 32 (1990) 1-12.

    Examples
    --------
    >>> chart = ewma_chart([52.0, 47.0, 53.0], 50.0, 2.0539, 0.3, 3.0, widening=False)
    >>> [round(float(z), 2) for z in chart.averages], round(float(chart.upper[0]), 3)
    ([50.6, 49.52, 50.56], 52.588)
    """
    if not 0 < weight <= 1 or not sigma > 0:
        raise ValueError(f"the weight is {weight} and sigma {sigma}; expected 0 < weight <= 1 and sigma > 0")
    series = np.asarray(values, dtype=np.float64)
    averages = np.empty(series.size)
    now, seen = target, 0
    share = np.empty(series.size)
    for place, value in enumerate(series.tolist()):
        if value == value:
            now, seen = weight * value + (1 - weight) * now, seen + 1
        averages[place] = now
        share[place] = 1 - (1 - weight) ** (2 * seen) if widening else 1.0
    half = reach * sigma * sqrt(weight / (2 - weight)) * np.sqrt(share)
    return EwmaChart(averages, target - half, target + half)


@cache
def ewma_chance(
    baseline: int, after: int, weight: float = 0.2, reach: float = 2.962, trials: int = 2000, alike: float = 0.0
) -> float:
    """Chance that a stable series leaves the widening limits at least once, these taken from a baseline before it.

    Parameters
    ----------
    baseline : int
        Values that mean and moving range come from, 2 or more [-]
    after : int
        Values averaged, from the centre on [-]
    weight, reach : float
        As in `ewma_chart` [-]
    trials : int
        Simulated series of normal values [-]
    alike : float
        Correlation of neighbouring values [-]

    Returns
    -------
    float
        Probability

    Source
    ------
    Simulation with a fixed seed; the run lengths of `ewma_run_length` hold for known limits only.

    Examples
    --------
    >>> ewma_chance(20, 50) > 2 * ewma_chance(400, 50)
    True
    """
    rng = np.random.default_rng(20_260_102)
    first = alike_neighbours(rng.standard_normal((trials, baseline)), alike)
    centre = first.mean(axis=1)
    sigma = np.abs(np.diff(first, axis=1)).mean(axis=1) * (sqrt(pi) / 2)
    now, left = np.zeros(trials), np.zeros(trials, dtype=bool)
    value = first[:, -1]
    for place in range(1, after + 1):
        value = alike * value + sqrt(1 - alike**2) * rng.standard_normal(trials)
        now = weight * (value - centre) / sigma + (1 - weight) * now
        left |= np.abs(now) > reach * sqrt(weight / (2 - weight) * (1 - (1 - weight) ** (2 * place)))
    return float(left.mean())


def ewma_run_length(weight: float, reach: float, shift: float = 0.0) -> float:
    """Average number of values to the first signal of a chart with fixed (asymptotic) limits and known parameters.

    Parameters
    ----------
    weight : float
        Weight of the newest value [-]
    reach : float
        Limits in standard deviations of the average [-]
    shift : float
        Shift of the mean from the first value on [standard deviations of a value]

    Returns
    -------
    float
        Average run length [values]

    Source
    ------
    Crowder, Technometrics 29 (1987) 401-407: integral equation, here by Gauss-Legendre quadrature.

    Examples
    --------
    >>> round(ewma_run_length(0.2, 2.962))
    500
    """
    limit = reach * sqrt(weight / (2 - weight))

    def density(to: NDArray[np.float64], start: NDArray[np.float64]) -> NDArray[np.float64]:
        at = (to - (1 - weight) * start) / weight
        return np.exp(-0.5 * (at - shift) ** 2) / sqrt(2 * np.pi) / weight

    return fredholm_run_length(density, -limit, limit, 0.0)
