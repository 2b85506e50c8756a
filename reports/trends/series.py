"""A series of any values from a CSV file, charted as a measure of the house is."""

import csv
import math
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import groupby
from pathlib import Path

import numpy as np

from gaugebook.pipeline.errors import GaugebookError
from gaugebook.pipeline.house.settings import House
from gaugebook.reports.trends.change_findings import watch
from gaugebook.reports.trends.chart_averages import average_of, dating_of, sums_of
from gaugebook.reports.trends.chart_limits import score
from gaugebook.reports.trends.chart_tests import trend_of
from gaugebook.reports.trends.measures import FEW, FEWEST, RULES, Chart, Measure, Month, Point, Trends

_START = datetime(2000, 1, 1, 12)  # of a series without dates; its values then count as days
_YEARS = range(1000, 3000)


def read_series(file: Path, column: str | None = None, time: str | None = None) -> list[tuple[str, datetime, float]]:
    """Name, time and value of each row, in order of time.

    Parameters
    ----------
    file : Path
        CSV with a header.
    column, time : str
        Columns of value and time; by default the first whose cells are all numbers, and the first of dates or years.

    Raises
    ------
    GaugebookError
        If the file cannot be read, a named column is not there, or there are too few numbers.
    """
    header, rows = _cells(file)
    for name in filter(None, (column, time)):
        if name not in header:
            raise GaugebookError(f'"{file}" has no column "{name}"; it has: {", ".join(header)}.')
    at = time or next((name for name in header if name != column and all(_moment(row[name]) for row in rows)), None)
    numeric = [name for name in header if name != at and any(_number(row[name]) is not None for row in rows)]
    whole = [name for name in numeric if all(_number(row[name]) is not None or not row[name].strip() for row in rows)]
    value = column or next(iter(whole), None)
    if value is None:
        raise GaugebookError(f'"{file}" has no column of numbers; it has: {", ".join(header)}. Name one with --column.')
    points = []
    for n, row in enumerate(rows):
        moment = _moment(row[at]) if at else _START + timedelta(days=n)
        if moment is None:
            where = f'"{file}", line {n + 2}, column "{at}"'
            raise GaugebookError(f'{where}: found "{row[at or ""]}", expected a date such as 2031-07-02 or a year.')
        number = _number(row[value])
        if number is None and row[value].strip():
            raise GaugebookError(f'"{file}", line {n + 2}, column "{value}": found "{row[value]}", expected a number.')
        points.append((row[at].strip() if at else str(n + 1), moment, math.nan if number is None else number))
    if sum(not math.isnan(number) for _, _, number in points) < FEWEST:
        raise GaugebookError(f'"{file}", column "{value}": fewer than {FEWEST} numbers are too few for a chart.')
    return sorted(points, key=lambda row: row[1])


def series_trends(file: Path, column: str | None, time: str | None, unit: str = "") -> Trends:
    """The trends of one series, as if it were the only measure of a house that is named for its file."""
    values = read_series(file, column, time)
    name = column or file.stem
    measure = Measure(
        "series", name, unit, "house", "target", "Values as they stand in the file.", file.name,
        decimals=_decimals([value for _, _, value in values]),
    )  # fmt: skip
    points = [Point(label, "", at, value, math.nan, value, 1.0 if value == value else math.nan)
              for label, at, value in values]  # fmt: skip
    house = House(name=file.name, time_zone="UTC")
    scored = score(measure, "", points, house)
    chart = Chart(
        key="series", measure=measure, group="", title=name, points=scored.points, months=_months(points),
        limits=scored.limits[-1] if scored.limits else None,
    )  # fmt: skip
    watched = watch([(chart, scored.spans)], {}, None, "UTC")
    trend, neighbours = trend_of(watched.charts[0])
    chart = watched.charts[0]
    chart = replace(
        chart, trend=trend, neighbours=neighbours, average=average_of(chart, watched.alike), sums=sums_of(chart)
    )
    return Trends(
        house=house, charts=(chart,), together={},
        findings=tuple(replace(finding, dating=dating_of(chart, finding)) for finding in watched.findings),
        lone_runs=watched.lone_runs, breakdowns=(), alarms_seen=watched.alarms_seen,
        alarms_untold=watched.alarms_untold, alarms_by_chance=watched.alarms_by_chance,
        alarms_by_chance_most=watched.alarms_by_chance_most, alike=watched.alike, standings={},
        last=points[-1].when, empty=(), rules=tuple(RULES.values()),
    )  # fmt: skip


def _months(points: list[Point]) -> tuple[Month, ...]:
    """Means by month with their standard errors, where months hold several values; else none, since runs show all."""
    by_month = [
        (month, [point.value for point in part if not math.isnan(point.value)])
        for month, part in groupby(points, key=lambda point: point.when.date().replace(day=1))
    ]
    if not any(len(values) > 1 for _, values in by_month):
        return ()
    return tuple(
        Month(month, float(np.mean(values)), float(np.std(values, ddof=1) / len(values) ** 0.5) if len(values) >= FEW
              else math.nan, len(values), 0)
        for month, values in by_month if values
    )  # fmt: skip


def _cells(file: Path) -> tuple[list[str], list[dict[str, str]]]:
    try:
        text = file.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise GaugebookError(f'"{file}" cannot be read: {error.strerror}.') from error
    except UnicodeDecodeError as error:
        raise GaugebookError(f'"{file}" is not UTF-8 text; save it as UTF-8.') from error
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    separator = ";" if lines and lines[0].count(";") > lines[0].count(",") else ","
    reader = csv.DictReader(lines, delimiter=separator, restval="")
    header = [name for name in reader.fieldnames or [] if name]
    rows = [{name: row.get(name) or "" for name in header} for row in reader]
    if not rows:
        raise GaugebookError(f'"{file}" holds no rows below a header line.')
    return header, rows


def _number(cell: str) -> float | None:
    try:
        value = float(cell.strip())
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def _moment(cell: str) -> datetime | None:
    text = cell.strip()
    number = _number(text)
    if number is not None:
        return datetime(int(number), 7, 1, 12) if number in _YEARS else None
    for form in ("%Y-%m-%d", "%Y/%m/%d", "%d.%m.%Y", "%Y-%m", "%b %d %Y", "%b %Y"):
        try:
            return datetime.strptime(text, form).replace(hour=12)
        except ValueError:
            continue
    try:
        return datetime.fromisoformat(text).replace(tzinfo=None)
    except ValueError:
        return None


def _decimals(values: list[float]) -> int:
    """As many decimals as show a hundredth of the scatter."""
    spread = float(np.nanstd(values))
    return max(0, min(6, 2 - math.floor(math.log10(spread)))) if spread > 0 else 2
