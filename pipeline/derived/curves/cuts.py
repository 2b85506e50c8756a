"""When the receiver was changed: by what the receivers held, the counter, steps of flow, strength and temperature.

Every sign has its own uncertainty and is weighed by it (`weighed_times`); none goes before another.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from gaugebook.pipeline.derived.curves.averaged_log import Course
from gaugebook.pipeline.derived.curves.records import FLOW, PARTS, VAPOUR, Circumstances, Cut, Gauged
from gaugebook.pipeline.engineering.run_curve import Collected, cut_by_receivers, cut_by_volume, rate_at
from gaugebook.pipeline.statistics.phases import Phases
from gaugebook.pipeline.statistics.sensor_faults import noise
from gaugebook.pipeline.statistics.steps import Step, steps
from gaugebook.pipeline.statistics.weighed_times import TOGETHER, Sign, merged, weighed

Array = NDArray[np.float64]

SIDE_S = 480.0  # of flow on each side of a change point
LEAST_STEP = 0.04  # of the flow
LEAST_STRENGTH_PCT_VOL, LEAST_TEMPERATURE_C = 5.0, 1.0  # steps of strength and at the head that count
LOST, U_LOST = 0.01, 0.006  # part of the distillate that goes as vapour and hold-up: common practice
U_UNLIKE = 0.002  # by which that part differs between receivers: house choice
U_MIXED = (0.0, 0.0003, 0.003)  # by which a part's volume is less than what ran in, since mixing shrinks: by R 22
GREAT_CHANGE = 0.1  # of the rate from row to row, as part of the greatest
HAND_S = 20.0  # by which a change of flow or of the counter lies beside that of the receiver: house choice
FLOW_SHOWS, COUNTER_SHOWS = 0.5, 0.95  # how often a cut leaves a step, or a counter set back, where there are such
END = "end of the run"  # what the receivers before it held was all that ran
LOOSEST_S = 1200.0  # a cut that only steps tell, and no better than this, is not told


@dataclass(frozen=True)
class _Held:
    """A measure of the receivers' contents: of alcohol where the log has strengths, else of volume."""

    running: Array
    contents: list[float]  # by part, NaN where it was not gauged
    u: list[float]
    by_alcohol: bool


def cuts(course: Course, when: Phases, circumstances: Circumstances) -> tuple[Cut, Cut]:
    """The cut from heads to hearts and that from hearts to tails; `by` is "" where nothing tells it."""
    of_flow = _signs(_changes_of_flow(course, when), "change of flow", np.log1p(LEAST_STEP))
    to_tails = merged([*of_flow, *_changes_of_spirit(course, when)])
    span = when.end_s - when.first_drop_s
    middle = (when.first_drop_s + when.end_s) / 2
    resets = [Sign(at, float(np.hypot(course.u_row_s, HAND_S)), "counter set back") for at in course.resets_s]
    cut_times = []
    for before, signs in ((1, merged(of_flow)), (2, to_tails)):
        receivers = _by_receivers(course, when, circumstances, before)
        signs = [Sign(seen.at_s, float(np.hypot(seen.u_s, HAND_S)), seen.by, seen.weight) for seen in signs]
        if receivers:
            best = weighed(receivers, resets or signs, COUNTER_SHOWS if resets else FLOW_SHOWS, span)
        elif before == 1:
            best = resets[0] if len(resets) > 1 else None
        elif resets:
            best = resets[-1]
        else:
            late = [sign for sign in signs if sign.at_s > middle]
            best = weighed(None, late, FLOW_SHOWS, span)
            best = best if best and best.u_s < LOOSEST_S else None
        cut_times.append(Cut(best.at_s, best.u_s, best.by) if best else Cut())
    return cut_times[0], cut_times[1]


def _signs(changes: list[Step], by: str, least: float) -> list[Sign]:
    return [Sign(step.time_s, step.u_time_s, by, abs(step.size) / least) for step in changes]


def _changes_of_flow(course: Course, when: Phases) -> list[Step]:
    """Steps of the flow, as parts of it, while distillate runs."""
    flow = course.series(FLOW)
    with np.errstate(divide="ignore", invalid="ignore"):
        return _steps(course, when, np.where(flow > 0, np.log(flow), np.nan), float(np.log1p(LEAST_STEP)))


