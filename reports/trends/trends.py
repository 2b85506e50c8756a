"""The trends to pages: a summary in words, one page a measure, a table of all figures.

Every sentence is put together from the figures on its page by `finding_words` and `trend_words`; nothing is said that
they do not show.
"""

import math
from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime

from markupsafe import Markup

from gaugebook.reports.page import figures, pages
from gaugebook.reports.page.provenance import rule_files_sha256, software_version
from gaugebook.reports.trends.events import events, headline
from gaugebook.reports.trends.measure_list import PROPORTIONS, SAME_PAGE, factor
from gaugebook.reports.trends.measures import FEWEST, Breakdown, Chart, Finding, LoneRun, Measure, Month, Trends
from gaugebook.reports.trends.stock_charts import amounts_chart
from gaugebook.reports.trends.stock_page import stock_page
from gaugebook.reports.trends.trend_charts import calendar, months_chart, runs_chart, span_of, years_chart
from gaugebook.reports.trends.trend_words import (
    describe_baseline,
    describe_breakdown,
    describe_chart,
    describe_dating,
    describe_false_alarms,
    describe_months,
    runs_caption,
)

_NO_RUNS = datetime(2000, 1, 1)  # date of a document of an empty book, since no clock may be read
_WIDTH = 486.0  # of the drawings of a page [pt]
_HEIGHT = 250.0  # of all charts of runs together [pt]
_KEYS = ("yield_against_prediction", "strip_recovery", "rectify_recovery", "botanical_recovery", "bottling_loss",
         "grain_to_bottle", "right_first_time")  # fmt: skip
_MOST_KEYS = 9
_ROOM_FOR_KEYS = (_MOST_KEYS, _MOST_KEYS, _MOST_KEYS, 5, 2)  # on one page, beside so many changes
_MONTHS = 13  # columns of the table: a month beside the same month of the year before


@dataclass(frozen=True)
class Facts:
    """What is said of one chart beside its drawing."""

    name: str  # of its group, or of its measure where the page has several
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class Key:
    """One line of the month at a glance: the newest month beside the baseline and the same month a year before."""

    chart: Chart
    month: Month
    year_before: Month | None


@dataclass(frozen=True)
class MeasurePage:
    measure: Measure
    lead: str
    runs: tuple[Markup, ...]
    caption: str
    months: tuple[Markup, ...]
    facts: tuple[Facts, ...]
    findings: tuple[str, ...]
    breakdown: Breakdown | None
    breakdown_said: str
    signal: bool


def trends_html(trends: Trends) -> str:
    """The trends as one HTML page with every drawing in it."""
    sections = [page for measure in _measures(trends) if (page := _page(trends, measure)) is not None]
    months = sorted({month.month for chart in trends.charts for month in chart.months})
    events_shown = events(trends)
    return pages.html(
        "trends.html.jinja",
        trends.house.time_zone,
        house=trends.house,
        trends=trends,
        made=sections,
        in_casks=stock_page(trends.stock),
        sums_of_months=any(chart.measure.adds_up for chart in trends.charts),
        events=events_shown,
        is_series=any(chart.measure.code == "series" for chart in trends.charts),
        most_events=len(_ROOM_FOR_KEYS) - 1,
        headline=headline(trends),
        keys=keys(trends)[: _ROOM_FOR_KEYS[min(len(events_shown), len(_ROOM_FOR_KEYS) - 1)]],
        said=describe_months(trends),
        baselines=describe_baseline(trends),
        page_of={code: n for n, page in enumerate(sections) for code in _on_page(page.measure)},
        short=[chart for chart in trends.charts if 0 < len(chart.points) < FEWEST],
        calendar=months[-_MONTHS:],
        years=sorted({month.year for month in months}),
        by_year={chart.key: _by_year(chart, trends.house.time_zone) for chart in trends.charts},
        fewest=FEWEST,
        false_alarms=describe_false_alarms(),
        software=software_version(),
        rule_book=rule_files_sha256(),
    )


def trends_pdf(trends: Trends) -> bytes:
    """The trends as PDF, dated by the last run in the book."""
    return pages.pdf(trends_html(trends), trends.last or _NO_RUNS, trends.house.documents.paper)


def keys(trends: Trends) -> list[Key]:
    """The month at a glance: what the grain promises, what the stills keep, what reaches the bottle."""
    keys_shown = []
    newest = max((month.month for chart in trends.charts for month in chart.months if month.runs), default=None)
    for chart in (c for code in _KEYS for c in trends.charts if c.measure.code == code and len(c.points) >= FEWEST):
        held = chart.by_month
        month = held.get(newest) if newest else None
        if month is not None and month.runs:
            keys_shown.append(Key(chart, month, held.get(month.month.replace(year=month.month.year - 1))))
    return keys_shown[:_MOST_KEYS]


def _measures(trends: Trends) -> list[Measure]:
    return [m for m in dict.fromkeys(chart.measure for chart in trends.charts) if m.code not in SAME_PAGE]


