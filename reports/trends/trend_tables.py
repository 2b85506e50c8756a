"""Every figure of the trends as tables: CSV files, and the same as sheets of a workbook.

Files give numbers to eight digits (`pipeline/spreadsheets.py`); a figure that is not known is an empty cell. Times
are UTC.
"""

from dataclasses import asdict
from datetime import datetime
from typing import Any

import polars as pl
from polars import selectors as cs

from gaugebook.pipeline.spreadsheets import workbook_bytes
from gaugebook.reports.trends.measures import Chart, Finding, Trends
from gaugebook.reports.warehouse.stock import StockMonth, age_name

_NO_RUNS = datetime(2000, 1, 1)  # date of a workbook of an empty book, since no clock may be read


def tables(trends: Trends) -> dict[str, pl.DataFrame]:
    """By name: charts, months, runs, changes, lone_runs, shares; of a house with casks also stock_in_casks."""
    named = {
        "charts": _frame([_chart_row(chart) for chart in trends.charts]),
        "months": _frame([row for chart in trends.charts for row in _month_rows(chart)]),
        "runs": _frame([row for chart in trends.charts for row in _run_rows(chart)]),
        "changes": _frame([_finding_row(finding, trends.chart(finding.chart)) for finding in trends.findings]),
        "lone_runs": _frame([asdict(run) for run in trends.lone_runs]),
        "shares": _frame(
            [
                {"measure": breakdown.measure, "runs": breakdown.runs, **asdict(share),
                 "confounded_with": ", ".join(share.confounded_with)}
                for breakdown in trends.breakdowns
                for share in breakdown.shares
            ]
        ),
    }  # fmt: skip
    if trends.stock:
        named["stock_in_casks"] = _frame([row for month in trends.stock for row in _stock_rows(month)])
    return named


def _stock_rows(month: StockMonth) -> list[dict[str, Any]]:
    """A row an age, and one of all together."""
    named = [*((age_name(years), held) for years, held in month.ages), ("all", month.total)]
    return [
        {"month": f"{month.month:%Y-%m}", "as_of_utc": month.as_of, "age": age, "casks": held.casks,
         "not_known": held.not_known, "book_l": held.book_l, "u_book_l": held.u_book_l, "predicted_l": held.expected_l,
         "u_predicted_l": held.u_expected_l, "by_casks_like_it": held.foretold}
        for age, held in named
    ]  # fmt: skip


def workbook(tables: dict[str, pl.DataFrame], dated: datetime | None) -> bytes:
    """The tables as sheets of one workbook, dated by the last run."""
    return workbook_bytes(tables, "Monthly trends", dated or _NO_RUNS)


def _frame(rows: list[dict[str, Any]]) -> pl.DataFrame:
    """Rows as a table; what is not a number is missing."""
    columns = {name: [row[name] for row in rows] for name in rows[0]} if rows else {}
    frame = pl.DataFrame(columns, strict=False)
    floats = cs.float()
    return frame.with_columns(pl.when(floats.is_finite()).then(floats).otherwise(None).name.keep())


def _named(chart: Chart) -> dict[str, Any]:
    return {"chart": chart.key, "measure": chart.measure.code, "group": chart.group, "unit": chart.measure.unit}


def _chart_row(chart: Chart) -> dict[str, Any]:
    limits, trend, index = chart.limits, chart.trend, chart.capability
    return {
        **_named(chart),
        "title": chart.title,
        "definition": chart.measure.definition,
        "source": chart.measure.source,
        "runs": len(chart.points),
        "limits": limits.kind if limits else None,
        "baseline_runs": limits.points if limits else None,
        "baseline_first_utc": limits.first if limits else None,
        "baseline_last_utc": limits.last if limits else None,
        "reviewed_by": limits.reviewed_by or None if limits else None,
        "centre": limits.centre if limits else None,
        "lower_limit": limits.lower if limits else None,
        "upper_limit": limits.upper if limits else None,
        "sd": limits.sd if limits else None,
        "alarms": len(chart.alarms),
        "alarms_by_chance": chart.chance_alarms,
        "ewma_beyond": len(chart.average.beyond) if chart.average else None,
        "ewma_beyond_by_chance": chart.average.by_chance if chart.average else None,
        "p_change": chart.p_change,
        "p_change_over_all": chart.p_adjusted,
        "slope_a_year": trend.slope if trend else None,
        "slope_low": trend.low if trend else None,
        "slope_high": trend.high if trend else None,
        "p_slope": trend.p if trend else None,
        "neighbours_correlation": chart.neighbours,
        "cpk": index.cpk if index else None,
        "cpk_low": index.low if index else None,
        "cpk_high": index.high if index else None,
        "why_no_cpk": chart.why_no_capability or None,
    }


def _month_rows(chart: Chart) -> list[dict[str, Any]]:
    return [
        {**_named(chart), "month": f"{month.month:%Y-%m}", "value": month.value, "u": month.u, "runs": month.runs,
         "runs_left_out": month.left_out}
        for month in chart.months
    ]  # fmt: skip


def _run_rows(chart: Chart) -> list[dict[str, Any]]:
    averages = dict(zip(chart.average.when, chart.average.values, strict=True)) if chart.average else {}
    return [
        {**_named(chart), "run": point.run, "batch": point.batch, "ended_utc": point.when, "value": point.value,
         "u": point.u, "numerator": point.numerator, "denominator": point.denominator, "still": point.still,
         "recipe": point.recipe, "product": point.product, "operator": point.operator,
         "malt_lots": ", ".join(point.malt_lots), "in_baseline": point.in_baseline,
         "signals": ", ".join(point.signals), "values": point.size, "predicted": point.predicted,
         "ewma": averages.get(point.when)}
        for point in chart.points
    ]  # fmt: skip


def _finding_row(finding: Finding, chart: Chart) -> dict[str, Any]:
    row = {**_named(chart), **asdict(finding)}
    row["causes"] = ", ".join(f"{cause.attribute} {cause.level}" for cause in finding.causes)
    row["batches"] = ", ".join(finding.batches)
    row["with_charts"] = "; ".join(finding.with_charts)
    del row["dating"]
    row["cusum_from_utc"] = finding.dating.cusum_from if finding.dating else None
    row["ewma_beyond_utc"] = finding.dating.ewma_at if finding.dating else None
    return row
