"""What a still run gave, from its own log: volume and pure alcohol by integrating flow and parrot strength.

A running still gives off flammable vapour under heat: these figures say what was logged, not that an operation is
safe. Follow local codes and licensed practice.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.engineering.strength import strength_from_alcoholmeter

Array = NDArray[np.float64]

FLOW_U_PART = 0.010  # standard uncertainty of a flow meter, part of what it shows: common practice
HEAT_OF_STEAM_KWH_KG = 2256.5 / 3600.0  # of vaporisation at 100 °C, IAPWS-95; from memory
_BRIDGE_U_PART = 0.05  # of what is bridged over a gap: house choice, to be added to what its two ends differ by
_LONG = 2.5  # usual intervals; a longer one is a gap that is bridged


@dataclass(frozen=True)
class Collected:
    """Running totals from the first flow on; volumes at 20 °C. Alcohol is NaN where the strength was not logged."""

    times_s: Array
    volume_l: Array
    alcohol_l: Array
    per_strength_l: Array  # change of alcohol_l when every strength is 1 % vol higher
    bridged_l: Array  # part of volume_l that runs over gaps of the log
    u_bridged_part: Array  # running variance of that part [L²]
    strength_bridged_l: Array  # part of volume_l whose strength was not measured
    u_strength_bridged_l: Array  # running uncertainty of alcohol_l from that, added up without signs


@dataclass(frozen=True)
class Quantity:
    """What ran off between two times, with standard uncertainties."""

    volume_l: float
    u_volume_l: float
    alcohol_l: float
    u_alcohol_l: float
    bridged_part: float  # of the volume, that runs over gaps of the flow
    strength_bridged_part: float  # of the volume, whose strength was not measured


def parrot_strength(
    reading_pct_vol: ArrayLike, temperature_c: ArrayLike, u_reading_pct_vol: float, u_temperature_c: float
) -> tuple[Array, Array]:
    """Strength at 20 °C of what passes the parrot, with its standard uncertainty.

    Parameters
    ----------
    reading_pct_vol : array
        Alcoholmeter reading in the parrot [% vol]
    temperature_c : array
        Temperature in the parrot [°C]
    u_reading_pct_vol : float
        Standard uncertainty of the alcoholmeter [% vol]
    u_temperature_c : float
        Standard uncertainty of the thermometer [°C]

    Returns
    -------
    tuple of array
        Strength and standard uncertainty, NaN where a value is missing or cannot be [% vol]

    Source
    ------
    OIML R 22 (1975), Table VIIIb, through `strength_from_alcoholmeter`; propagation of uncertainty: GUM (JCGM 100:2008)
    5.1.2.

    Examples
    --------
    >>> strength, u = parrot_strength([68.0], [0.0], 0.15, 0.3)  # Table VIIIb prints 74.3
    >>> [round(float(value), 1) for value in (strength[0], u[0])]
    [74.3, 0.2]
    """
    reading = np.clip(np.atleast_1d(np.asarray(reading_pct_vol, dtype=np.float64)), 0.0, None)
    temperature = np.atleast_1d(np.asarray(temperature_c, dtype=np.float64))
    strength = np.asarray(strength_from_alcoholmeter(reading, temperature))
    warmer = np.asarray(strength_from_alcoholmeter(reading, temperature + 1.0))
    per_kelvin = np.nan_to_num(strength - warmer, nan=0.35)  # beyond the table's edge: what it is near it
    return strength, np.where(np.isnan(strength), np.nan, np.hypot(u_reading_pct_vol, per_kelvin * u_temperature_c))


def collected(
    times_s: ArrayLike, flow_l_h: ArrayLike, strength_pct_vol: ArrayLike, counter_l: ArrayLike | None = None,
    *, is_counted: bool = False,
) -> Collected:  # fmt: skip
    """Running totals of distillate and of pure alcohol in it.

    Trapezoidal rule over the flows that were measured. Where they are further apart than two and a half usual
    intervals the flow is bridged by a straight line, and by the counter where there is one; what was bridged is kept
    apart. Strengths between two measured ones are taken on the straight line between them, and beyond the first and
    last as these are; what is so carried over more than two and a half usual intervals is kept apart too.

    Parameters
    ----------
    times_s : array
        Times, increasing [s]
    flow_l_h : array
        Flow of distillate as volume at 20 °C, NaN where it was not measured [L/h]
    strength_pct_vol : array
        Strength of the distillate at 20 °C, NaN where it was not measured [% vol]
    counter_l : array or None
        Counted volume at 20 °C, used over gaps only [L]
    is_counted : bool
        The flow was made from the counter, which is then used throughout [-]

    Returns
    -------
    Collected
        Running totals at each time [L]

    Raises
    ------
    ValueError
        If fewer than two flows were measured.

    Source
    ------
    Trapezoidal rule. The uncertainty of a bridge is a rectangle between its two ends (GUM, JCGM 100:2008, 4.3.7) and
    5 % of what it carries (house choice); that of a bridged strength likewise a rectangle between its two ends, and a
    twentieth of the strength where it has one end only.

    Examples
    --------
    >>> total = collected([0, 1800, 3600], [60.0, 60.0, 60.0], [80.0, 80.0, 80.0])
    >>> float(total.volume_l[-1]), float(total.alcohol_l[-1])
    (60.0, 48.0)
    """
    t, flow = np.asarray(times_s, dtype=np.float64), np.asarray(flow_l_h, dtype=np.float64)
    strength = np.asarray(strength_pct_vol, dtype=np.float64)
    there = np.flatnonzero(np.isfinite(flow))
    if there.size < 2:
        raise ValueError(f"{there.size} flows were measured; expected two or more")
    at, f = t[there], flow[there]
    hours = np.diff(at) / 3600.0
    volume = hours * (f[1:] + f[:-1]) / 2.0
    gap = hours > _LONG * np.median(hours)
    if counter_l is not None:
        counted = np.diff(np.asarray(counter_l, dtype=np.float64)[there])
        volume = np.where((gap | is_counted) & (counted >= 0), counted, volume)  # false where the counter is NaN
    rectangle = np.hypot(np.abs(f[1:] - f[:-1]) / 2 * hours / np.sqrt(3.0), _BRIDGE_U_PART * volume)
    middle, u_middle, is_bridged = _strength_between(t, strength, (at[1:] + at[:-1]) / 2)
    return Collected(
        t,
        _running(t, at, volume),
        _running(t, at, volume * middle),
        _running(t, at, volume / 100.0),
        _running(t, at, np.where(gap, volume, 0.0)),
        _running(t, at, np.where(gap, rectangle, 0.0) ** 2),
        _running(t, at, np.where(is_bridged, volume, 0.0)),
        _running(t, at, np.where(is_bridged, volume * u_middle, 0.0)),
    )


def _strength_between(t: Array, strength: Array, wanted: Array) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Strength as a fraction at these times, what is uncertain of it where it is bridged, and where that is."""
    known = np.isfinite(strength)
    if not known.any():
        return np.full(wanted.size, np.nan), np.zeros(wanted.size), np.zeros(wanted.size, dtype=bool)
    at, q = t[known], strength[known] / 100.0
    long = _LONG * float(np.median(np.diff(at))) if at.size > 1 else 0.0
    after = np.searchsorted(at, wanted)
    before, after = np.clip(after - 1, 0, at.size - 1), np.clip(after, 0, at.size - 1)
    is_inside = (wanted >= at[0]) & (wanted <= at[-1])
    reach = np.where(is_inside, at[after] - at[before], np.maximum(at[0] - wanted, wanted - at[-1]))
    u = np.where(is_inside, np.abs(q[after] - q[before]) / 2 / np.sqrt(3.0), _BRIDGE_U_PART * q[after])
    return np.interp(wanted, at, q), u, reach > long


