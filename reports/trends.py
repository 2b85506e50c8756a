"""The months to pages: a front page in words, one page a figure, a table of all figures.

Every sentence is put together from the figures on its page; nothing is said that they do not show.
"""

from dataclasses import dataclass
from datetime import datetime

from checks.stills import LENGTH
from pipeline.statistics.control_limits import D2_OF_TWO
from reports import figures, pages
from reports.edition import rule_book_sha256, software_version
from reports.months import FEWEST, Month, Point, Series, Trends
from reports.stages import Chart
from reports.trend_charts import individuals_chart, months_chart
from reports.wording import plural

_NO_RUNS = datetime(2000, 1, 1)  # date of a document of an empty book, since no clock may be read


@dataclass(frozen=True)
class Row:
    """An unbroken row of runs on one side of the mean, all after the baseline."""

    first: Point
    last: Point
    runs: int
    side: str
    mean: float


@dataclass(frozen=True)
class TrendPage:
    series: Series
    sentence: str
    signal: bool
    charts: tuple[Chart, ...]


def trends_html(trends: Trends) -> str:
    """The monthly trends as one HTML page with every drawing in it."""
    made = [_page(series, trends.house.time_zone) for series in trends.series if len(series.points) >= FEWEST]
    return pages.html(
        "trends.html.jinja",
        trends.house.time_zone,
        house=trends.house,
        trends=trends,
        made=made,
        first=sorted(made, key=lambda page: not page.signal),
        signals=sum(page.signal for page in made),
        short=[series for series in trends.series if len(series.points) < FEWEST],
        calendar=sorted({month.month for series in trends.series for month in series.months}),
        fewest=FEWEST,
        software=software_version(),
        rule_book=rule_book_sha256(),
    )


def trends_pdf(trends: Trends) -> bytes:
    """The monthly trends as PDF, dated by the last run in the book."""
    return pages.pdf(trends_html(trends), trends.last or _NO_RUNS)


def _page(series: Series, zone: str) -> TrendPage:
    beyond = [point for point in series.points if point.beyond and not point.in_baseline]
    rows = rows_on_one_side(series)
    sentence = " ".join(filter(None, (_latest(series), _signals(series, beyond, rows, zone))))
    charts = [Chart(individuals_chart(series, zone), _runs_caption(series))]
    if series.months:
        charts.append(Chart(months_chart(series.months, series.unit), _months_caption(series.months)))
    return TrendPage(series, sentence, bool(beyond or rows), tuple(charts))


def rows_on_one_side(series: Series) -> list[Row]:
    """The rows of eight or more on one side of the mean that end after the baseline."""
    rows, limits = [], series.limits
    end = 0
    while limits and end < len(series.points):
        if not series.points[end].in_row:
            end += 1
            continue
        start = end - LENGTH + 1
        side = series.points[end].value > limits.centre
        while (
            end < len(series.points)
            and series.points[end].in_row
            and (series.points[end].value > limits.centre) == side
        ):
            end += 1
        part = series.points[start:end]
        if not part[-1].in_baseline:
            mean = sum(point.value for point in part) / len(part)
            rows.append(Row(part[0], part[-1], len(part), "above" if side else "below", mean))
    return rows


def _latest(series: Series) -> str:
    known = [month for month in series.months if month.runs]
    if not known:
        return "No month has a figure yet."
    last = known[-1]
    said = f"In {last.month:%Y-%m}, {plural(last.runs, 'run')} gave {figures.stated(last.value, last.u, series.unit)}"
    if series.limits is None:
        return f"{said}."
    points = series.unit == "%"  # a difference of percentages is said in points, not in per cent of per cent
    change = last.value - series.limits.centre if points else 100 * (last.value / series.limits.centre - 1)
    mean = figures.number(series.limits.centre, 1)
    than = f"the mean of the first {plural(series.baseline, 'run')}, {mean} {series.unit}"
    if abs(change) < 0.05:
        return f"{said}, the same as {than}."
    by = f"{figures.number(abs(change), 1)} {'percentage points' if points else '%'}"
    return f"{said}, {by} {'above' if change > 0 else 'below'} {than}."


def _signals(series: Series, beyond: list[Point], rows: list[Row], zone: str) -> str:
    if series.together:
        return "Runs of several stills are not one process; limits are on the pages of each still."
    if series.limits is None:
        return f"{plural(len(series.points), 'run')} are too few for limits; they are drawn from {FEWEST} runs on."
    after = len(series.points) - series.baseline
    if after == 0:
        return "All runs are in the baseline, so nothing can be compared with it yet."
    said = []
    for side in ("below", "above"):
        there = [point for point in beyond if (point.value < series.limits.centre) == (side == "below")]
        if there:
            first = f"{there[0].run} on {figures.day(there[0].ended_at, zone)}"
            lie = "lies" if len(there) == 1 else "lie"
            which = "lower" if side == "below" else "upper"
            said.append(
                f"{len(there)} of the {plural(after, 'run')} since {lie} {side} the {which} limit, first {first}"
            )
    if rows:
        said.append(_longest(rows, series.unit, zone))
    if not said:
        since = f"None of the {plural(after, 'run')} since lies beyond the limits"
        return f"{since} and no {LENGTH} in a row lie on one side of the mean."
    return f"{'; '.join(said)}."


def _longest(rows: list[Row], unit: str, zone: str) -> str:
    row = max(rows, key=lambda row: row.runs)
    first, last = (f"{point.run} ({figures.day(point.ended_at, zone)})" for point in (row.first, row.last))
    others = f", the longest of {len(rows)} such rows" if len(rows) > 1 else ""
    return (
        f"{row.runs} runs in a row lie {row.side} the mean{others}: from {first} to {last}, "
        f"with a mean of {figures.number(row.mean, 1)} {unit}"
    )


def _runs_caption(series: Series) -> str:
    shown = f"Run by run, in order of their ends: {series.title} [{series.unit}], {len(series.points)} runs."
    if series.together:
        return f"{shown} One shape a still. Ticks: first run of a month."
    if series.limits is None:
        return f"{shown} Too few for limits. Ticks: first run of a month."
    return (
        f"{shown} Open dots are the first {series.baseline} runs, on which mean and limits rest "
        f"(mean ± 3 mean moving range / {D2_OF_TWO}); diamonds lie beyond a limit, triangles complete or continue "
        f"{LENGTH} in a row on one side of the mean. Ticks: first run of a month."
    )


def _months_caption(months: tuple[Month, ...]) -> str:
    left_out = sum(month.left_out for month in months)
    without = f" {plural(left_out, 'run')} without a figure left out." if left_out else ""
    return (
        f"Month by month: ratios of sums, with ± U (two standard errors from the scatter between runs); the number "
        f"of runs stands below, an open square has fewer than 3. {plural(len(months), 'month')}.{without}"
    )
