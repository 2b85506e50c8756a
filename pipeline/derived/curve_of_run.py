"""One run's log to its curve: cleaned, cut, integrated, held against physics. No table is read or written here."""

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.derived.curve_physics import physics
from pipeline.derived.curve_profile import profile
from pipeline.derived.curve_records import (
    COUNTER,
    FLOW,
    NAN,
    PARROT,
    PARROT_TEMPERATURE,
    PARTS,
    POT,
    POWER,
    REFLUX,
    STEAM,
    STRENGTH,
    VAPOUR,
    Circumstances,
    Cut,
    PartOfCurve,
    RunCurve,
)
from pipeline.engineering.run_curve import (
    Collected,
    collected,
    cut_by_receivers,
    parrot_strength,
    quantity,
)
from pipeline.statistics.log_cleaning import UNCLEAR, CleanLog, clean
from pipeline.statistics.log_finding import Finding
from pipeline.statistics.log_times import laid_out
from pipeline.statistics.phases import Phases, phases
from pipeline.statistics.steps import Step, steps
from pipeline.statistics.thinning import averaged

Array = NDArray[np.float64]

RESTING = (FLOW, PARROT, REFLUX, STEAM, POWER)  # rightly nought while nothing runs
COUNTERS = (COUNTER,)
STEP_S = 15.0  # a finer log is averaged to this
SIDE_S = 480.0  # of flow on each side of a change point
LEAST_STEP = 0.04  # of the flow
LEAST_STEP_OF = {"change of strength": 5.0, "change of temperature": 1.0}  # [% vol], [K]
NEAR_S = (300.0, 1200.0)  # how near to what the receivers say a change of the flow is taken for the cut: heads, tails
LOST = 0.01  # of the distillate that goes as vapour and hold-up on its way to the receivers: common practice
_RESET = 0.5  # a counter that falls below this part of itself was set back, with the receiver


@dataclass(frozen=True)
class Course:
    """The log on its grid of averages, with what follows from it row by row."""

    times_s: Array
    values: dict[str, Array]
    strength: Array
    u_strength: Array
    total: Collected | None

    def series(self, tag: str) -> Array:
        return self.values.get(tag, np.full(self.times_s.size, np.nan))


def curve_of_run(times_s: ArrayLike, values: Mapping[str, ArrayLike], around: Circumstances) -> RunCurve:
    """The curve of a run from its log in the order in which it was written, times in seconds after its first row."""
    times = np.asarray(times_s, dtype=np.float64)
    curve = _curve(times, values, around)
    gap = _gap_without_distillate(curve, around)
    if gap is None:
        return curve
    step = gap.size - curve.interval_s
    closed = _curve(np.where(times > gap.first_s, times - step, times), values, around)
    words = f"clock set forward by {step / 60:.1f} min: the receivers hold nothing that ran off meanwhile"
    found = Finding("clock step", None, gap.first_s, gap.first_s, step, words)
    return replace(closed, findings=tuple(sorted([*closed.findings, found], key=lambda one: one.first_s)))


def cleaned(
    times_s: ArrayLike, values: Mapping[str, ArrayLike], findings: Sequence[Finding]
) -> tuple[CleanLog, dict[str, Array]]:
    """The log as the curve with these findings used it, and every value as it was written in the same order of rows."""
    times = np.asarray(times_s, dtype=np.float64)
    log = clean(times, values, RESTING, COUNTERS)
    for step in findings:  # of the clock, seen by the receivers alone
        if step.kind == "clock step" and step.size > 0 and step not in log.findings:
            times = np.where(times > step.first_s, times - step.size, times)
            log = clean(times, values, RESTING, COUNTERS)
    rows = laid_out(times).rows
    return log, {tag: np.asarray(series, dtype=np.float64)[rows] for tag, series in values.items()}


def _gap_without_distillate(curve: RunCurve, around: Circumstances) -> Finding | None:
    """The one long gap that nothing in the log told from a clock set forward, where the receivers do."""
    unclear = [one for one in curve.findings if one.kind == "gap" and one.detail.endswith(UNCLEAR)]
    all_parts = next((part for part in curve.parts if part.part == "all"), None)
    if len(unclear) != 1 or all_parts is None or any(one.kind == "clock step" for one in curve.findings):
        return None
    held = sum(around.gauged[part].volume_l if part in around.gauged else NAN for part in PARTS)
    u = float(np.hypot(around.u_flow_part, 0.005)) * held
    with_gap = all_parts.volume_l - (1 + LOST) * held
    without = with_gap - all_parts.bridged_part * all_parts.volume_l
    return unclear[0] if with_gap > 3.0 * u and abs(without) < 2.5 * u else None


