"""Charts of subgroups: the mean of each with its range or its standard deviation, as for the fills of a bottling."""

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.statistics.chart_constants import chart_constants


@dataclass(frozen=True)
class SubgroupLimits:
    """Limits for the means of subgroups and for their spread (range or standard deviation).

    `sigma` is the standard deviation within subgroups that both rest on, in the unit of the values.
    """

    mean: float
    mean_lower: float
    mean_upper: float
    spread: float
    spread_lower: float
    spread_upper: float
    sigma: float
    subgroups: int


def xbar_r_limits(values: ArrayLike) -> SubgroupLimits:
    """Limits of mean and range from subgroups of equal size.

    Parameters
    ----------
    values : array
        One row a subgroup [any unit]

    Returns
    -------
    SubgroupLimits
        In the unit of the values

    Raises
    ------
    ValueError
        If there are no two subgroups of at least two values, or a value is missing.

    Source
    ------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.1, with exact constants.

    Examples
    --------
    >>> limits = xbar_r_limits([[10.0, 12.0], [11.0, 12.0], [9.0, 12.0]])
    >>> round(limits.mean, 2), round(limits.spread, 2), round(limits.mean_upper, 3)
    (11.0, 2.0, 14.76)
    """
    table = _table(values)
    constants = chart_constants(table.shape[1])
    mean, spread = float(table.mean()), float(np.ptp(table, axis=1).mean())
    reach = constants.a2 * spread
    return SubgroupLimits(
        mean, mean - reach, mean + reach, spread, constants.d3_limit * spread, constants.d4_limit * spread,
        spread / constants.d2, len(table),
    )  # fmt: skip


def xbar_s_limits(values: ArrayLike) -> SubgroupLimits:
    """Limits of mean and standard deviation from subgroups of equal size; better than the range above ten values.

    Parameters
    ----------
    values : array
        One row a subgroup [any unit]

    Returns
    -------
    SubgroupLimits
        In the unit of the values

    Raises
    ------
    ValueError
        If there are no two subgroups of at least two values, or a value is missing.

    Source
    ------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.1, with exact constants.

    Examples
    --------
    >>> limits = xbar_s_limits([[10.0, 12.0], [11.0, 12.0], [9.0, 12.0]])
    >>> round(limits.mean, 2), round(limits.spread, 4), round(limits.sigma, 4)
    (11.0, 1.4142, 1.7725)
    """
    table = _table(values)
    constants = chart_constants(table.shape[1])
    mean, spread = float(table.mean()), float(table.std(axis=1, ddof=1).mean())
    reach = constants.a3 * spread
    return SubgroupLimits(
        mean, mean - reach, mean + reach, spread, constants.b3 * spread, constants.b4 * spread,
        spread / constants.c4, len(table),
    )  # fmt: skip


def between_subgroups(means: ArrayLike, sigma: float, size: int) -> float:
    """Standard deviation between subgroups beyond what the scatter within them explains.

    Where it is not nought, as for batches that are set up anew, limits of the means from the scatter within are too
    narrow and an individuals chart of the means is the right one.

    Parameters
    ----------
    means : array
        Means of the subgroups [any unit]
    sigma : float
        Standard deviation within subgroups [unit of the means]
    size : int
        Values in each subgroup [-]

    Returns
    -------
    float
        In the unit of the means; 0 where the means scatter no more than chance makes them

    Source
    ------
    Variance components of the one-way layout by the method of moments: NIST/SEMATECH e-Handbook of Statistical
    Methods, 3.2.3 (from memory).

    Examples
    --------
    >>> round(between_subgroups([10.0, 12.0, 11.0, 13.0], 1.0, 4), 3)
    1.19
    """
    variance = float(np.var(np.asarray(means, dtype=np.float64), ddof=1)) - sigma**2 / size
    return sqrt(max(0.0, variance))


def _table(values: ArrayLike) -> NDArray[np.float64]:
    table = np.asarray(values, dtype=np.float64)
    if table.ndim != 2 or table.shape[0] < 2 or table.shape[1] < 2 or not np.isfinite(table).all():
        raise ValueError("expected at least two subgroups of the same size, two values or more each, none missing")
    return table