def _on_page(measure: Measure) -> list[str]:
    """Codes of the measures that are drawn on the page of one, its own first."""
    return [measure.code, *(code for code, host in SAME_PAGE.items() if host == measure.code)]


def _page(trends: Trends, measure: Measure) -> MeasurePage | None:
    """The page of a measure; None where none of its groups has enough runs."""
    zone = trends.house.time_zone
    codes = _on_page(measure)
    charts = [c for code in codes for c in trends.charts if c.measure.code == code and len(c.points) >= FEWEST]
    if not charts:
        return None
    by_chart: dict[str, list[Finding]] = defaultdict(list)
    for finding in trends.findings:
        by_chart[finding.chart].append(finding)
    lone: dict[str, list[LoneRun]] = defaultdict(list)
    for run in trends.lone_runs:
        lone[run.chart].append(run)
    panels = max((chart.average is not None) + (chart.sums is not None) for chart in charts)
    height = min((150.0, 190.0, _HEIGHT)[panels], _HEIGHT / len(charts))
    scale = _common_scale(charts)
    drawn = tuple(runs_chart(c, by_chart[c.key], zone, height=height, scale=scale) for c in charts)
    facts = tuple(
        Facts(c.group or (c.measure.name if len(codes) > 1 else ""), describe_chart(c, lone[c.key], zone))
        for c in charts
    )
    breakdown = next((b for b in trends.breakdowns if b.measure == measure.code), None)
    findings = tuple(f"{f.sentence} {describe_dating(f, zone)}" for c in charts for f in by_chart[c.key])
    signal = bool(findings) or any(lone[c.key] for c in charts)
    months = _month_charts(trends, measure, charts)
    caption = runs_caption(charts, is_changed=bool(findings))
    return MeasurePage(measure, _lead(charts), drawn, caption, months, facts, findings, breakdown,
                       describe_breakdown(breakdown), signal)  # fmt: skip


def _lead(charts: list[Chart]) -> str:
    sentences = []
    for chart in charts:
        known = [month for month in chart.months if month.runs]
        if known:
            last = known[-1]
            figure = figures.stated(last.value, last.u, chart.measure.unit)
            name = f"{chart.group}: " if chart.group else "" if chart.measure is charts[0].measure else "scatter: "
            sentences.append(f"{name}{figure} in {last.month:%Y-%m} (n {last.runs})")
    return "; ".join(sentences)


def _common_scale(charts: list[Chart]) -> tuple[float, float] | None:
    """One scale for small multiples whose values can be compared; none where one would be flattened."""
    if any(chart.measure is not charts[0].measure for chart in charts):
        return None
    spans = [span_of(chart) for chart in charts]
    low, high = min(span[0] for span in spans), max(span[1] for span in spans)
    widest = max(span[1] - span[0] for span in spans)
    return (low, high) if high - low < 2.5 * widest and len(charts) > 1 else None


def _month_charts(trends: Trends, measure: Measure, charts: list[Chart]) -> tuple[Markup, ...]:
    """Month by month of each group (of the first two), then the years laid over each other; side by side."""
    name, whole = _years(trends, measure, charts)
    has_years = len(calendar(whole)) > 12
    shown = charts[: 2 if has_years else 3]
    width = _WIDTH / (len(shown) + has_years)
    bounds = (0.0, factor(measure)) if measure.code in PROPORTIONS else (-math.inf, math.inf)
    drawn = [
        amounts_chart(c.months, c.group or c.measure.name, measure.unit, width)
        if measure.adds_up
        else months_chart(c.months, c.group or c.measure.name, measure.unit, width, bounds=bounds)
        for c in shown
        if c.months
    ]
    if has_years:
        drawn.append(years_chart(whole, name, measure.unit, width))
    return tuple(drawn)


def _years(trends: Trends, measure: Measure, charts: list[Chart]) -> tuple[str, tuple[Month, ...]]:
    """Name and months of what is laid year over year: the stream with most runs over all its stills, else one group."""
    streams = trends.together.get(measure.code, {})
    if not streams:
        return charts[0].group or measure.name, charts[0].months
    name = max(streams, key=lambda stream: (sum(month.runs for month in streams[stream]), stream))
    return f"{name}, all stills" if name else "all stills", streams[name]


def _by_year(chart: Chart, zone: str) -> dict[int, tuple[float, int]]:
    """Ratio of sums, or sum, and number of runs of each year of the house's calendar."""
    sums: dict[int, list[float]] = defaultdict(lambda: [0.0, 0.0, 0.0])
    for point in chart.points:
        of_year = sums[figures.local_month(point.when, zone).year]
        of_year[0] += point.numerator
        of_year[1] += point.denominator
        of_year[2] += 1
    by = factor(chart.measure)
    return {
        year: (by * numerator / (1.0 if chart.measure.adds_up else denominator), int(n))
        for year, (numerator, denominator, n) in sums.items()
    }


def month_of(trends: Trends) -> date | None:
    """Month of the newest run."""
    return figures.local_month(trends.last, trends.house.time_zone) if trends.last else None
