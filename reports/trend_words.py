"""Sentences of the trend pages, each put together from the numbers of one chart."""

import math

from pipeline.statistics.run_rules import HOUSE_RULES, run_length
from reports import figures
from reports.finding_words import chance
from reports.measures import Breakdown, Chart, Limits, LoneRun, Trends
from reports.trend_charts import newest
from reports.wording import listed, plural

_SURE = 0.01  # chance below which a slow trend is told as one; many charts are looked at


def headline(trends: Trends) -> str:
    """How much there is to tell."""
    if not trends.charts:
        return "There are no ended runs in the book yet."
    changes = len({finding.chart for finding in trends.findings})
    if not changes and not trends.lone_runs:
        return "Nothing changed that chance does not explain."
    parts = []
    if changes:
        parts.append(f"{plural(changes, 'chart')} changed by more than chance explains")
    if trends.lone_runs:
        parts.append(f"{plural(len(trends.lone_runs), 'single run')} lie far off" if len(trends.lone_runs) > 1
                     else "1 single run lies far off")  # fmt: skip
    return f"{' and '.join(parts)}."


def month_words(trends: Trends) -> tuple[str, ...]:
    """What the report says about itself: how many charts, how many alarms chance gives, how often it is wrong."""
    judged = [chart for chart in trends.charts if chart.limits]
    scanned = sum(not math.isnan(chart.p_change) for chart in trends.charts)
    if not judged:
        return ("There are too few runs to judge anything by.",)
    alarms = (
        f"{plural(trends.alarms_seen, 'alarm')} on {plural(len(judged), 'chart')} with limits; in a stable house "
        f"chance alone gives about {figures.number(trends.alarms_by_chance, 0)}, and no more than "
        f"{figures.number(trends.alarms_by_chance_most, 0)} in nineteen of twenty. The changes and single runs above "
        f"account for {trends.alarms_seen - trends.alarms_untold} of them; {trends.alarms_untold} "
        f"{'is' if trends.alarms_untold == 1 else 'are'} left."
    )
    sure = (
        f"{plural(scanned, 'chart')} {'was' if scanned == 1 else 'were'} looked through for changes; a stable house "
        f"reads of one here in fewer than 1 of 20 reports (Holm)."
    )
    provisional = sum(chart.limits.provisional for chart in judged if chart.limits)
    baseline = (
        f"{provisional} of {plural(len(judged), 'baseline')} {'is' if provisional == 1 else 'are'} provisional: nobody "
        f"has reviewed them."
    )
    return alarms, sure, *([baseline] if provisional else [])


def chart_words(chart: Chart, lone: list[LoneRun], zone: str) -> tuple[str, ...]:
    """Limits, alarms, slow trend, neighbours, capability."""
    said = [_limits(chart, chart.limits, zone) if chart.limits else _no_limits(chart)]
    if chart.limits:
        said.append(_alarms(chart))
    said += [run.sentence for run in lone]
    said += [_trend(chart), _neighbours(chart), _capability(chart)]
    return tuple(sentence for sentence in said if sentence)


def runs_caption(charts: list[Chart]) -> str:
    """What the drawings of a page show."""
    shown = [len(newest(chart.points)) for chart in charts]
    left = sum(len(chart.points) for chart in charts) - sum(shown)
    earlier = f" {plural(left, 'earlier run')} not drawn." if left else ""
    marks = (
        "Open dots: baseline. Diamonds: beyond a limit. Triangles: nine or more in a row on one side of the mean. "
        "Grey ground: changed stretch; black bar on the axis: when it began, 95 %."
        if any(chart.limits for chart in charts)
        else "Without limits: the plan or the grain's own certificate moves this figure, or there are too few runs."
    )
    months = "Month by month: ± twice the standard error; open squares and numbers: fewer than 3 runs."
    what = "batch by batch" if charts[0].measure.of_what == "batch" else "run by run"
    return f"{charts[0].measure.name} [{charts[0].measure.unit}], {what}.{earlier} {marks} {months}"


