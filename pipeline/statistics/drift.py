"""Does one sensor move away from a second that should show the same?"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

_BLOCKS = 12
_FEWEST = 24  # differences in all


@dataclass(frozen=True)
class Drift:
    """Change of a difference from the first to the last value, with the uncertainty of its fit."""

    change: float
    u_change: float
    is_certain: bool  # the slope is more than chance explains, at one in a thousand


def drift(times_s: ArrayLike, difference: ArrayLike) -> Drift | None:
    """Fit a straight line to the difference of two sensors, averaged in twelve blocks.

    Averages of blocks are nearly independent where neighbouring values are not, so the line's uncertainty is honest.

    Parameters
    ----------
    times_s : array
        Times [s]
    difference : array
        First sensor less second, NaN where one of them is missing [-]

    Returns
    -------
    Drift or None
        The change over the whole time; None with fewer than 24 differences

    Source
    ------
    Least squares by batch means (Law, Simulation Modeling and Analysis, from memory); Student's t for the slope.

    Examples
    --------
    >>> found = drift(np.arange(240.0), np.linspace(0.0, 2.0, 240) + 0.1 * np.sin(np.arange(240.0) ** 2))
    >>> round(found.change, 1), found.is_certain
    (2.0, True)
    """
    from scipy.special import stdtrit  # scipy takes long to import, and not everything that cleans logs gets here

    t, d = np.asarray(times_s, dtype=np.float64), np.asarray(difference, dtype=np.float64)
    there = np.isfinite(d)
    t, d = t[there], d[there]
    if d.size < _FEWEST:
        return None
    at = np.array([part.mean() for part in np.array_split(t, _BLOCKS)])
    mean = np.array([part.mean() for part in np.array_split(d, _BLOCKS)])
    off = at - at.mean()
    slope = float((off * mean).sum() / (off**2).sum())
    left = mean - mean.mean() - slope * off
    u_slope = float(np.sqrt((left**2).sum() / (_BLOCKS - 2) / (off**2).sum()))
    span = float(t[-1] - t[0])
    certain = abs(slope) > u_slope * float(stdtrit(_BLOCKS - 2, 1 - 0.0005))
    return Drift(slope * span, u_slope * span, bool(certain))
