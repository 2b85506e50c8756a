"""One run's log to its curve: cleaned, cut, integrated, held against physics. No table is read or written here."""

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.derived.curves.averaged_log import Course, course_of
from gaugebook.pipeline.derived.curves.cuts import LOST, cuts
from gaugebook.pipeline.derived.curves.phase_profiles import profile
from gaugebook.pipeline.derived.curves.plausibility import physics
from gaugebook.pipeline.derived.curves.records import (
    COUNTER,
    FLOW,
    NAN,
    PARROT,
    PARTS,
    POWER,
    REFLUX,
    STEAM,
    STRENGTH,
    Circumstances,
    PartOfCurve,
    RunCurve,
)
from gaugebook.pipeline.engineering.run_curve import quantity
from gaugebook.pipeline.statistics.log_cleaning import CleanLog, clean
from gaugebook.pipeline.statistics.log_finding import Finding
from gaugebook.pipeline.statistics.log_times import laid_out

Array = NDArray[np.float64]

RESTING = (FLOW, PARROT, REFLUX, STEAM, POWER)  # rightly nought while nothing runs
COUNTERS = (COUNTER,)
MEASURED_TAGS = (FLOW,)  # never a set point: one value throughout is a meter that stands still


def curve_of_run(times_s: ArrayLike, values: Mapping[str, ArrayLike], circumstances: Circumstances) -> RunCurve:
    """The curve of a run from its log in the order in which it was written, times in seconds after its first row."""
    times = np.asarray(times_s, dtype=np.float64)
    curve = _curve(times, values, circumstances)
    gap = _gap_without_distillate(curve, circumstances)
    if gap is None:
        return curve
    step = gap.size - curve.interval_s
    closed = _curve(np.where(times > gap.first_s, times - step, times), values, circumstances)
    words = f"clock set forward by {step / 60:.1f} min: the receivers hold nothing that ran off meanwhile"
    step_of_clock = Finding("clock step", None, gap.first_s, gap.first_s, step, words)
    return replace(
        closed, findings=tuple(sorted([*closed.findings, step_of_clock], key=lambda finding: finding.first_s))
    )


def cleaned(
    times_s: ArrayLike, values: Mapping[str, ArrayLike], findings: Sequence[Finding]
) -> tuple[CleanLog, dict[str, Array]]:
    """The log as the curve with these findings used it, and every value as it was written in the same order of rows."""
    times = np.asarray(times_s, dtype=np.float64)
    log = clean(times, values, RESTING, COUNTERS, MEASURED_TAGS)
    for step in findings:  # of the clock, seen by the receivers alone
        if step.kind == "clock step" and step.size > 0 and step not in log.findings:
            times = np.where(times > step.first_s, times - step.size, times)
            log = clean(times, values, RESTING, COUNTERS, MEASURED_TAGS)
    rows = laid_out(times).rows
    return log, {tag: np.asarray(series, dtype=np.float64)[rows] for tag, series in values.items()}


def _gap_without_distillate(curve: RunCurve, circumstances: Circumstances) -> Finding | None:
    """The one long gap that nothing in the log told from a clock set forward, where the receivers do."""
    unclear = [finding for finding in curve.findings if finding.may_be_clock_step]
    all_parts = next((part for part in curve.parts if part.part == "all"), None)
    if len(unclear) != 1 or all_parts is None or any(finding.kind == "clock step" for finding in curve.findings):
        return None
    held = sum(circumstances.gauged[part].volume_l if part in circumstances.gauged else NAN for part in PARTS)
    u = float(np.hypot(circumstances.u_flow_part, 0.005)) * held
    with_gap = all_parts.volume_l - (1 + LOST) * held
    without = with_gap - all_parts.bridged_part * all_parts.volume_l
    return unclear[0] if with_gap > 3.0 * u and abs(without) < 2.5 * u else None


def _curve(times_s: Array, values: Mapping[str, ArrayLike], circumstances: Circumstances) -> RunCurve:
    log = clean(times_s, values, RESTING, COUNTERS, MEASURED_TAGS)
    if log.times_s.size < 3:
        return RunCurve(log.times_s.size, NAN)
    course, when = course_of(log, circumstances)
    bare = RunCurve(
        points=int(log.times_s.size), interval_s=log.interval_s, heat_from_s=when.heat_from_s,
        vapour_at_s=when.vapour_at_s, first_drop_s=when.first_drop_s, u_first_drop_s=when.u_first_drop_s,
        end_s=when.end_s, u_end_s=when.u_end_s, heat_up_k_min=when.heat_up_k_min, findings=log.findings,
    )  # fmt: skip
    if course.total is None or not (when.end_s > when.first_drop_s):
        return bare
    from_heads, to_tails = cuts(course, when, circumstances)
    curve = replace(bare, hearts_from=from_heads, hearts_to=to_tails)
    curve = replace(curve, parts=_parts(course, curve, circumstances))
    curve = replace(curve, **_rates(course, curve), profile=profile(course.times_s, _shown(course), curve))
    verdict, more = physics(course.times_s, course.values, course.strength, course.u_strength, curve, circumstances)
    findings = sorted([*curve.findings, *more], key=lambda finding: (finding.first_s, finding.kind, finding.tag or ""))
    return replace(curve, **verdict, findings=tuple(findings))


def _parts(course: Course, curve: RunCurve, circumstances: Circumstances) -> tuple[PartOfCurve, ...]:
    total = course.total
    assert total is not None
    edges = [
        (curve.first_drop_s, course.u_row_s), (curve.hearts_from.at_s, curve.hearts_from.u_s),
        (curve.hearts_to.at_s, curve.hearts_to.u_s), (curve.end_s, course.u_row_s),
    ]  # fmt: skip
    u_strength = float(np.nanmedian(course.u_strength)) if np.isfinite(course.u_strength).any() else NAN
    parts = []
    spans = [*zip(PARTS, edges[:-1], edges[1:], strict=True), ("all", edges[0], edges[-1])]
    for part, (start, u_start), (stop, u_stop) in spans:
        if not stop > start:
            continue
        # beyond first drop and end nothing runs: the whole of the total belongs to the parts beside them
        low = total.times_s[0] if start == curve.first_drop_s else start
        high = total.times_s[-1] if stop == curve.end_s else stop
        what = quantity(total, low, high, u_start, u_stop, circumstances.u_flow_part, u_strength)
        parts.append(PartOfCurve(part, start, stop, **dataclasses.asdict(what)))
    return tuple(parts)


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