def breakdown_words(breakdown: Breakdown | None) -> str:
    """What goes with most of the scatter, and what cannot be told apart."""
    if breakdown is None:
        return ""
    telling = [share for share in breakdown.shares if share.alone >= 0.05 and share.p < 0.01]
    if not telling:
        return "None of them goes with more of the scatter than chance gives."
    most = telling[0]
    said = f"{most.attribute.capitalize()} goes with {figures.number(100 * most.alone, 0)} % of the scatter"
    twins = sorted(
        {frozenset((share.attribute, twin)) for share in telling for twin in share.confounded_with}, key=sorted
    )
    if not twins:
        return f"{said}."
    pairs = listed([" and ".join(sorted(pair)) for pair in twins])
    return f"{said}. {pairs.capitalize()} cannot be told apart here: the same runs have both."


def false_alarm_words() -> str:
    """How often the two rules of the charts cry wolf where limits are known exactly."""
    both, beyond = run_length(HOUSE_RULES), run_length(HOUSE_RULES[:2])
    return (
        f"one run in {figures.number(beyond, 0)} lies beyond three standard deviations by chance, and one of the two "
        f"rules speaks once in {figures.number(both, 0)}"
    )


def _limits(chart: Chart, limits: Limits, zone: str) -> str:
    places = chart.measure.decimals
    values = (
        f"mean {figures.number(limits.centre, places)}, limits {figures.number(limits.lower, places)} to "
        f"{figures.number(limits.upper, places)} {chart.measure.unit}"
    )
    what = "batches" if chart.measure.of_what == "batch" else "runs"
    span = f"{limits.points} {what} from {figures.day(limits.first, zone)} to {figures.day(limits.last, zone)}"
    kind = "" if limits.kind == "individuals" else " (binomial, for a batch of mean size)"
    if limits.provisional:
        return f"Baseline: {values}{kind}, by the first {span}, provisional."
    review = f"reviewed by {limits.reviewed_by} on {limits.reviewed_at}: {limits.reason}"
    return f"Baseline: {values}{kind}, by {span}, {review}."


def _no_limits(chart: Chart) -> str:
    if not chart.measure.watched:
        return "Not judged: the plan, or what the grain's certificate promises, moves this figure."
    return f"{plural(len(chart.points), 'run')} are too few for limits."


def _alarms(chart: Chart) -> str:
    after = sum(not point.in_baseline for point in chart.points)
    if after == 0:
        return "All runs are in the baseline; nothing can be compared with it yet."
    by_chance = figures.number(chart.chance_alarms, 1)
    beyond = sum("beyond" in point.signals for point in chart.points)
    return (
        f"Of {after} since, {beyond} lie beyond a limit; chance gives about {by_chance} "
        f"{'alarm' if by_chance == '1.0' else 'alarms'}. As great a change as the greatest here: chance "
        f"{chance(chart.p_change)}, over all charts {chance(chart.p_adjusted)}."
    )


def _trend(chart: Chart) -> str:
    trend = chart.trend
    if trend is None:
        return ""
    places = chart.measure.decimals + 1
    slope, low, high = (figures.number(value, places) for value in (trend.slope, trend.low, trend.high))
    sure = "a slow trend" if trend.p < _SURE else "no slow trend that chance would not give"
    return f"Slope {slope} ({low} to {high}) {chart.measure.unit} a year: {sure} (chance {chance(trend.p)})."


def _neighbours(chart: Chart) -> str:
    bound = 1.96 / math.sqrt(max(chart.trend.points, 1)) if chart.trend else math.inf
    if not chart.neighbours > bound:
        return ""
    return (
        f"Neighbouring runs are alike (correlation {figures.number(chart.neighbours, 2)}); limits and chances "
        f"of alarms hold less well, and the test of the slope allows for it."
    )


def _capability(chart: Chart) -> str:
    if chart.why_no_capability:
        return f"No capability: {chart.why_no_capability}."
    index = chart.capability
    if index is None:
        return ""
    sides = [figures.number(side, 2) for side in (index.lower, index.upper) if not math.isnan(side)]
    tolerance = (
        f"{' to '.join(sides)} {chart.measure.unit}" if len(sides) == 2 else f"from {sides[0]} {chart.measure.unit}"
    )
    return (
        f"Capability to {tolerance}: Cpk {figures.number(index.cpk, 2)} (95 %: {figures.number(index.low, 2)} to "
        f"{figures.number(index.high, 2)}, {index.points} values)."
    )