def _changes_of_spirit(course: Course, when: Phases) -> list[Sign]:
    """Steps of strength and at the head: where the reflux is shut for the tails."""
    return [
        *_signs(
            _steps(course, when, course.strength, LEAST_STRENGTH_PCT_VOL), "change of strength", LEAST_STRENGTH_PCT_VOL
        ),
        *_signs(
            _steps(course, when, course.series(VAPOUR), LEAST_TEMPERATURE_C), "change of temperature",
            LEAST_TEMPERATURE_C,
        ),
    ]  # fmt: skip


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
    begin, end = _risen(known, least), known.size - _risen(known[::-1], least)
    side = int(np.clip(round(SIDE_S / interval), 6, 40))
    return steps(t[begin:end], known[begin:end], side, least)


def _risen(y: Array, least: float) -> int:
    """Rows at the beginning in which the series still rises: a still that starts is no change of its running."""
    known = y[np.isfinite(y)]
    if known.size < 3:
        return 0
    settled = ~(np.diff(y) > max(least / 2, 4.0 * float(np.median(noise(known)))))
    return int(np.argmax(settled)) if settled.any() else 0


def _by_receivers(course: Course, when: Phases, circumstances: Circumstances, parts_before: int) -> Sign | None:
    """The cut from what the receivers held, by alcohol or by volume: whichever tells it better.

    Where the two tell different times a strength is wrong, at the parrot or in a receiver; volume knows no strength, so
    it is told, with an uncertainty that covers both.
    """
    total = course.total
    assert total is not None
    by_measure = [_by_measure(course, when, circumstances, held, parts_before) for held in _held(total, circumstances)]
    signs = [sign for sign in by_measure if sign]
    if len(signs) == 2 and abs(apart := signs[0].at_s - signs[1].at_s) > TOGETHER * np.hypot(
        signs[0].u_s, signs[1].u_s
    ):
        return replace(signs[0], u_s=float(np.hypot(signs[0].u_s, apart)))
    return min(signs, key=lambda sign: sign.u_s, default=None)


def _by_measure(
    course: Course, when: Phases, circumstances: Circumstances, held: _Held, parts_before: int
) -> Sign | None:
    """As a part of the whole where all was gauged, else counted from the side that was."""
    total = course.total
    assert total is not None
    before, after = held.contents[:parts_before], held.contents[parts_before:]
    u_before, u_after = held.u[:parts_before], held.u[parts_before:]
    knows_before, knows_after = bool(np.isfinite(before).all()), bool(np.isfinite(after).all())
    if not (knows_before or knows_after):
        return None
    known, u = (before, u_before) if knows_before else (after, u_after)
    passed = float(np.sum(known)) / (1.0 - LOST)
    u_passed = float(np.hypot(np.linalg.norm(u), np.hypot(circumstances.u_flow_part, U_LOST) * passed))

    def at(running: Array) -> tuple[float, float]:
        if knows_before and knows_after:
            return cut_by_receivers(total.times_s, running, before, after, u_before, u_after)
        return cut_by_volume(total.times_s, running, passed, u_passed, is_from_end=not knows_before)

    time, u_time = at(held.running)
    if not np.isfinite(time):
        all_l = float(held.running[-1] - held.running[0])
        is_whole = parts_before == len(PARTS) - 1 and knows_before and abs(passed - all_l) <= 2.0 * u_passed
        rate = float(rate_at(total.times_s, held.running, [when.end_s - 150.0])[0])
        return Sign(when.end_s, u_passed / rate, END) if is_whole and rate > 0 else None
    if held.by_alcohol:  # a parrot that shows too much shows it in weak tails most
        stronger, _ = at(held.running + circumstances.u_strength_pct_vol * total.per_strength_l)
        u_time = float(np.hypot(u_time, stronger - time if np.isfinite(stronger) else u_time))
    share = float(np.interp(time, total.times_s, held.running) / held.running[-1])
    of_begin, of_end = (1.0 - share, share) if knows_before and knows_after else (1.0, 0.0)
    u_log = _u_of_log(course, held, time, of_begin, of_end) if knows_before else _u_of_log(course, held, time, 0.0, 1.0)
    return Sign(time, float(np.hypot(u_time, u_log)), "receivers")


