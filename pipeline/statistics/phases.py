"""The phases of a still run read off its curves: heating, vapour at the head, first drop, end of the run."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

_FLOWS = 0.03  # part of the run's strong flow above which distillate is said to run
_ROWS = 3  # that a flow must last to be one
_SETTLED = 0.05  # part of the whole rise of the pot that counts as rising


@dataclass(frozen=True)
class Phases:
    """Times [s] with standard uncertainties; NaN where the log does not show it."""

    heat_from_s: float
    vapour_at_s: float
    first_drop_s: float
    u_first_drop_s: float
    end_s: float
    u_end_s: float
    heat_up_k_min: float


def phases(times_s: ArrayLike, flow_l_h: ArrayLike, pot_c: ArrayLike, vapour_c: ArrayLike) -> Phases:
    """When a run was heated, gave vapour and first drop, and ended.

    The first drop lies between the last row without flow and the first of three with flow, the end likewise; half way,
    with the standard uncertainty of a rectangle. Heating begins where the pot's rise begins.

    Parameters
    ----------
    times_s : array
        Times [s]
    flow_l_h : array
        Flow of distillate, NaN where it is not known [L/h]
    pot_c : array
        Temperature of the pot [°C]
    vapour_c : array
        Temperature of the vapour at the head [°C]

    Returns
    -------
    Phases
        Times of the phases [s], heat-up rate [K/min]

    Source
    ------
    House method; no published source. Rectangular distribution: GUM (JCGM 100:2008) 4.3.7.

    Examples
    --------
    >>> minute = np.arange(40)
    >>> flow = np.where((minute >= 20) & (minute < 35), 90.0, 0.0)
    >>> found = phases(60.0 * minute, flow, 20.0 + 3.5 * np.minimum(minute, 20), np.full(40, 70.0))
    >>> found.first_drop_s / 60, found.end_s / 60, round(found.heat_up_k_min, 1)
    (19.5, 34.5, 3.5)
    """
    t = np.asarray(times_s, dtype=np.float64)
    flow, pot, vapour = (np.asarray(series, dtype=np.float64) for series in (flow_l_h, pot_c, vapour_c))
    first, u_first, end, u_end = _flowing(t, flow)
    warm_until = first if np.isfinite(first) else t[-1] if t.size else np.nan
    heat_from, rate = _heating(t, pot, warm_until)
    return Phases(heat_from, _risen(t, vapour, warm_until), first, u_first, end, u_end, rate)


def _flowing(t: Array, flow: Array) -> tuple[float, float, float, float]:
    there = np.flatnonzero(np.isfinite(flow))
    known = flow[there]
    if not (known > 0).any():
        return (np.nan,) * 4
    runs = known > _FLOWS * float(np.quantile(known[known > 0], 0.9))
    lasting = np.convolve(runs, np.ones(_ROWS), "valid") == _ROWS
    if not lasting.any():
        return (np.nan,) * 4
    first, last = int(np.argmax(lasting)), int(lasting.size - 1 - np.argmax(lasting[::-1])) + _ROWS - 1
    edges = []
    for inside, outside in ((first, first - 1), (last, last + 1)):
        if 0 <= outside < known.size:
            low, high = sorted((t[there[inside]], t[there[outside]]))
            edges += [float(low + high) / 2, float(high - low) / np.sqrt(12.0)]
        else:  # the log begins or ends while distillate runs
            edges += [float(t[there[inside]]), np.nan]
    return tuple(edges)


def _heating(t: Array, pot: Array, until: float) -> tuple[float, float]:
    there = np.isfinite(pot) & (t <= until)
    at, y = t[there], pot[there]
    if y.size < 4:
        return np.nan, np.nan
    cold, hot = float(np.median(y[:3])), float(np.median(y[-3:]))
    if hot - cold < 10.0:  # charged hot, or the log begins late
        return np.nan, np.nan
    risen = (y - cold) / (hot - cold)
    last_cold = int(np.flatnonzero(risen <= _SETTLED)[-1])  # one of the first three at least: cold is their median
    climbing = (risen > 0.15) & (risen < 0.85) & (at >= at[last_cold])
    if climbing.sum() < 2:
        return float(at[last_cold]), np.nan
    slope = float(np.polyfit(at[climbing] - at[0], y[climbing], 1)[0])
    if slope <= 0:  # so few rows, or so wild, that they tell no rate of a pot that did get hot
        return float(at[last_cold]), np.nan
    return float(max(at[0], at[last_cold] - (y[last_cold] - cold) / slope)), 60.0 * slope


def _risen(t: Array, vapour: Array, until: float) -> float:
    """Where the vapour temperature passes half way from cold to what it has at the first drop."""
    there = np.isfinite(vapour) & (t <= until)
    at, y = t[there], vapour[there]
    if y.size < 4 or np.median(y[-2:]) - np.median(y[:3]) < 10.0:
        return float("nan")
    half = (np.median(y[-2:]) + np.median(y[:3])) / 2
    below = np.flatnonzero(y < half)
    row = int(below[-1])
    return float(np.interp(half, y[row : row + 2], at[row : row + 2]))  # the last row itself where none follows