def _curve(times_s: Array, values: Mapping[str, ArrayLike], around: Circumstances) -> RunCurve:
    log = clean(times_s, values, RESTING, COUNTERS)
    if log.times_s.size < 3:
        return RunCurve(log.times_s.size, NAN)
    course, resets, when = _course(log, around)
    bare = RunCurve(
        points=int(log.times_s.size), interval_s=log.interval_s, heat_from_s=when.heat_from_s,
        vapour_at_s=when.vapour_at_s, first_drop_s=when.first_drop_s, u_first_drop_s=when.u_first_drop_s,
        end_s=when.end_s, u_end_s=when.u_end_s, heat_up_k_min=when.heat_up_k_min, findings=log.findings,
    )  # fmt: skip
    if course.total is None or not (when.end_s > when.first_drop_s):
        return bare
    from_heads, to_tails = _cuts(course, when, resets, around)
    curve = replace(bare, hearts_from=from_heads, hearts_to=to_tails)
    curve = replace(curve, parts=_parts(course, curve, around))
    curve = replace(curve, **_rates(course, curve), profile=profile(course.times_s, _shown(course), curve))
    verdict, more = physics(course.times_s, course.values, course.strength, course.u_strength, curve, around)
    findings = sorted([*curve.findings, *more], key=lambda found: (found.first_s, found.kind, found.tag or ""))
    return replace(curve, **verdict, findings=tuple(findings))


def _course(log: CleanLog, around: Circumstances) -> tuple[Course, list[float], Phases]:
    values = dict(log.values)
    resets: list[float] = []
    if COUNTER in values:
        values[COUNTER], resets = _unwound(log.times_s, values[COUNTER])
    t, thin = averaged(log.times_s, values, STEP_S)
    nothing = np.full(t.size, np.nan)
    flow = thin.get(FLOW, nothing)
    if not np.isfinite(flow).any() and COUNTER in thin:
        flow = thin[FLOW] = _flow_of_counter(t, thin[COUNTER])
    when = phases(t, flow, thin.get(POT, nothing), thin.get(VAPOUR, nothing))
    runs = (t >= when.first_drop_s) & (t <= when.end_s)
    reading = np.where(runs, thin.get(PARROT, nothing), np.nan)
    strength, u = parrot_strength(
        reading, thin.get(PARROT_TEMPERATURE, nothing), around.u_strength_pct_vol, around.u_temperature_c
    )
    enough = np.isfinite(flow).sum() > 1
    total = collected(t, flow, strength, thin.get(COUNTER)) if enough else None
    return Course(t, thin, strength, u, total), resets, when


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


def _flow_of_counter(t: Array, counter: Array) -> Array:
    there = np.flatnonzero(np.isfinite(counter))
    flow = np.full(t.size, np.nan)
    if there.size > 2:
        flow[there] = np.maximum(np.gradient(counter[there], t[there]) * 3600.0, 0.0)
    return flow


def _cuts(course: Course, when: Phases, resets: list[float], around: Circumstances) -> tuple[Cut, Cut]:
    changes = _changes(course, when)
    heads, tails = (_by_receivers(course, around, before) for before in (1, 2))
    from_heads = _nearest(heads, resets, changes, NEAR_S[0])
    to_tails = _nearest(tails, resets, changes, NEAR_S[1])
    if not from_heads.by and len(resets) > 1:
        from_heads = Cut(resets[0], _u_row(course), "counter set back")
    if not to_tails.by and resets:
        to_tails = Cut(resets[-1], _u_row(course), "counter set back")
    if not to_tails.by:
        to_tails = _late_change(course, when, changes)
    return from_heads, to_tails


def _late_change(course: Course, when: Phases, of_flow: list[Step]) -> Cut:
    """Without receivers and counter: the greatest step of the second half in flow, strength or at the head."""
    middle = (when.first_drop_s + when.end_s) / 2
    series = {"change of strength": course.strength, "change of temperature": course.series(VAPOUR)}
    for by, found in (
        ("change of flow", of_flow),
        *((by, _steps(course, when, shown, LEAST_STEP_OF[by])) for by, shown in series.items()),
    ):
        late = [step for step in found if step.time_s > middle]
        if late:
            greatest = max(late, key=lambda step: abs(step.size))
            return Cut(greatest.time_s, greatest.u_time_s, by)
    return Cut()


def _u_row(course: Course) -> float:
    """Standard uncertainty of a time that is known to the row."""
    return float(np.median(np.diff(course.times_s)) / np.sqrt(12.0))


def _changes(course: Course, when: Phases) -> list[Step]:
    """Steps of the flow, as parts of it, while distillate runs."""
    flow = course.series(FLOW)
    with np.errstate(divide="ignore", invalid="ignore"):
        return _steps(course, when, np.where(flow > 0, np.log(flow), np.nan), np.log1p(LEAST_STEP))


def _steps(course: Course, when: Phases, series: Array, least: float) -> list[Step]:
    inside = (course.times_s > when.first_drop_s) & (course.times_s < when.end_s)
    t, y = course.times_s[inside], series[inside]
    there = np.isfinite(y)
    if there.sum() < 20:
        return []
    interval = float(np.median(np.diff(t)))
    known = np.interp(t, t[there], y[there])  # only to look through spikes; long gaps stay open
    after = np.clip(np.searchsorted(t[there], t), 1, int(there.sum()) - 1)
    known[t[there][after] - t[there][after - 1] > 3.5 * interval] = np.nan
    side = int(np.clip(round(SIDE_S / interval), 6, 40))
    return steps(t, known, side, least)


