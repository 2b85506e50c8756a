"""Where a series changes its level at once: the change points of a run's curve."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.statistics.sensor_faults import noise

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Step:
    """A change of level between two rows; its time with standard uncertainty."""

    time_s: float
    u_time_s: float
    size: float  # in the unit of the series
    z: float  # size in its own standard uncertainty


def steps(times_s: ArrayLike, values: ArrayLike, side: int, least: float, least_z: float = 6.0) -> list[Step]:
    """Steps of a noisy series that may also slope.

    On each side of every place a straight line is fitted to so many values and carried to the place; a step is where
    the two lines disagree most, by more than so many standard uncertainties and more than the least size.

    Parameters
    ----------
    times_s : array
        Times, evenly spaced [s]
    values : array
        The series, NaN where there is no value; windows with NaN have no step [-]
    side : int
        Values on each side [-]
    least : float
        Least size of a step that counts, in the unit of the series [-]
    least_z : float
        Least size in standard uncertainties [-]

    Returns
    -------
    list of Step
        In order of time; neighbours within a window are one

    Source
    ------
    Two-sided least squares at a known place, the place taken where the difference is greatest (Quandt, Journal of the
    American Statistical Association 53 (1958) 873).

    Examples
    --------
    >>> level = np.where(np.arange(100) < 60, 12.0, 46.0) + 0.1 * np.sin(np.arange(100.0) ** 2)
    >>> [found.time_s for found in steps(np.arange(100.0), level, 8, 1.0)]
    [59.5]
    """
    t, y = np.asarray(times_s, dtype=np.float64), np.asarray(values, dtype=np.float64)
    if y.size < 2 * side + 1:
        return []
    at = np.arange(-side, 0) + 0.5
    weights = 1.0 / side + at.mean() * -(at - at.mean()) / ((at - at.mean()) ** 2).sum()  # line carried to place 0
    windows = np.lib.stride_tricks.sliding_window_view(y, side)
    before, after = windows[:-side] @ weights, windows[side:] @ weights[::-1]
    jump = after - before  # of places `side` to size - side: between rows place - 1 and place
    there = np.isfinite(y)
    if there.sum() < 2 * side + 1:
        return []
    sigma = np.full(y.size, np.nan)
    sigma[there] = noise(y[there])
    u = np.maximum(sigma[side : y.size - side + 1], 1e-12) * np.sqrt(2.0 * (weights**2).sum())
    size, z = np.nan_to_num(np.abs(jump)), np.nan_to_num(np.abs(jump) / u)
    found: list[Step] = []
    open_places = (z > least_z) & (size > least)
    while open_places.any():
        place = int(np.argmax(np.where(open_places, size, 0.0)))
        row = place + side
        interval = t[row] - t[row - 1]
        ratio = float(sigma[row]) / float(size[place])
        spread = interval * np.hypot(1.0 / np.sqrt(12.0), ratio * ratio + (0.5 if ratio > 0.5 else 0.0))
        found.append(Step(float((t[row] + t[row - 1]) / 2), float(spread), float(jump[place]), float(z[place])))
        open_places[max(0, place - 2 * side) : place + 2 * side + 1] = False
    return sorted(found, key=lambda step: step.time_s)
