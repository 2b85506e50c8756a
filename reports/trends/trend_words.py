"""Sentences of the trend pages, each put together from the numbers of one chart."""

import math
from functools import cache

from gaugebook.pipeline.statistics.proportions import TAIL
from gaugebook.pipeline.statistics.run_rules import HOUSE_RULES, run_length
from gaugebook.reports.page import figures
from gaugebook.reports.page.wording import listed, plural
from gaugebook.reports.trends.chart_averages import parameters
from gaugebook.reports.trends.finding_words import chance
from gaugebook.reports.trends.measure_list import SAMPLES
from gaugebook.reports.trends.measures import FEW, Breakdown, Chart, Finding, Limits, LoneRun, Trends
from gaugebook.reports.trends.trend_charts import far_out, newest

# Why a measure has no limits, by its stage.
_NOT_JUDGED = {
    "cask": "each cask is held against casks like it (rule cask-evaporation); those outside their band are left out",
    "dispatch": "orders move this figure",
}
_SURE = 0.01  # chance below which a slow trend is told as one; many charts are looked at


def describe_months(trends: Trends) -> tuple[str, ...]:
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
    if trends.alike >= 0.05:
        alarms += (
            f" Neighbouring runs are alike by {figures.number(trends.alike, 2)} on the average, which this allows for."
        )
    sure = (
        f"{plural(scanned, 'chart')} {'was' if scanned == 1 else 'were'} looked through for changes; a stable house "
        f"reads of one here in fewer than 1 of 20 reports (Holm)."
    )
    averaged = [chart for chart in judged if chart.average]
    return alarms, f"{sure} {_averages(trends, averaged)}" if averaged else sure


@cache
def _between_alarms() -> str:
    return f"{run_length(HOUSE_RULES):.0f}"


def describe_baseline(trends: Trends) -> str:
    """How many baselines nobody has reviewed."""
    judged = [chart.limits for chart in trends.charts if chart.limits]
    provisional = sum(limits.provisional for limits in judged)
    if not provisional:
        return ""
    return (
        f"{provisional} of {plural(len(judged), 'baseline')} {'is' if provisional == 1 else 'are'} provisional: nobody "
        f"has reviewed {'it' if provisional == 1 else 'them'}."
    )


def _averages(trends: Trends, averaged: list[Chart]) -> str:
    """How many averages lie beyond their limits, beside how many chance gives; they are no alarms."""
    charts_named = {finding.chart for finding in trends.findings} | {run.chart for run in trends.lone_runs}
    beyond = [chart for chart in averaged if chart.average and chart.average.beyond]
    untold = sum(chart.key not in charts_named for chart in beyond)
    by_chance = sum(chart.average.by_chance for chart in averaged if chart.average)
    return (
        f"The EWMA, which confirms and dates but raises no alarm, lies beyond its limits somewhere on {len(beyond)} of "
        f"{plural(len(averaged), 'chart')}, {untold} of them without a change or single run told above; in a stable "
        f"house chance alone puts it there on about {figures.number(by_chance, 0 if by_chance >= 2 else 1)}."
    )


def describe_chart(chart: Chart, lone: list[LoneRun], zone: str) -> tuple[str, ...]:
    """Limits, alarms, slow trend, neighbours, capability."""
    sentences = [_limits(chart, chart.limits, zone) if chart.limits else _no_limits(chart)]
    if chart.limits:
        sentences += [_alarms(chart), _average(chart, zone)]
    sentences += [run.sentence for run in lone]
    sentences += [_prediction(chart), _trend(chart), _neighbours(chart), _capability(chart)]
    return tuple(sentence for sentence in sentences if sentence)


def runs_caption(charts: list[Chart], *, is_changed: bool) -> str:
    """What the drawings of a page show, with the parameters of each chart and its average run length."""
    shown = [newest(chart.points) for chart in charts]
    left = sum(len(chart.points) for chart in charts) - sum(len(points) for points in shown)
    names = ", ".join(dict.fromkeys(chart.measure.name for chart in charts))
    measure = charts[0].measure
    each, all_of_them = measure.of_what, measure.points
    number = " + ".join(str(len(points)) for points in shown)
    sentences = [f"{names} [{charts[0].measure.unit}] {each} by {each}, {number} points."]
    if left:
        sentences.append(f"{plural(left, f'earlier {each}', f'earlier {all_of_them}')} not drawn.")
    kinds = {chart.limits.kind for chart in charts if chart.limits}
    if kinds == {"proportion"}:
        sentences.append(
            f"Open dots: baseline. Diamonds: beyond the exact binomial limits of a {each} of its size, by chance no "
            f"more than once in {0.5 / TAIL:.0f} were the share known; those of the mean size are drawn."
        )
    elif kinds:
        sentences.append(
            f"Open dots: baseline. Diamonds: beyond mean ± 3 standard deviations; triangles: nine or more in a row on "
            f"one side (were the limits known, once in {_between_alarms()} points by chance)."
        )
    elif measure.stage in _NOT_JUDGED:
        sentences.append(f"Without limits: {_NOT_JUDGED[measure.stage]}.")
    else:
        sentences.append(
            "Without limits: the plan or the material's own certificate moves this figure, or runs are too few."
        )
    if any(far_out(chart) for chart in charts):
        sentences.append("Numbers at an edge: points off the scale.")
    if is_changed:
        sentences.append("Grey: changed stretch; black bar: when it began, 95 %.")
    if any(chart.average for chart in charts):
        sentences.append(f"EWMA, in the same unit: of the {all_of_them} since the baseline ({parameters()[0]}).")
    if any(chart.sums for chart in charts):
        sentences.append(f"CUSUM: of the same, above the mean and below it ({parameters()[1]}).")
    if any(not math.isnan(point.predicted) for points in shown for point in points):
        sentences.append(
            "Dotted: predicted from extract or sugar on the certificates of the run's own lots and what of it ferments."
        )
    if measure.adds_up:
        sentences.append("Months: sums; a month without is a gap.")
    elif any(chart.months for chart in charts):
        sentences.append(f"Months: ± twice the standard error; open squares and numbers: fewer than {FEW} runs.")
    return " ".join(sentences)