def _by_receivers(course: Course, around: Circumstances, parts_before: int) -> Cut:
    """The cut from what the receivers held: pure alcohol where the log has strengths, else volumes."""
    total = course.total
    assert total is not None
    gauged = [around.gauged.get(part) for part in PARTS]
    if any(part is None for part in gauged):
        return Cut()
    kept = [part for part in gauged if part is not None]
    by_alcohol = bool(np.isfinite(total.alcohol_l).all())
    contents = np.array([part.alcohol_l if by_alcohol else part.volume_l for part in kept])
    u = np.array([part.u_alcohol_l if by_alcohol else part.u_volume_l for part in kept])

    def at(running: Array) -> tuple[float, float]:
        return cut_by_receivers(
            total.times_s, running, contents[:parts_before], contents[parts_before:], u[:parts_before], u[parts_before:]
        )

    time, u_time = at(total.alcohol_l if by_alcohol else total.volume_l)
    if not np.isfinite(time):
        return Cut()
    if by_alcohol:  # a parrot that shows too much shows it in weak tails most
        stronger, _ = at(total.alcohol_l + around.u_strength_pct_vol * total.per_strength_l)
        u_time = float(np.hypot(u_time, stronger - time))
    return Cut(time, float(np.hypot(u_time, _u_row(course))), "receivers")


def _nearest(receivers: Cut, resets: list[float], changes: list[Step], near_s: float) -> Cut:
    """The sharper sign of the same cut, where there is one near what the receivers say."""
    if not receivers.by:
        return receivers
    reach = max(4.0 * receivers.u_s, near_s)
    reset = [at for at in resets if abs(at - receivers.at_s) < reach]
    if reset:
        at = min(reset, key=lambda time: abs(time - receivers.at_s))
        return Cut(at, min(receivers.u_s, near_s), "counter set back")
    close = [step for step in changes if abs(step.time_s - receivers.at_s) < reach]
    if not close:
        return receivers
    greatest = max(close, key=lambda step: abs(step.size))
    if greatest.u_time_s > receivers.u_s:
        return receivers
    return Cut(greatest.time_s, greatest.u_time_s, "change of flow")


def _parts(course: Course, curve: RunCurve, around: Circumstances) -> tuple[PartOfCurve, ...]:
    total = course.total
    assert total is not None
    edges = [
        (curve.first_drop_s, 0.0), (curve.hearts_from.at_s, curve.hearts_from.u_s),
        (curve.hearts_to.at_s, curve.hearts_to.u_s), (curve.end_s, 0.0),
    ]  # fmt: skip
    u_strength = float(np.nanmedian(course.u_strength)) if np.isfinite(course.u_strength).any() else NAN
    found = []
    spans = [*zip(PARTS, edges[:-1], edges[1:], strict=True), ("all", edges[0], edges[-1])]
    for part, (start, u_start), (stop, u_stop) in spans:
        if not stop > start:
            continue
        # beyond first drop and end nothing runs: the whole of the total belongs to the parts beside them
        low = total.times_s[0] if start == curve.first_drop_s else start
        high = total.times_s[-1] if stop == curve.end_s else stop
        what = quantity(total, low, high, u_start, u_stop, around.u_flow_part, u_strength)
        found.append(PartOfCurve(part, start, stop, **dataclasses.asdict(what)))
    return tuple(found)


def _rates(course: Course, curve: RunCurve) -> dict[str, Any]:
    hearts = next((part for part in curve.parts if part.part == "hearts"), None)
    start, stop = (hearts.from_s, hearts.to_s) if hearts else (curve.first_drop_s, curve.end_s)
    inside = (course.times_s >= start) & (course.times_s <= stop)
    reflux = course.series(REFLUX)
    return {
        "hearts_l_h": hearts.volume_l / (stop - start) * 3600 if hearts else NAN,
        "hearts_alcohol_l_h": hearts.alcohol_l / (stop - start) * 3600 if hearts else NAN,
        "hearts_reflux_ratio": float(np.nanmean(reflux[inside])) if np.isfinite(reflux[inside]).any() else NAN,
        "steam_kg": _added_up(course, STEAM),
        "heating_kwh": _added_up(course, POWER),
    }


def _added_up(course: Course, rate_an_hour: str) -> float:
    """A rate of the whole run by the trapezoidal rule."""
    known = np.isfinite(rate := course.series(rate_an_hour))
    return float(np.trapezoid(rate[known], course.times_s[known]) / 3600) if known.sum() > 1 else NAN


def _shown(course: Course) -> dict[str, Array]:
    return {**course.values, STRENGTH: course.strength}
