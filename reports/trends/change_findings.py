"""What changed: each chart's runs of the last year are scanned, and what chance does not explain is told.

The chance of each chart's most telling stretch is adjusted over all charts of the report (Holm), so that a stable house
reads of a change in fewer than one report in twenty. Runs far beyond the limits that are no lasting change are told
apart, as lone runs.
"""

import math
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from gaugebook.pipeline.statistics.change_scan import FEWEST, LONGEST, Stretch, changed_stretches, likeness
from gaugebook.pipeline.statistics.many_tests import chance_beyond, holm, sum_by_chance
from gaugebook.pipeline.statistics.run_rules import alarms as count_alarms
from gaugebook.reports.trends.change_causes import causes_of
from gaugebook.reports.trends.chart_limits import Spans, alarms_by_chance
from gaugebook.reports.trends.finding_words import describe_finding, describe_lone_run
from gaugebook.reports.trends.measure_list import factor
from gaugebook.reports.trends.measures import Chart, Finding, LoneRun, Point

LEVEL = 0.05  # chance of any false change in a report of a stable house
LONE_LEVEL = 0.03  # and of any false lone run, were tails as heavy as those of Student's t with this many degrees
_DEGREES = 5.0
WINDOW = timedelta(days=400)  # thirteen months: a month beside the same month of the year before
_BATCHES = 8  # named at most

Scored = tuple[Chart, Spans]  # with its limits and the numbers of runs that each judged


@dataclass(frozen=True)
class Watch:
    charts: tuple[Chart, ...]
    findings: tuple[Finding, ...]
    lone_runs: tuple[LoneRun, ...]
    alarms_seen: int
    alarms_untold: int
    alarms_by_chance: float
    alarms_by_chance_most: float
    alike: float  # correlation of neighbouring runs over all charts


def watch(
    judged: list[Scored], consumers: dict[str, list[tuple[str, float]]], last: datetime | None, zone: str
) -> Watch:
    """Look through all charts together.

    Parameters
    ----------
    judged : list
        Each chart with its limits and the numbers of runs that each judged.
    consumers : dict
        By run the batches behind which it stands, with how much went there.
    last : datetime
        When the newest run ended.
    zone : str
        Time zone in which days are told.

    Returns
    -------
    Watch
        The charts with their chances, and what was found.
    """
    looked = [chart for chart, _ in judged if chart.measure.watched]
    recent = {chart.key: _recent(chart, last) for chart in looked}
    series = {key: [point.value for point in points] for key, points in recent.items() if len(points) >= FEWEST}
    tests, alike = len(series), round(20 * _alike(series)) / 20  # a twentieth, so that simulations are kept
    stretches = {key: changed_stretches(values, LEVEL / max(tests, 1), alike=alike) for key, values in series.items()}
    trials = {chart.key: alarms_by_chance(spans, alike) for chart, spans in judged if spans}
    keys = [chart.key for chart in looked]
    p = [stretches[key][0].p if stretches.get(key) else math.nan for key in keys]
    adjusted = dict(zip(keys, holm(p), strict=True))
    charts = tuple(
        replace(
            chart,
            p_change=p[keys.index(chart.key)] if chart.key in adjusted else math.nan,
            p_adjusted=float(adjusted.get(chart.key, math.nan)),
            chance_alarms=float(np.mean(trials[chart.key])) if chart.key in trials else 0.0,
        )
        for chart, _ in judged
    )
    by_key = {chart.key: chart for chart in charts}
    findings = []
    for key, of_chart in stretches.items():
        for n, stretch in enumerate(of_chart):
            p_adjusted = float(adjusted[key]) if n == 0 else min(1.0, stretch.p * tests)
            if p_adjusted <= LEVEL:
                findings.append(_finding(by_key[key], recent[key], stretch, p_adjusted, consumers, charts))
    findings = [_with_words(finding, findings, by_key, zone) for finding in findings]
    lone = _lone_runs(looked, findings, recent, by_key)
    seen, untold = (sum(_alarms_of(chart, named) for chart in looked) for named in ({}, _told(findings, lone, by_key)))
    mean, most = sum_by_chance(list(trials.values()))
    return Watch(charts, tuple(sorted(findings, key=_worth_first)), tuple(lone), seen, untold, mean, most, alike)


def _alike(series: dict[str, list[float]]) -> float:
    """Correlation of neighbouring runs over all charts on which nothing changed, by their numbers of runs.

    No chart can show by itself what disturbs every one, as when a person or a lot goes through several runs. 0 where
    runs rather alternate.
    """
    level = LEVEL / max(len(series), 1)
    quiet = [
        values for values in series.values() if all(stretch.p > level for stretch in changed_stretches(values, most=1))
    ]
    runs = sum(len(values) for values in quiet)
    return max(0.0, sum(len(values) * likeness(values) for values in quiet) / runs) if runs else 0.0


def _recent(chart: Chart, last: datetime | None) -> list[Point]:
    return [point for point in chart.points if last is None or point.when > last - WINDOW][-LONGEST:]


