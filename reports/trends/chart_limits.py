"""Limits of a chart, frozen on its baseline, and the signals that they give.

A baseline is a stretch of dates that somebody has reviewed (`[[baselines]]` of the house profile), else the first
twenty runs, which is said to be provisional. Later runs never move it: limits that follow the data would follow a fall
too. Where the process was changed on purpose, a new reviewed baseline is added; each judges the runs from its own first
day to the first day of the next.
"""

import math
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.house.settings import Baseline, House
from gaugebook.pipeline.statistics.control_limits import individuals_limits
from gaugebook.pipeline.statistics.proportions import TAIL, proportion_limits
from gaugebook.pipeline.statistics.run_rules import chance_alarms, rule_signals
from gaugebook.reports.page.figures import local_day
from gaugebook.reports.trends.measure_list import BY_CODE, PROPORTIONS, SAMPLES, factor
from gaugebook.reports.trends.measures import FEWEST, Limits, Measure, Point
from gaugebook.reports.trends.sample_limits import limits_of_samples, scores_of_samples, trials_of_samples

FIRST_RUNS = 20  # from which control limits are usually taken as settled (common practice)
TRIALS = 2000
_MOST_SIMULATED = 300  # runs; the alarms of longer series grow in proportion


Spans = tuple[tuple[Limits, int], ...]


@dataclass(frozen=True)
class ScoredPoints:
    """Points with a figure and their signals; limits in order of time, with the number of runs that each judged."""

    points: tuple[Point, ...]
    spans: Spans

    @property
    def limits(self) -> tuple[Limits, ...]:
        return tuple(limits for limits, _ in self.spans)


def score(measure: Measure, group: str, points: list[Point], house: House) -> ScoredPoints:
    """Put limits and signals to the runs of one chart, given in order of time with those that lack a figure."""
    known = [point for point in points if not math.isnan(point.value)]
    if not measure.watched or len(known) < FEWEST:
        return ScoredPoints(tuple(known), ())
    judged: list[Point] = []
    spans: list[tuple[Limits, int]] = []
    for begins, ends, baseline in _eras(measure, group, points, house):
        era = points[begins:ends]
        inside = _baseline_places(era, baseline, house.time_zone)
        limits = _limits(measure, [era[place] for place in inside], baseline)
        if limits is None:
            judged += [point for point in era if not math.isnan(point.value)]
            continue
        judged += _signalled(measure, era, set(inside), limits)
        spans.append((limits, sum(not math.isnan(point.value) for point in era) - limits.points))
    return ScoredPoints(tuple(judged), tuple(spans))


def alarms_by_chance(spans: Spans, alike: float) -> tuple[float, ...]:
    """Numbers of alarms that runs after such baselines give in stable series whose neighbours are so alike."""
    return tuple(np.sum([_trials(limits, after, alike) for limits, after in spans], axis=0).tolist()) if spans else ()


def check_baselines(house: House) -> None:
    """Baselines of the profile name a measure that there is and a person of the house.

    Raises
    ------
    SettingsError
        If one does not.
    """
    people = {person.code for person in house.people}
    for baseline in house.baselines:
        where = f'[[baselines]] of "{baseline.measure}"'
        if baseline.measure not in BY_CODE:
            raise SettingsError(f"{where}: there is no such measure; known: {', '.join(BY_CODE)}.")
        if baseline.reviewed_by not in people:
            raise SettingsError(f'{where}: reviewed_by "{baseline.reviewed_by}" is none of the people of the house.')
        if baseline.last_day < baseline.first_day:
            raise SettingsError(f"{where}: last_day {baseline.last_day} lies before first_day {baseline.first_day}.")


def _eras(measure: Measure, group: str, points: list[Point], house: House) -> list[tuple[int, int, Baseline | None]]:
    """Stretches of runs with the baseline that judges each; before the first reviewed one, their own first runs."""
    own = sorted(
        (b for b in house.baselines if b.measure == measure.code and b.group == group), key=lambda b: b.first_day
    )
    if not own:
        return [(0, len(points), None)] if points else []
    days = [local_day(point.when, house.time_zone) for point in points]
    starts = [next((n for n, day in enumerate(days) if day >= b.first_day), len(points)) for b in own]
    eras: list[tuple[int, int, Baseline | None]] = [(0, starts[0] if starts else len(points), None)]
    eras += [(start, end, b) for start, end, b in zip(starts, [*starts, len(points)][1:], own, strict=True)]
    return [era for era in eras if era[1] > era[0]]