def _running(t: Array, at: Array, parts: Array) -> Array:
    return np.interp(t, at, np.concatenate([[0.0], np.cumsum(parts)]))


def quantity(
    total: Collected, from_s: float, to_s: float, u_from_s: float, u_to_s: float, u_flow_part: float, u_pct_vol: float
) -> Quantity:
    """Volume and pure alcohol that ran off between two cuts.

    The uncertainty adds the flow meter's (a common factor), the strength's (a common offset), that of bridged gaps, and
    that of the two cut times at the rate that ran then.

    Parameters
    ----------
    total : Collected
        Running totals of the run [-]
    from_s, to_s : float
        The two cuts [s]
    u_from_s, u_to_s : float
        Their standard uncertainties [s]
    u_flow_part : float
        Standard uncertainty of the flow, as a part of it [-]
    u_pct_vol : float
        Standard uncertainty of the strength [% vol]

    Returns
    -------
    Quantity
        Volume and pure alcohol [L], with standard uncertainties [L]

    Source
    ------
    GUM (JCGM 100:2008) 5.1.2.

    Examples
    --------
    >>> total = collected([0, 1800, 3600], [60.0, 60.0, 60.0], [80.0, 80.0, 80.0])
    >>> half = quantity(total, 0.0, 1800.0, 0.0, 60.0, 0.01, 0.2)
    >>> round(half.alcohol_l, 1), round(half.u_alcohol_l, 2)
    (24.0, 0.84)
    """
    edges = np.array([from_s, to_s])

    def between(running: Array) -> float:
        low, high = np.interp(edges, total.times_s, running)
        return float(high - low)

    # at the run's ends nothing runs outside: the rate a little inside, and that of a short part itself, count as well
    inside = np.array([min(from_s + 150.0, to_s), max(to_s - 150.0, from_s)])
    begins, ends = np.array([from_s, max(to_s - 300.0, from_s)]), np.array([min(from_s + 300.0, to_s), to_s])

    def u_cuts(running: Array) -> float:
        grown = np.interp(ends, total.times_s, running) - np.interp(begins, total.times_s, running)
        rates_nearby = np.maximum(*(rate_at(total.times_s, running, places) for places in (edges, inside)))
        rates = np.maximum(rates_nearby, grown / np.maximum(ends - begins, 1e-9))
        return float(np.hypot(*(rates * [u_from_s, u_to_s])))

    volume, alcohol = between(total.volume_l), between(total.alcohol_l)
    u_bridge = float(np.sqrt(max(between(total.u_bridged_part), 0.0)))
    u_volume = np.sqrt((u_flow_part * volume) ** 2 + u_bridge**2 + u_cuts(total.volume_l) ** 2)
    share = alcohol / volume if volume > 0 else 0.0
    u_alcohol = np.sqrt(
        (u_flow_part * alcohol) ** 2
        + (between(total.per_strength_l) * u_pct_vol) ** 2
        + (share * u_bridge) ** 2
        + between(total.u_strength_bridged_l) ** 2
        + u_cuts(total.alcohol_l) ** 2
    )
    flow, strength = (
        between(running) / volume if volume > 0 else 0.0 for running in (total.bridged_l, total.strength_bridged_l)
    )
    return Quantity(volume, float(u_volume), alcohol, float(u_alcohol), flow, strength)


