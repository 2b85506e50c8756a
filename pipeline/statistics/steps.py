"""Where a series changes its level at once: the change points of a run's curve."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.statistics.sensor_faults import noise

Array = NDArray[np.float64]

LEAST_ROWS = 3  # on either side of a step; with fewer nothing tells it from a value that is off


@dataclass(frozen=True)
class Step:
    """A change of level between two rows; its time with standard uncertainty."""

    time_s: float
    u_time_s: float
    size: float  # in the unit of the series
    z: float  # size in its own standard uncertainty


def steps(times_s: ArrayLike, values: ArrayLike, side: int, least: float, least_z: float = 6.0) -> list[Step]:
    """Steps of a noisy series that may also slope.

    On each side of every place a straight line is fitted to so many values, or to as many as there are to the end of
    the series, and carried to the place; near a place where the two lines disagree by more than so many standard
    uncertainties and more than the least size there is a step. Its time is that of the least sum of squares about two
    lines; the uncertainty is the spread of all places by their likelihood, and the interval's own. A step with fewer
    than three values on one side is not told.

    Parameters
    ----------
    times_s : array
        Times, evenly spaced [s]
    values : array
        The series, NaN where there is no value; windows with NaN have no step [-]
    side : int
        Values on each side, 3 or more [-]
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
    Two lines parted at an unknown place, by maximum likelihood (Quandt, Journal of the American Statistical Association
    53 (1958) 873); the spread of the place is that of its likelihood, all places being as likely before.

    Examples
    --------
    >>> level = np.where(np.arange(100) < 60, 12.0, 46.0) + 0.1 * np.sin(np.arange(100.0) ** 2)
    >>> [found.time_s for found in steps(np.arange(100.0), level, 8, 1.0)]
    [59.5]
    """
    t, y = np.asarray(times_s, dtype=np.float64), np.asarray(values, dtype=np.float64)
    there = np.isfinite(y)
    if there.sum() < 2 * side + 1:
        return []
    sigma = np.full(y.size, np.nan)
    sigma[there] = np.maximum(noise(y[there]), 1e-12)
    jump, spread = _jumps(y, side)
    u = sigma * spread
    with np.errstate(invalid="ignore"):
        size, z = np.nan_to_num(np.abs(jump)), np.nan_to_num(np.abs(jump) / u)
    steps_in_order: list[Step] = []
    open_places = (z > least_z) & (size > least)
    while open_places.any():
        place = int(np.argmax(np.where(open_places, size, 0.0)))
        step = _placed(t, y, place, side, float(sigma[place]))
        if step is not None and abs(step.size) > least and abs(step.z) > least_z:
            steps_in_order.append(step)
        open_places[max(0, place - 2 * side) : place + 2 * side + 1] = False
    return sorted(steps_in_order, key=lambda step: step.time_s)


def _weights(rows: int) -> Array:
    """What each of the rows before a place counts for in the line's value there."""
    at = np.arange(-rows, 0) + 0.5
    return np.asarray(1.0 / rows - at.mean() * (at - at.mean()) / ((at - at.mean()) ** 2).sum())


def _jumps(y: Array, side: int) -> tuple[Array, Array]:
    """By place (between a row and the one before): the step between the two lines, and its spread in sigmas."""
    before, after = np.full(y.size, np.nan), np.full(y.size, np.nan)
    spread = np.full(y.size, np.nan)
    rows = np.minimum(np.minimum(np.arange(y.size), y.size - np.arange(y.size)), side)
    whole = _weights(side)
    windows = np.lib.stride_tricks.sliding_window_view(y, side)
    before[side:] = windows[:-1] @ whole
    after[: y.size - side + 1] = windows @ whole[::-1]
    for few in range(LEAST_ROWS, side):  # windows that the ends cut short
        weights = _weights(few)
        before[few], after[y.size - few] = y[:few] @ weights, y[y.size - few :] @ weights[::-1]
    of_rows = {few: float((_weights(few) ** 2).sum()) for few in range(LEAST_ROWS, side + 1)}
    for few, square in of_rows.items():
        spread[rows == few] = np.sqrt(square + of_rows[side])
    return after - before, spread


def _placed(t: Array, y: Array, place: int, side: int, sigma: float) -> Step | None:
    """The step near a place, or None where its likeliest place lies at the end of what was looked at."""
    low, high = max(0, place - side), min(y.size, place + side)
    x, level = t[low:high] - t[low], y[low:high]
    if not np.isfinite(level).all():
        return None
    squares = _squares(x, level)
    places = np.arange(1, x.size)
    rest = max(sigma**2, float(squares.min()) / (x.size - 4))
    likely = np.exp(-(squares - squares.min()) / (2.0 * rest))
    best = int(places[np.argmax(likely)])
    if best < LEAST_ROWS or best > x.size - LEAST_ROWS:
        return None
    likely /= likely.sum()
    middles = (x[1:] + x[:-1]) / 2
    at = middles[best - 1]
    interval = float(x[best] - x[best - 1])
    u_time = np.hypot(np.sqrt(float(likely @ (middles - at) ** 2)), interval / np.sqrt(12.0))
    before, after = _weights(best), _weights(x.size - best)
    size = float(level[best:] @ after[::-1] - level[:best] @ before)
    u_size = np.sqrt(rest * float((before**2).sum() + (after**2).sum()))
    return Step(float(t[low] + at), float(u_time), size, size / float(u_size))


def _squares(x: Array, y: Array) -> Array:
    """Sum of squares about one line before and one after each place; a single value has none, two have a level."""
    y = y - y.mean()
    ones = [np.ones(x.size), x, y, x * x, x * y, y * y]
    sums = [np.cumsum(series) for series in ones]
    return _about_line([s[:-1] for s in sums]) + _about_line([s[-1] - s[:-1] for s in sums])


def _about_line(sums: list[Array]) -> Array:
    n, sx, sy, sxx, sxy, syy = sums
    about_level = syy - sy * sy / n
    spread = sxx - sx * sx / n
    with np.errstate(divide="ignore", invalid="ignore"):
        by_slope = np.where(n >= LEAST_ROWS, (sxy - sx * sy / n) ** 2 / spread, 0.0)
    return np.asarray(np.maximum(about_level - by_slope, 0.0))