def _baseline_places(era: list[Point], baseline: Baseline | None, zone: str) -> list[int]:
    """Places of the runs that the limits rest on, those without a figure among them: a gap takes no moving range."""
    if baseline is not None:
        return [n for n, point in enumerate(era) if _within(point, baseline.first_day, baseline.last_day, zone)]
    known = [n for n, point in enumerate(era) if not math.isnan(point.value)]
    return list(range(known[:FIRST_RUNS][-1] + 1)) if known else []


def _within(point: Point, first: date, last: date, zone: str) -> bool:
    return first <= local_day(point.when, zone) <= last


def _limits(measure: Measure, points: list[Point], baseline: Baseline | None) -> Limits | None:
    known = [point for point in points if not math.isnan(point.value)]
    if len(known) < FEWEST:
        return None
    count, first, last = len(known), known[0].when, known[-1].when
    if measure.code in PROPORTIONS and not _is_overdispersed(known):
        by = factor(measure)
        share = sum(point.numerator for point in known) / sum(point.denominator for point in known)
        size = max(1, round(float(np.mean([point.denominator for point in known]))))
        of_share = proportion_limits([size], share)
        sd = math.sqrt(share * (1 - share) / size)
        limits = Limits(
            kind="proportion", centre=by * share, lower=by * float(of_share.lower[0]),
            upper=by * float(of_share.upper[0]), sd=by * sd, points=count, first=first, last=last,
        )  # fmt: skip
        return _reviewed(limits, baseline)
    try:
        chart = individuals_limits([point.value for point in points])
    except ValueError:  # no two neighbours
        return None
    sd = (chart.upper - chart.centre) / 3
    if sd <= 1e-12 * max(1.0, abs(chart.centre)):
        return None
    single = Limits(
        kind="individuals", centre=chart.centre, lower=chart.lower, upper=chart.upper, sd=sd, points=count, first=first,
        last=last,
    )  # fmt: skip
    return _reviewed(limits_of_samples(measure, known, single) if measure.code in SAMPLES else single, baseline)


def _reviewed(limits: Limits, baseline: Baseline | None) -> Limits:
    if baseline is None:
        return limits
    return replace(
        limits, provisional=False, reviewed_by=baseline.reviewed_by, reviewed_at=f"{baseline.reviewed_at:%Y-%m-%d}",
        reason=baseline.reason,
    )  # fmt: skip


def _is_overdispersed(points: list[Point]) -> bool:
    """Whether proportions scatter more than counts of independent items do, at 1 in 100: chi-square of homogeneity."""
    from scipy.special import chdtrc

    faulty, size = (np.array([getattr(point, name) for point in points]) for name in ("numerator", "denominator"))
    share = faulty.sum() / size.sum()
    if not 0 < share < 1:
        return False
    chi2 = float(((faulty - size * share) ** 2 / (size * share * (1 - share))).sum())
    return float(chdtrc(len(points) - 1, chi2)) < 0.01


def _signalled(measure: Measure, era: list[Point], inside: set[int], limits: Limits) -> list[Point]:
    """The points of an era with a figure; what lies in the baseline carries no signal, and no row begins there."""
    values = [math.nan if n in inside else point.value for n, point in enumerate(era)]
    judged = np.array(values)
    if limits.kind == "proportion":
        sizes = [max(1, round(p.denominator)) if not math.isnan(p.value) else 1 for p in era]
        own, by = proportion_limits(sizes, limits.centre / factor(measure)), factor(measure)
        marks = {"beyond": (judged < by * own.lower - 1e-9) | (judged > by * own.upper + 1e-9)}
    elif limits.kind in SAMPLES.values():
        marks = rule_signals(scores_of_samples(values, era, limits))
    else:
        marks = rule_signals((judged - limits.centre) / limits.sd)
    marked = np.any(list(marks.values()), axis=0)
    return [
        replace(point, in_baseline=n in inside, signals=tuple(name for name in marks if marks[name][n]))
        if n in inside or marked[n]
        else point
        for n, point in enumerate(era)
        if not math.isnan(point.value)
    ]


def _trials(limits: Limits, after: int, alike: float) -> np.ndarray:
    if limits.kind == "proportion":
        return np.random.default_rng(after).binomial(after, 2 * TAIL, TRIALS).astype(float)
    if limits.kind in SAMPLES.values():
        return trials_of_samples(limits, after, TRIALS)
    simulated = min(after, _MOST_SIMULATED)
    counts = np.array(chance_alarms(limits.points, simulated, trials=TRIALS, alike=alike))
    return counts * (after / simulated) if simulated else counts