def rate_at(times_s: ArrayLike, running: ArrayLike, at_s: ArrayLike) -> Array:
    """Rate at which a running total grows, over five minutes around given times.

    Parameters
    ----------
    times_s : array
        Times of the running total, increasing [s]
    running : array
        The total [L]
    at_s : array
        Where the rate is wanted [s]

    Returns
    -------
    array
        Rate [L/s]

    Source
    ------
    House method; no published source.

    Examples
    --------
    >>> rate_at([0.0, 600.0], [0.0, 60.0], [300.0]).tolist()
    [0.1]
    """
    t, at, total = (np.asarray(given, dtype=np.float64) for given in (times_s, at_s, running))
    low, high = np.clip(at - 150.0, t[0], t[-1]), np.clip(at + 150.0, t[0], t[-1])
    grown = np.interp(high, t, total) - np.interp(low, t, total)
    return np.asarray(grown / np.maximum(high - low, 1e-9))


def cut_by_receivers(
    times_s: ArrayLike, running_l: ArrayLike, before_l: ArrayLike, after_l: ArrayLike, u_before_l: ArrayLike,
    u_after_l: ArrayLike,
) -> tuple[float, float]:  # fmt: skip
    """When the stream was turned into the next receiver, from what the receivers were found to hold.

    The part of all distillate that lies in the receivers before the cut is set against the running total of the log:
    a wrong factor of the flow meter, and a steady loss, leave the part as it is.

    Parameters
    ----------
    times_s : array
        Times of the running total [s]
    running_l : array
        Running total of the log, pure alcohol or volume at 20 °C [L]
    before_l, after_l : array
        Gauged contents of the receivers before and after the cut, in the same measure [L]
    u_before_l, u_after_l : array
        Their standard uncertainties [L]

    Returns
    -------
    tuple of float
        Time of the cut and its standard uncertainty from the gauges [s]; NaN where a gauge is missing

    Source
    ------
    GUM (JCGM 100:2008) 5.1.2 on the ratio before / (before + after).

    Examples
    --------
    >>> cut_by_receivers([0.0, 3600.0], [0.0, 100.0], [25.0], [25.0, 50.0], [0.0], [0.0, 0.0])
    (900.0, 0.0)
    """
    t, running = np.asarray(times_s, dtype=np.float64), np.asarray(running_l, dtype=np.float64)
    before, after = float(np.sum(before_l)), float(np.sum(after_l))
    whole = before + after
    if not (np.isfinite(whole) and whole > 0 and running[-1] > running[0]):
        return float("nan"), float("nan")
    u_before, u_after = float(np.linalg.norm(u_before_l)), float(np.linalg.norm(u_after_l))
    u_part = np.hypot(after * u_before, before * u_after) / whole**2
    all_l = running[-1] - running[0]
    at = _first_time(t, running, running[0] + before / whole * all_l)
    rate = float(rate_at(t, running, [at])[0])
    return at, float(u_part * all_l / rate) if rate > 0 else float("nan")


