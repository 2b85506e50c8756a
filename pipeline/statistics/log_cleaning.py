"""A log made fit to reckon with: what is wrong is found, timed and set aside; each value says what became of it."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.statistics.log_finding import Finding
from gaugebook.pipeline.statistics.log_times import GAP_INTERVALS, LogTimes, laid_out
from gaugebook.pipeline.statistics.sensor_faults import noise, spikes, standing_still

Array = NDArray[np.float64]
States = NDArray[np.int8]
Lasting = Callable[[float, float], Finding]  # makes the finding of a stretch from its begin and end

# What became of a value. Only MEASURED ones are used; nothing is put in the place of the others here.
MEASURED, MISSING, SPIKE, STUCK, SATURATED = range(5)

UNCLEAR = "; nothing in the log tells it from a clock set forward"

_MOST_SPIKES = 20  # named one by one
_SIDE_S = 1800.0  # of the log on each side of a gap that tells where its values were going
_SIDE_ROWS = 40
_TELLING = 8.0  # standard deviations that all series together should have moved
_STOOD = 0.35  # part of what was expected, by least squares over the series, below which no time has passed


@dataclass(frozen=True)
class CleanLog:
    """Rows in order of time; by tag the values (NaN unless MEASURED) and what became of each."""

    times_s: Array
    interval_s: float
    values: dict[str, Array]
    states: dict[str, States]
    findings: tuple[Finding, ...]


def clean(
    times_s: ArrayLike, values: Mapping[str, ArrayLike], resting: Collection[str] = (), counters: Collection[str] = (),
    measured: Collection[str] = (),
) -> CleanLog:  # fmt: skip
    """Find what is wrong with a log, and leave out of each series what no sensor measured.

    Parameters
    ----------
    times_s : array
        Times in the order in which the rows were written [s]
    values : mapping
        By tag the values of each row, NaN where there is none, in the unit of the tag [-]
    resting : collection of str
        Tags that are rightly nought while nothing runs [-]
    counters : collection of str
        Tags that count up and rest before and after [-]
    measured : collection of str
        Tags that are no set points, whatever they show [-]

    Returns
    -------
    CleanLog
        The rows in order of time, with the findings in order of time

    Raises
    ------
    ValueError
        If a time is not a number or a series is not as long as the times.

    Source
    ------
    House method; `log_times` and `sensor_faults` name theirs.

    Examples
    --------
    >>> shown = [20.0 + 0.1 * (row % 3) for row in range(60)]
    >>> log = clean([60 * row for row in range(60)], {"pot": shown[:30] + [99.0] + shown[31:]})
    >>> [(found.kind, found.tag, found.first_s) for found in log.findings]
    [('spike', 'pot', 1800.0)]
    >>> float(log.values["pot"][30]), int(log.states["pot"][30]) == SPIKE
    (nan, True)
    """
    times = laid_out(times_s)
    columns = {tag: np.asarray(series, dtype=np.float64)[times.rows] for tag, series in values.items()}
    kept: dict[str, Array] = {}
    states: dict[str, States] = {}
    findings: list[Finding] = []
    lasting: list[tuple[Lasting, float, float]] = []
    for tag, series in columns.items():
        kind = {"rests_at_zero": tag in resting, "counts": tag in counters, "is_set": tag not in measured}
        kept[tag], states[tag], finding, stretches = _sensor(tag, times, series, kind)
        findings += finding
        lasting += stretches
    times_s, of_clock = _clock_steps_forward(times, kept)
    findings = sorted(
        [*of_clock, *_moved(findings, lasting, times.times_s, times_s)],
        key=lambda finding: (finding.first_s, finding.kind, finding.tag or ""),
    )
    return CleanLog(times_s, times.interval_s, kept, states, tuple(findings))


def _sensor(
    tag: str, times: LogTimes, series: Array, kind: Mapping[str, bool]
) -> tuple[Array, States, list[Finding], list[tuple[Lasting, float, float]]]:
    """What was measured, what became of each value, spikes, and stretches whose length the clock may yet change."""
    there = np.isfinite(series)
    places = np.flatnonzero(there)
    states: States = np.where(there, np.int8(MEASURED), np.int8(MISSING))
    if not places.size:
        return series, states, [], []
    x, t = (series, times.times_s) if places.size == series.size else (series[places], times.times_s[places])
    stretches = _gaps_of_tag(tag, times, t) if places.size < series.size else []
    wild = spikes(x)
    states[places[wild]] = SPIKE
    findings = _spike_findings(tag, x, t, wild)
    for still in standing_still(x, t, **kind):
        name, state = ("saturated", SATURATED) if still.is_at_end_of_scale else ("stuck", STUCK)
        states[places[still.first : still.last + 1]] = state
        stretches.append((partial(_rest, name, tag, still.value), float(t[still.first]), float(t[still.last])))
    kept = series if (states == MEASURED).all() else np.where(states == MEASURED, series, np.nan)
    return kept, states, findings, stretches


def _rest(name: str, tag: str, value: float, first_s: float, last_s: float) -> Finding:
    minutes = (last_s - first_s) / 60
    words = f"{value:g} for {minutes:.0f} min" + (", the end of its scale" if name == "saturated" else "")
    return Finding(name, tag, first_s, last_s, minutes, words)


def _silence(tag: str, first_s: float, last_s: float) -> Finding:
    length = last_s - first_s
    return Finding("gap", tag, first_s, last_s, length, f"no value for {length / 60:.1f} min")


def _gaps_of_tag(tag: str, times: LogTimes, t: Array) -> list[tuple[Lasting, float, float]]:
    """Stretches without a value of this tag where other tags have some."""
    of_rows = {finding.first_s for finding in times.findings if finding.kind == "gap"}
    length = np.diff(t)
    return [
        (partial(_silence, tag), float(t[i]), float(t[i + 1]))
        for i in np.flatnonzero(length > GAP_INTERVALS * times.interval_s)
        if float(t[i]) not in of_rows
    ]


def _spike_findings(tag: str, x: Array, t: Array, wild: NDArray[np.int64]) -> list[Finding]:
    """One finding a spike; neighbours are one spike, and of very many the rest are told together."""
    if not wild.size:
        return []
    groups = np.split(wild, np.flatnonzero(np.diff(wild) > 1) + 1)
    findings = []
    for group in groups[:_MOST_SPIKES]:
        level = np.median(x[max(0, group[0] - 4) : group[-1] + 5])
        worst = x[group[np.argmax(np.abs(x[group] - level))]]
        words = f"{worst:g} among values near {level:g}"
        findings.append(Finding("spike", tag, float(t[group[0]]), float(t[group[-1]]), float(worst - level), words))
    if rest := groups[_MOST_SPIKES:]:
        words = f"{len(rest)} more spikes"
        findings.append(Finding("spike", tag, float(t[rest[0][0]]), float(t[rest[-1][-1]]), float(len(rest)), words))
    return findings


def _clock_steps_forward(times: LogTimes, kept: Mapping[str, Array]) -> tuple[Array, list[Finding]]:
    """Gaps over which nothing moved that should have: the clock was set forward, and is set back from there on."""
    t = times.times_s.copy()
    findings = []
    back = 0.0
    for finding in times.findings:
        if finding.kind == "gap" and finding.size > 600.0:
            row = int(np.searchsorted(times.times_s, finding.first_s))
            verdict = _stood_still([_across(times, series, row, finding.size) for series in kept.values()])
            if verdict is True:
                step = finding.size - times.interval_s
                t[row + 1 :] -= step
                words = f"clock set forward by {step / 60:.1f} min: the values go on as if no time had passed"
                finding = Finding("clock step", None, finding.first_s, finding.first_s, step, words)
            elif verdict is None:
                finding = replace(finding, detail=finding.detail + UNCLEAR, may_be_clock_step=True)
        findings.append(replace(finding, first_s=finding.first_s - back, last_s=finding.last_s - back))
        if finding.kind == "clock step" and finding.size > 0:
            back += finding.size
    return t, findings


def _moved(
    findings: Collection[Finding], lasting: Collection[tuple[Lasting, float, float]], written_s: Array, times_s: Array
) -> list[Finding]:
    """Findings of the sensors at the times, and as long, as their rows have them once the clock is set right."""

    def right(moment_s: float) -> float:
        return float(times_s[np.searchsorted(written_s, moment_s)])

    return [
        *(replace(item, first_s=right(item.first_s), last_s=right(item.last_s)) for item in findings),
        *(finding(right(first_s), right(last_s)) for finding, first_s, last_s in lasting),
    ]


def _across(times: LogTimes, series: Array, row: int, gap_s: float) -> tuple[float, float] | None:
    """How far a series moved over a gap, and how far it would have if time had passed, in standard deviations."""
    t, interval = times.times_s, times.interval_s
    sides = []
    for span in (slice(np.searchsorted(t, t[row] - _SIDE_S), row + 1),
                 slice(row + 1, np.searchsorted(t, t[row + 1] + _SIDE_S, side="right"))):  # fmt: skip
        y, at = series[span], t[span]
        there = np.isfinite(y)
        if there.sum() < 8:
            return None
        every = max(1, int(there.sum()) // _SIDE_ROWS)
        sides.append((at[there][::every], y[there][::every]))
    (t0, y0), (t1, y1) = sides
    sigma = max(float(np.median(noise(y0))), float(np.median(noise(y1))), 1e-9)
    slopes, ends, spreads = [], [], []
    for at, y, edge in ((t0, y0, t[row]), (t1, y1, t[row + 1])):
        slope, level = np.polyfit(at - edge, y, 1)
        bent = float(np.std(y - np.polyval([slope, level], at - edge)))
        slopes.append(float(slope))
        ends.append(float(level))
        spreads.append(2.0 * max(sigma, bent) / np.sqrt(y.size))
    spread = float(np.hypot(*spreads))
    slope = min(slopes, key=abs) if slopes[0] * slopes[1] > 0 else 0.0
    return (ends[1] - ends[0] - slope * interval) / spread, slope * gap_s / spread


def _stood_still(across: list[tuple[float, float] | None]) -> bool | None:
    """True: the series went on as if no time had passed; False: they moved on; None: they do not tell."""
    judged = np.array([pair for pair in across if pair is not None])
    if not judged.size or not np.linalg.norm(judged[:, 1]) > _TELLING:
        return None
    moved, expected = judged.T
    return bool(abs(moved @ expected) < _STOOD * (expected @ expected))