def describe_breakdown(breakdown: Breakdown | None) -> str:
    """What goes with most of the scatter, and what cannot be told apart."""
    if breakdown is None:
        return ""
    telling = [share for share in breakdown.shares if share.alone >= 0.05 and share.p < 0.01]
    if not telling:
        return "None of them goes with more of the scatter than chance gives."
    most = telling[0]
    sentence = f"{most.attribute.capitalize()} goes with {figures.number(100 * most.alone, 0)} % of the scatter"
    twins = sorted(
        {frozenset((share.attribute, twin)) for share in telling for twin in share.confounded_with}, key=sorted
    )
    if not twins:
        return f"{sentence}."
    pairs = listed([" and ".join(sorted(pair)) for pair in twins])
    return f"{sentence}. {pairs.capitalize()} cannot be told apart here: the same runs have both."


def describe_false_alarms() -> str:
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
    what = chart.measure.points
    span = f"{limits.points} {what} from {figures.day(limits.first, zone)} to {figures.day(limits.last, zone)}"
    kind = {
        "proportion": " (binomial, for a batch of mean size)",
        "means": f" (X-bar, by the scatter within samples of {limits.size})",
        "spreads": f" (s, by the scatter within samples of {limits.size})",
    }.get(limits.kind, "")
    if chart.measure.code in SAMPLES and limits.kind == "individuals":
        kind = " (of single values, since batches differ by more than the scatter within samples explains)"
    if limits.provisional:
        return f"Baseline: {values}{kind}, by the first {span}, provisional."
    review = f"reviewed by {limits.reviewed_by} on {limits.reviewed_at}: {limits.reason}"
    return f"Baseline: {values}{kind}, by {span}, {review}."


def _no_limits(chart: Chart) -> str:
    if chart.measure.stage in _NOT_JUDGED:
        return f"Not judged: {_NOT_JUDGED[chart.measure.stage]}."
    if not chart.measure.watched:
        return "Not judged: the plan, or what the material's certificate promises, moves this figure."
    return f"{plural(len(chart.points), 'run')} are too few for limits."


def _average(chart: Chart, zone: str) -> str:
    average = chart.average
    if average is None:
        return ""
    if not average.beyond:
        return "EWMA: within its limits throughout."
    return (
        f"EWMA: beyond its limits after {len(average.beyond)} of {len(average.values)}, first after "
        f"{average.first_run} on {figures.day(average.when[average.beyond[0]], zone)}; so much happens by chance on "
        f"{chance(average.by_chance)} stable charts."
    )


def describe_dating(finding: Finding, zone: str) -> str:
    """Whether the charts that remember saw a change, and when."""
    dating = finding.dating
    if dating is None:
        return ""
    sentences = []
    if dating.cusum_from is not None and dating.passed_at is not None:
        passed = f"passed its decision value with {dating.passed_run} on {figures.day(dating.passed_at, zone)}"
        since = f"has grown since {dating.cusum_run} on {figures.day(dating.cusum_from, zone)} and "
        sentences.append(f"the CUSUM {since if dating.cusum_run != dating.passed_run else ''}{passed}")
    if dating.ewma_at is not None:
        sentences.append(f"the EWMA left its limits with {dating.ewma_run} on {figures.day(dating.ewma_at, zone)}")
    seen = " and ".join(sentences) if sentences else "neither CUSUM nor EWMA leaves its limits there"
    return f"Against the frozen baseline, {seen}."


def _prediction(chart: Chart) -> str:
    """What the material promised of the runs of a chart, beside what they gave."""
    known = [point for point in chart.points if not math.isnan(point.predicted)]
    if not known:
        return ""
    given, promised = (sum(values) for values in zip(*((p.numerator, p.predicted * p.denominator) for p in known),
                                                     strict=True))  # fmt: skip
    amount = sum(point.denominator for point in known)
    places, unit = chart.measure.decimals, chart.measure.unit
    return (
        f"Predicted for {plural(len(known), 'run')}: {figures.number(promised / amount, places)} {unit}; they gave "
        f"{figures.number(given / amount, places)}, {figures.number(100 * given / promised, 1)} % of it."
    )


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