def _finding(
    chart: Chart, points: list[Point], stretch: Stretch, p_adjusted: float,
    consumers: dict[str, list[tuple[str, float]]], charts: tuple[Chart, ...],
) -> Finding:  # fmt: skip
    inside = points[stretch.first : stretch.last + 1]
    alcohol, u_alcohol = _worth(chart, inside, stretch)
    return Finding(
        chart=chart.key,
        shape=stretch.shape,
        good=None if chart.measure.better == "target" else (stretch.change > 0) == (chart.measure.better == "higher"),
        first_run=chart.name_of(inside[0]),
        last_run=chart.name_of(inside[-1]),
        since=inside[0].when,
        until=None if stretch.last == len(points) - 1 else inside[-1].when,
        since_low=points[stretch.first_low].when,
        since_high=points[stretch.first_high].when,
        before=stretch.before,
        change=stretch.change,
        u_change=stretch.u_change,
        reached=stretch.reached,
        runs=len(inside),
        p=stretch.p,
        p_adjusted=p_adjusted,
        alcohol_l=alcohol,
        u_alcohol_l=u_alcohol,
        batches=_batches(inside, consumers),
        causes=causes_of(chart, points, stretch, charts),
    )


def _worth(chart: Chart, inside: list[Point], stretch: Stretch) -> tuple[float, float]:
    """LPA that the runs of a stretch gave more than at the level before, and its standard uncertainty."""
    if not chart.measure.alcohol:
        return math.nan, math.nan
    by, side = factor(chart.measure), 1 if chart.measure.alcohol == "gained" else -1
    alcohol = side * sum((point.value - stretch.before) / by * point.denominator for point in inside)
    return alcohol, stretch.u_change / by * sum(point.denominator for point in inside)


def _batches(inside: list[Point], consumers: dict[str, list[tuple[str, float]]]) -> tuple[str, ...]:
    """Batches to which most of the runs' lots went, most first; a batch's own point is its batch."""
    drawn: dict[str, float] = {}
    for point in inside:
        for batch, amount in consumers.get(point.run, [(point.batch, 1.0)] if point.batch else []):
            drawn[batch] = drawn.get(batch, 0.0) + amount
    return tuple(sorted(drawn, key=lambda batch: (-drawn[batch], batch))[:_BATCHES])


def _with_words(finding: Finding, findings: list[Finding], charts: dict[str, Chart], zone: str) -> Finding:
    same = tuple(
        other.chart for other in findings if other.chart != finding.chart and _same_event(finding, other, charts)
    )
    quiet = tuple(
        chart.group for key, chart in charts.items()
        if chart.measure is charts[finding.chart].measure and key != finding.chart and chart.p_adjusted > LEVEL
    )  # fmt: skip
    finding = replace(finding, with_charts=tuple(dict.fromkeys(same)))
    return replace(finding, sentence=describe_finding(finding, charts[finding.chart], quiet, zone))


def _same_event(first: Finding, other: Finding, charts: dict[str, Chart]) -> bool:
    """Whether two findings are one event seen twice: of one cause, or on one still or in the same runs."""
    a, b = charts[first.chart], charts[other.chart]
    ends = [finding.until or max(chart.points[-1].when for chart in (a, b)) for finding in (first, other)]
    shared = min(ends) - max(first.since, other.since)
    shorter = min(ends[0] - first.since, ends[1] - other.since)
    same_causes = {(c.attribute, c.level) for c in first.causes} & {(c.attribute, c.level) for c in other.causes}
    if shared <= timedelta(0) or (shared < shorter / 2 and not same_causes):
        return False
    same_still = a.measure.group_kind == b.measure.group_kind == "still" and a.group == b.group
    same_runs = {point.run for point in a.points} & {point.run for point in b.points}
    return bool(same_causes) or same_still or (a.group == b.group and bool(same_runs))


def _lone_runs(
    looked: list[Chart], findings: list[Finding], recent: dict[str, list[Point]], charts: dict[str, Chart]
) -> list[LoneRun]:
    """Runs beyond the limits by more than chance gives in all judged runs of the report."""
    judged = sum(len(_judged(chart, recent[chart.key])) for chart in looked if chart.limits)
    lone = []
    for chart in looked:
        limits = chart.limits
        if limits is None or limits.kind == "proportion":
            continue
        changed = [(f.since, f.until or chart.points[-1].when) for f in findings if f.chart == chart.key]
        for point in _judged(chart, recent[chart.key]):
            p = chance_beyond(point.value, limits.centre, limits.sd, limits.points, _DEGREES) * judged
            if p < LONE_LEVEL and not any(since <= point.when <= until for since, until in changed):
                run = LoneRun(chart.key, chart.name_of(point), point.batch, point.when, point.value, p)
                lone.append(replace(run, sentence=describe_lone_run(run, charts[chart.key])))
    return sorted(lone, key=lambda run: run.when)


def _judged(chart: Chart, points: list[Point]) -> list[Point]:
    return [point for point in points if not point.in_baseline and chart.limits and point.when > chart.limits.last]


def _told(findings: list[Finding], lone: list[LoneRun], charts: dict[str, Chart]) -> dict[str, set[Point]]:
    """By chart the points that a finding or a lone run speaks of."""
    points_told: dict[str, set[Point]] = {}
    for f in findings:
        points = charts[f.chart].points
        until = f.until or points[-1].when
        points_told.setdefault(f.chart, set()).update(point for point in points if f.since <= point.when <= until)
    for run in lone:
        points_told.setdefault(run.chart, set()).update(p for p in charts[run.chart].points if p.when == run.when)
    return points_told


def _alarms_of(chart: Chart, points_told: dict[str, set[Point]]) -> int:
    """Alarms of a chart that are not told: each run beyond, and each row on one side once."""
    points = [point for point in chart.points if point not in points_told.get(chart.key, ())]
    marks = {name: np.array([name in point.signals for point in points], dtype=bool) for name in ("beyond", "nine")}
    return int(count_alarms(marks)) if points else 0


def _worth_first(finding: Finding) -> tuple[float, float]:
    return (-abs(finding.alcohol_l) if finding.alcohol_l == finding.alcohol_l else 0.0, finding.p_adjusted)
