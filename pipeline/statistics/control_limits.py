"""Individuals and moving range chart: limits from the data, and the two signals read from them.

Limits come from how much neighbouring values differ, so a slow drift hardly widens them; they are
never targets.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Mean range of two normal values in standard deviations, as printed in the handbook's table; exactly
# 2/sqrt(pi) = 1.128379. The printed one is used so that anyone can retrace the limits by hand.
D2_OF_TWO = 1.128


@dataclass(frozen=True)
class IndividualsLimits:
    """Limits of an individuals chart, in the unit of its values.

    Attributes
    ----------
    centre : float
        Mean of the values that the limits rest on
    lower, upper : float
        Centre less and plus three standard deviations, these from the mean moving range
    mean_moving_range : float
        Mean absolute difference of neighbouring values
    points : int
        Number of values that the limits rest on
    """

    centre: float
    lower: float
    upper: float
    mean_moving_range: float
    points: int


def individuals_limits(values: ArrayLike, *, baseline: int | None = None) -> IndividualsLimits:
    """Centre and limits of an individuals chart: mean and mean ± 3 MR/d2.

    Parameters
    ----------
    values : array
        One value a run, in order; NaN marks a gap, across which no moving range is taken [any unit]
    baseline : int
        Number of leading values, gaps included, that the limits rest on; all of them where None [-]

    Returns
    -------
    IndividualsLimits
        In the unit of the values

    Raises
    ------
    ValueError
        If no two neighbouring values are there to take a range of.

    Source
    ------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 Individuals Control Charts, with d2 = 1.128.

    Examples
    --------
    >>> limits = individuals_limits([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
    >>> round(limits.centre, 2), round(limits.upper, 4), round(limits.lower, 4)
    (50.81, 55.8041, 45.8159)
    """
    if baseline is not None and baseline < 2:
        raise ValueError(f"a baseline needs at least 2 values, not {baseline}")
    rested_on = _as_floats(values)[:baseline]
    ranges = np.abs(np.diff(rested_on))
    ranges = ranges[np.isfinite(ranges)]
    if ranges.size == 0:
        raise ValueError("an individuals chart needs at least two neighbouring values")
    centre = float(np.nanmean(rested_on))
    mean_range = float(ranges.mean())
    reach = 3 * mean_range / D2_OF_TWO
    points = int(np.isfinite(rested_on).sum())
    return IndividualsLimits(centre, centre - reach, centre + reach, mean_range, points)


def runs_on_one_side(values: ArrayLike, centre: float, length: int = 8) -> NDArray[np.bool_]:
    """Which values end an unbroken row of at least this length on one side of the centre.

    A gap and a value exactly on the centre break the row.

    Parameters
    ----------
    values : array
        One value a run, in order; NaN marks a gap [any unit]
    centre : float
        Centre line in the same unit [any unit]
    length : int
        Values in a row that make a signal [-]

    Returns
    -------
    array of bool
        True from the value that completes the row until the row ends

    Source
    ------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2, Western Electric rules: eight consecutive points
    on one side of the centre line.

    Examples
    --------
    >>> runs_on_one_side([1, 2, 1, -1, 1], 0.0, length=3).tolist()
    [False, False, True, False, False]
    """
    marked = np.zeros(len(series := _as_floats(values)), dtype=bool)
    side, in_a_row = 0.0, 0
    for position, deviation in enumerate(series - centre):
        side_here = 0.0 if np.isnan(deviation) else float(np.sign(deviation))
        in_a_row = in_a_row + 1 if side_here == side and side_here != 0 else int(side_here != 0)
        side = side_here
        marked[position] = in_a_row >= length
    return marked


def _as_floats(values: ArrayLike) -> NDArray[np.float64]:
    """One row of numbers; None counts as a gap."""
    if isinstance(values, Sequence):
        values = [np.nan if value is None else value for value in values]
    series = np.asarray(values, dtype=np.float64)
    if series.ndim != 1:
        raise ValueError(f"expected one row of values, found {series.ndim} dimensions")
    return series