def cut_by_volume(
    times_s: ArrayLike, running_l: ArrayLike, passed_l: float, u_passed_l: float, *, is_from_end: bool
) -> tuple[float, float]:
    """When so much had run off, or when so much was still to run: the cut beside which not all receivers were gauged.

    Parameters
    ----------
    times_s : array
        Times of the running total [s]
    running_l : array
        Running total of the log, pure alcohol or volume at 20 °C [L]
    passed_l, u_passed_l : float
        What passed before the cut, or after it, with its standard uncertainty, the flow meter's included [L]
    is_from_end : bool
        Whether it passed after the cut [-]

    Returns
    -------
    tuple of float
        Time of the cut and its standard uncertainty [s]; NaN where it cannot be told from the begin or the end

    Source
    ------
    GUM (JCGM 100:2008) 5.1.2.

    Examples
    --------
    >>> at_s, u_s = cut_by_volume([0.0, 3600.0], [0.0, 100.0], 25.0, 1.0, is_from_end=True)
    >>> round(at_s, 6), round(u_s, 6)
    (2700.0, 36.0)
    """
    t, running = np.asarray(times_s, dtype=np.float64), np.asarray(running_l, dtype=np.float64)
    all_l = float(running[-1] - running[0])
    if not (passed_l > 2.0 * u_passed_l and passed_l + 2.0 * u_passed_l < all_l):
        return float("nan"), float("nan")
    at = _first_time(t, running, running[-1] - passed_l if is_from_end else running[0] + passed_l)
    return at, u_passed_l / float(rate_at(t, running, [at])[0])


def _first_time(t: Array, running: Array, wanted: float) -> float:
    """When the running total reached this; of a stretch in which nothing ran, its begin."""
    i = int(np.searchsorted(running, min(wanted, running[-1])))
    if i == 0:
        return float(t[0])
    return float(t[i - 1] + (t[i] - t[i - 1]) / (running[i] - running[i - 1]) * (wanted - running[i - 1]))
