"""The times of a log in the order in which it was written: gaps, duplicates, steps of the clock, uneven sampling."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.statistics.log_finding import Finding

Array = NDArray[np.float64]

GAP_INTERVALS = 3.5  # up to three rows may be missing before it is called a gap
_UNEVEN = 0.25  # part of the interval by which a row may come early or late
_UNEVEN_SHARE = 0.05
_STRAY_ROWS = 3  # so few rows behind their time are out of order; more are a clock set back
_MOST_STEPS = 50  # more steps backwards than this are no clock that somebody set
_MOST_BACK = 0.05  # part of the steps that may go back in rows that are kept in order of time
_FEW_BACK = 3  # so few may in the shortest log


@dataclass(frozen=True)
class LogTimes:
    """Rows to keep, in order of time, with their times; what was found on the way."""

    rows: NDArray[np.int64]
    times_s: Array
    interval_s: float
    findings: tuple[Finding, ...]


def runs_forward(times_s: ArrayLike) -> bool:
    """Whether rows were written in order of time, but for a few.

    Rows that were shuffled, or sorted by another column, say nothing of a clock that was set back.

    Parameters
    ----------
    times_s : array
        Times in the order in which the rows were written [s]

    Returns
    -------
    bool
        True where at most one step in twenty, or three, go back [-]

    Source
    ------
    House method; no published source.

    Examples
    --------
    >>> runs_forward([0, 60, 120, 60, 120, 180]), runs_forward([60, 0, 180, 120, 300, 240, 420, 360])
    (True, False)
    """
    times = np.asarray(times_s, dtype=np.float64)
    return bool((np.diff(times) < 0).sum() <= max(_FEW_BACK, _MOST_BACK * times.size))


def laid_out(times_s: ArrayLike) -> LogTimes:
    """Put the rows of a log in order of time, and say what was wrong with their times.

    A clock that was set back in the middle of a log is set forward again from there on, so that the rows keep the
    order in which they were written. Rows that were never in order of time are sorted, and nothing is said of it. Of
    rows with one and the same time the first is kept. No row is invented.

    Parameters
    ----------
    times_s : array
        Times in the order in which the rows were written [s]

    Returns
    -------
    LogTimes
        Indices of the rows kept, their times, the usual interval, and the findings

    Raises
    ------
    ValueError
        If a time is not a number.

    Source
    ------
    House method; no published source.

    Examples
    --------
    >>> log = laid_out([0, 60, 120, 120, 180, 600, 660])
    >>> [(found.kind, found.first_s, found.last_s) for found in log.findings]
    [('duplicate', 120.0, 120.0), ('gap', 180.0, 600.0)]
    """
    times = np.array(times_s, dtype=np.float64)
    if not np.isfinite(times).all():
        raise ValueError("a row of a log has no time; leave such rows out")
    rows = np.arange(times.size)
    if times.size < 3:
        return LogTimes(rows, times, float("nan"), ())
    if np.sign(np.diff(times)).sum() < 0:  # the newest row first
        mirrored = laid_out(times[::-1])
        return LogTimes(rows[::-1][mirrored.rows], mirrored.times_s, mirrored.interval_s, mirrored.findings)
    if not runs_forward(times):
        rows = np.argsort(times, kind="stable")
        times = times[rows]
    forward = np.diff(times)
    interval = float(np.median(forward[forward > 0])) if (forward > 0).any() else float("nan")
    findings: list[Finding] = []
    if (forward < 0).any():
        times, rows = _in_order(times, interval if np.isfinite(interval) else 0.0, findings)
    rows, times = _without_duplicates(rows, times, findings)
    findings += _gaps(times, interval) + _uneven(times, interval)
    return LogTimes(rows, times, interval, tuple(findings))


def _in_order(times: Array, interval: float, findings: list[Finding]) -> tuple[Array, NDArray[np.int64]]:
    """Steps back undone, stray rows sorted in."""
    strays = 0
    backwards = np.flatnonzero(np.diff(times) < 0)
    first, last = times[backwards[0]], times[backwards[-1]]
    for row in backwards if backwards.size <= _MOST_STEPS else ():
        if times[row + 1] >= times[row]:  # undone with an earlier step
            continue
        behind = int(np.argmax(np.append(times[row + 1 :] > times[row], True)))
        if behind <= _STRAY_ROWS:
            strays += behind
            continue
        step = times[row + 1] - times[row] - interval
        before = float(times[row])
        times[row + 1 :] -= step
        words = f"clock set back by {-step / 60:.1f} min, {(before - float(times[0])) / 60:.0f} min into the log"
        findings.append(Finding("clock step", None, before, before, float(step), words))
    rows = np.argsort(times, kind="stable")
    unordered = strays if backwards.size <= _MOST_STEPS else int(backwards.size)
    if unordered:
        words = f"{unordered} rows out of the order of time"
        findings.append(Finding("irregular sampling", None, float(first), float(last), float(unordered), words))
    return times[rows], rows


def _without_duplicates(
    rows: NDArray[np.int64], times: Array, findings: list[Finding]
) -> tuple[NDArray[np.int64], Array]:
    again = np.flatnonzero(np.diff(times) == 0) + 1
    if not again.size:
        return rows, times
    words = f"{again.size} rows with the time of the row before; the first of them is kept"
    findings.append(
        Finding("duplicate", None, float(times[again[0]]), float(times[again[-1]]), float(again.size), words)
    )
    return np.delete(rows, again), np.delete(times, again)


def _gaps(times: Array, interval: float) -> list[Finding]:
    length = np.diff(times)
    return [
        Finding(
            "gap", None, float(times[i]), float(times[i + 1]), float(length[i]), f"no row for {length[i] / 60:.1f} min"
        )
        for i in np.flatnonzero(length > GAP_INTERVALS * interval)
    ]


def _uneven(times: Array, interval: float) -> list[Finding]:
    length = np.diff(times)
    length = length[length <= GAP_INTERVALS * interval]
    share = float(np.mean(np.abs(length - interval) > _UNEVEN * interval)) if length.size else 0.0
    if share <= _UNEVEN_SHARE:
        return []
    words = f"{100 * share:.0f} % of the rows come more than a quarter of the interval ({interval:.0f} s) early or late"
    return [Finding("irregular sampling", None, float(times[0]), float(times[-1]), share, words)]
