"""The trends as the board needs them."""

import math
from datetime import datetime

from pipeline.database import Book
from pipeline.settings import House
from reports import measures, months
from reports.months import MEASURES, gather_months

_STAGES = {"yield_l_per_t": "mash", "yield_against_prediction": "ferment"}


def trends_of(book: Book, house: House) -> measures.Trends:
    """The months of `reports.months` in the records of `reports.measures`."""
    gathered = gather_months(book, house)
    charts = tuple(_chart(series) for series in gathered.series if not series.together and series.points)
    return measures.Trends(
        house=house, charts=charts, together={}, findings=(), lone_runs=(), breakdowns=(),
        alarms_seen=sum(len(chart.alarms) for chart in charts), alarms_by_chance=0.0, alarms_by_chance_most=0.0,
        standings=gathered.standings, last=gathered.last,
    )  # fmt: skip


def _chart(series: months.Series) -> measures.Chart:
    title, unit, _, charged_with = MEASURES[series.measure]
    measure = measures.Measure(
        series.measure, title, unit, _STAGES.get(series.measure, series.measure.split("_")[0]), "higher",
        f"output over {charged_with}", "derived", "still",
    )  # fmt: skip
    points = tuple(
        measures.Point(
            point.run, "", point.ended_at, point.value, math.nan, math.nan, math.nan, still=point.group,
            in_baseline=point.in_baseline,
            signals=() if point.in_baseline else ("beyond",) * point.beyond + ("nine",) * point.in_row,
        )
        for point in series.points
    )  # fmt: skip
    calendar = tuple(measures.Month(m.month, m.value, m.u, m.runs, m.left_out) for m in series.months)
    limits = _limits(series, [point.ended_at for point in series.points if point.in_baseline])
    return measures.Chart(
        f"{series.measure}:{series.group}", measure, series.group, series.title, points, calendar, limits
    )


def _limits(series: months.Series, baseline: list[datetime]) -> measures.Limits | None:
    if series.limits is None:
        return None
    return measures.Limits(
        "individuals", series.limits.centre, series.limits.lower, series.limits.upper,
        (series.limits.upper - series.limits.centre) / 3, len(baseline), baseline[0], baseline[-1],
    )  # fmt: skip