def _held(total: Collected, circumstances: Circumstances) -> list[_Held]:
    gauged = [circumstances.gauged.get(part, Gauged()) for part in PARTS]
    litres, alcohol = [gauge.volume_l for gauge in gauged], [gauge.alcohol_l for gauge in gauged]
    u_litres = [
        float(np.linalg.norm([gauge.u_volume_l, U_UNLIKE * gauge.volume_l, u_mixed * gauge.volume_l]))
        for gauge, u_mixed in zip(gauged, U_MIXED, strict=True)
    ]
    u_alcohol = [float(np.hypot(gauge.u_alcohol_l, U_UNLIKE * gauge.alcohol_l)) for gauge in gauged]
    measures = [_Held(total.volume_l, litres, u_litres, by_alcohol=False)]
    if np.isfinite(total.alcohol_l).all():
        measures.append(_Held(total.alcohol_l, alcohol, u_alcohol, by_alcohol=True))
    return measures


def _u_of_log(course: Course, held: _Held, time: float, of_begin: float, of_end: float) -> float:
    """Standard uncertainty of the time from the log's own: what happens between rows, noise, what is bridged [s].

    What is wrong with the total before the cut moves it by `of_begin` of that, what is wrong after it by `of_end`.
    """
    total = course.total
    assert total is not None
    t = total.times_s
    row = int(np.clip(np.searchsorted(t, time), 1, t.size - 1))
    rates = _rates(course, held.by_alcohol)
    # a change between two rows lies anywhere between them: at the first drop, at a cut, at the end
    between = _between_rows(np.diff(rates), np.diff(t))
    flow = course.series(FLOW)
    flow = flow[np.isfinite(flow) & (flow > 0)]
    scatter = float(np.median(noise(flow)) / np.median(flow)) if flow.size > 3 else 0.0
    by_noise = (scatter * rates[:-1] * np.diff(t)) ** 2
    per_l = float(held.running[-1] - held.running[0]) / max(float(total.volume_l[-1] - total.volume_l[0]), 1e-9)
    variances = between + by_noise + per_l**2 * np.diff(total.u_bridged_part)
    before, after = float(variances[: row - 1].sum()), float(variances[row:].sum())
    square = of_begin**2 * before + of_end**2 * after + float(variances[row - 1])
    if held.by_alcohol:
        unsure = total.u_strength_bridged_l
        square += (of_begin * unsure[row]) ** 2 + (of_end * (unsure[-1] - unsure[row])) ** 2
    litres = float(np.interp(time, t, held.running))
    rises = np.concatenate([[True], np.diff(held.running) > 0])
    early, late = np.interp(litres + np.sqrt(square) * np.array([-1.0, 1.0]), held.running[rises], t[rises])
    return float(late - early) / 2.0


def _between_rows(changes: Array, lengths: Array) -> Array:
    """Variance of the total by what happens between rows [L²]; great changes that follow on each other bend alike."""
    u = np.abs(changes) * lengths / np.sqrt(12.0)
    square = u**2
    great = np.abs(changes) > GREAT_CHANGE * np.abs(changes).max(initial=0.0)
    follows = great[1:] & great[:-1] & (changes[1:] * changes[:-1] > 0)
    square[1:] += np.where(follows, 2.0 * u[1:] * u[:-1], 0.0)
    return np.asarray(square)


def _rates(course: Course, by_alcohol: bool) -> Array:
    """Litres a second at each row, carried over rows without a value."""
    rates = course.series(FLOW) / 3600.0
    known = np.isfinite(rates)
    rates = np.interp(course.times_s, course.times_s[known], rates[known])
    if by_alcohol:
        known = np.isfinite(course.strength)
        rates = rates * np.interp(course.times_s, course.times_s[known], course.strength[known]) / 100.0
    return rates
