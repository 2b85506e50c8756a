"""Process capability: how a stable process lies to its tolerance, with how little so few values can say about it."""

from dataclasses import dataclass
from math import inf, sqrt

import numpy as np


@dataclass(frozen=True)
class CapabilityIndex:
    """An index with its confidence interval."""

    value: float
    low: float
    high: float


def cpk(
    lower: float | None, upper: float | None, mean: float, sigma: float, points: int, confidence: float = 0.95
) -> CapabilityIndex:
    """Distance from the mean to the nearer limit of the tolerance, over three standard deviations.

    Parameters
    ----------
    lower, upper : float or None
        Tolerance; None where it has one side only [any unit]
    mean : float
        Mean of the process [unit of the tolerance]
    sigma : float
        Standard deviation within the process (Ppk: overall) [unit of the tolerance]
    points : int
        Values that both rest on [-]
    confidence : float
        Two-sided [-]

    Returns
    -------
    CapabilityIndex
        Cpk with an approximate interval

    Raises
    ------
    ValueError
        If sigma is not positive, the tolerance has no limit or fewer than two values are there.

    Source
    ------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6; interval Cpk -+ z sqrt(1/(9 n) + Cpk^2/(2 (n - 1))) as in
    the help of NIST's Dataplot (Bissell 1990, from memory).

    Examples
    --------
    >>> round(cpk(8.0, 20.0, 16.0, 2.0, 50).value, 4)
    0.6667
    """
    from scipy.special import ndtri

    if lower is None and upper is None:
        raise ValueError("a capability needs a tolerance with at least one limit")
    if points < 2:
        raise ValueError(f"a capability needs at least 2 values, not {points}")
    _check(-inf if lower is None else lower, inf if upper is None else upper, sigma)
    rooms = [mean - lower if lower is not None else inf, upper - mean if upper is not None else inf]
    value = min(rooms) / (3 * sigma)
    half = float(ndtri(1 - (1 - confidence) / 2)) * sqrt(1 / (9 * points) + value * value / (2 * (points - 1)))
    return CapabilityIndex(value, value - half, value + half)


def _check(lower: float, upper: float, sigma: float) -> None:
    if not (np.isfinite(sigma) and sigma > 0 and upper > lower):
        raise ValueError(f"tolerance {lower} to {upper} and sigma {sigma}; expected lower < upper and sigma > 0")
