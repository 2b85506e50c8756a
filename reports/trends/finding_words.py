"""What was found, in words: each sentence is put together from the numbers of its record, and says nothing else."""

import math

from gaugebook.reports.page import figures
from gaugebook.reports.page.wording import plural
from gaugebook.reports.trends.measures import Chart, Finding, LoneRun


def describe_finding(finding: Finding, chart: Chart, quiet: tuple[str, ...], zone: str) -> str:
    """What changed, since when, how sure, what it is worth, and what goes with it."""
    sentences = [_what(finding, chart), _when(finding, zone), _how_sure(finding)]
    if finding.alcohol_l == finding.alcohol_l:
        sentences.append(_worth(finding))
    sentences += [_causes(finding), _elsewhere(finding, chart, quiet)]
    return " ".join(" ".join(filter(None, sentences)).split()).replace(" )", ")")  # a series may have no unit


def describe_lone_run(run: LoneRun, chart: Chart) -> str:
    """A run far beyond the limits of its chart."""
    limits = chart.limits
    assert limits is not None
    unit, places = chart.measure.unit, chart.measure.decimals
    span = f"{figures.number(limits.lower, places)} to {figures.number(limits.upper, places)} {unit}"
    side = "above" if run.value > limits.centre else "below"
    return (
        f"{chart.title}: {run.run} with {figures.number(run.value, places)} {unit} lies {side} the limits of {span} by "
        f"more than chance gives in all of this report (in {chance(run.p_adjusted)} such reports)."
    )


def chance(p: float) -> str:
    """A probability in words of one digit.

    >>> chance(0.031), chance(0.00003), chance(float("nan"))
    ('3 of 100', 'fewer than 1 of 10,000', '–')
    """
    if math.isnan(p):
        return figures.MISSING
    if p < 1e-4:
        return "fewer than 1 of 10,000"
    if p >= 0.1:
        return f"{round(10 * min(p, 1.0))} of 10"
    if p >= 0.01:
        return f"{round(100 * p)} of 100"
    return f"{max(1, round(1000 * p))} of 1,000" if p >= 0.001 else f"{max(1, round(10_000 * p))} of 10,000"


def _amount(value: float, chart: Chart) -> str:
    unit = "percentage points" if chart.measure.unit == "%" else chart.measure.unit
    return f"{figures.number(abs(value), max(chart.measure.decimals, 1))} {unit}"


def _what(finding: Finding, chart: Chart) -> str:
    runs = plural(finding.runs, chart.measure.of_what, chart.measure.points)
    before = f"{figures.number(finding.before, chart.measure.decimals)} {chart.measure.unit}"
    if finding.shape == "slope":
        way = "fell" if finding.reached < 0 else "rose"
        return (
            f"{chart.title} {way} slowly over {runs}, from {before} by {_amount(finding.reached, chart)} at the last "
            f"of them ({_amount(finding.change, chart)} on the average)."
        )
    way = "lower" if finding.change < 0 else "higher"
    u = figures.number(2 * finding.u_change, max(chart.measure.decimals, 1))
    by = f"{_amount(finding.change, chart)} (± {u})"
    return f"{chart.title} was {way} by {by} in {runs} than the {before} of the others."


def _when(finding: Finding, zone: str) -> str:
    first, last = finding.first_run, finding.last_run
    began = f"It began with {first} on {figures.day(finding.since, zone)}"
    if finding.since_low != finding.since_high:
        began += f" (95 % sure: {figures.day(finding.since_low, zone)} to {figures.day(finding.since_high, zone)})"
    if finding.until is None:
        return f"{began} and still holds with {last}."
    return f"{began} and ended with {last} on {figures.day(finding.until, zone)}."


def _how_sure(finding: Finding) -> str:
    return f"Chance alone would show as much in {chance(finding.p_adjusted)} such reports."


def _worth(finding: Finding) -> str:
    way = "less" if finding.alcohol_l < 0 else "more"
    u = figures.uncertainty(finding.u_alcohol_l)
    lpa = figures.number(abs(finding.alcohol_l), 0)
    return f"These runs gave {lpa} LPA {way} than at the level of the others ({u} LPA)."


def _causes(finding: Finding) -> str:
    if not finding.causes:
        return ""
    sentences = []
    for cause in finding.causes[:2]:
        share = f"{figures.number(100 * min(cause.explains, 1.0), 0)} % of what the change explains"
        sentence = (
            f"{cause.inside} of the {plural(finding.runs, 'run')} and {cause.outside} others had {cause.attribute} "
            f"{cause.level}, which by itself explains {share}"
        )
        if cause.alike:
            sentence += f"; it cannot be told from {' or '.join(cause.alike[:3])}, which fell on the same runs"
        sentences.append(f"{sentence}.")
    return " ".join(sentences)


def _elsewhere(finding: Finding, chart: Chart, quiet: tuple[str, ...]) -> str:
    if not quiet or chart.measure.group_kind != "still":
        return ""
    return f"No such change on {' or '.join(quiet[:4])}."
