"""A run's log on its grid of averages, with what follows from it row by row: phases, strengths, running totals."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gaugebook.pipeline.derived.curves.records import (
    COUNTER,
    FLOW,
    PARROT,
    PARROT_TEMPERATURE,
    POT,
    VAPOUR,
    Circumstances,
)
from gaugebook.pipeline.engineering.run_curve import Collected, collected, parrot_strength
from gaugebook.pipeline.statistics.log_cleaning import CleanLog
from gaugebook.pipeline.statistics.phases import Phases, phases
from gaugebook.pipeline.statistics.thinning import averaged

Array = NDArray[np.float64]

STEP_S = 15.0  # a finer log is averaged to this
_RESET = 0.5  # a counter that falls below this part of itself was set back, with the receiver


@dataclass(frozen=True)
class Course:
    """The log on its grid of averages, with what follows from it row by row."""

    times_s: Array
    values: dict[str, Array]
    strength: Array
    u_strength: Array
    total: Collected | None
    resets_s: list[float]  # when the counter was set back

    def series(self, tag: str) -> Array:
        return self.values.get(tag, np.full(self.times_s.size, np.nan))

    @property
    def interval_s(self) -> float:
        return float(np.median(np.diff(self.times_s)))

    @property
    def u_row_s(self) -> float:
        """Standard uncertainty of a time that is known to the row."""
        return float(self.interval_s / np.sqrt(12.0))


def course_of(log: CleanLog, circumstances: Circumstances) -> tuple[Course, Phases]:
    """The course of a cleaned log, and the phases that its flow, pot and vapour show."""
    values = dict(log.values)
    resets: list[float] = []
    if COUNTER in values:
        values[COUNTER], resets = _unwound(log.times_s, values[COUNTER])
    t, thin = averaged(log.times_s, values, STEP_S)
    nothing = np.full(t.size, np.nan)
    flow = thin.get(FLOW, nothing)
    is_counted = COUNTER in thin and not (flow > 0).any()
    if is_counted:
        thin[COUNTER] = _between_counts(t, thin[COUNTER])
        flow = thin[FLOW] = _flow_of_counter(t, thin[COUNTER])
    when = phases(t, flow, thin.get(POT, nothing), thin.get(VAPOUR, nothing))
    runs = (t >= when.first_drop_s) & (t <= when.end_s)
    reading = np.where(runs, thin.get(PARROT, nothing), np.nan)
    strength, u = parrot_strength(
        reading, thin.get(PARROT_TEMPERATURE, nothing), circumstances.u_strength_pct_vol, circumstances.u_temperature_c
    )
    enough = np.isfinite(flow).sum() > 1
    total = collected(t, flow, strength, thin.get(COUNTER), is_counted=is_counted) if enough else None
    return Course(t, thin, strength, u, total, resets), when


def _unwound(t: Array, counter: Array) -> tuple[Array, list[float]]:
    """A counter that is set back at each cut made one that only rises, and when it was set back."""
    there = np.flatnonzero(np.isfinite(counter))
    c = counter[there]
    falls = np.flatnonzero((c[1:] < _RESET * c[:-1]) & (c[:-1] > 0)) + 1
    if not falls.size:
        return counter, []
    carried = np.zeros(c.size)
    for place in falls:
        carried[place:] += c[place - 1]
    whole = counter.copy()
    whole[there] = c + carried
    return whole, [float(t[there[place - 1]] + t[there[place]]) / 2 for place in falls]


def _between_counts(t: Array, counter: Array) -> Array:
    """A counter of whole counts as a line through the rows in which it moved: what ran between them ran evenly."""
    there = np.flatnonzero(np.isfinite(counter))
    c = counter[there]
    moved = np.flatnonzero(np.diff(c) > 0)
    if not moved.size:
        return counter
    corners = np.unique(np.concatenate([[0], moved[:1], moved + 1, [c.size - 1]]))
    line = counter.copy()
    line[there] = np.interp(t[there], t[there[corners]], c[corners])
    return line


def _flow_of_counter(t: Array, counter: Array) -> Array:
    """Flow at each row; none where the counter rests on one side, so that it begins and ends between two rows."""
    there = np.flatnonzero(np.isfinite(counter))
    flow = np.full(t.size, np.nan)
    if there.size > 2:
        rates = np.diff(counter[there]) / np.diff(t[there]) * 3600.0
        before, after = np.append(0.0, rates), np.append(rates, 0.0)
        flow[there] = np.where((before > 0) & (after > 0), np.gradient(counter[there], t[there]) * 3600.0, 0.0)
    return flow
