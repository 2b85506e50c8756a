"""Gathers the months: each measure run by run and month by month, with limits from its first runs.

The trend report's only queries. A series holds one recipe or one still, so no moving range spans a change of either;
months of all stills together come from derived.monthly.
"""

import math
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby
from pathlib import Path

from checks.stills import BASELINE, LENGTH
from pipeline.database import Book
from pipeline.settings import House
from pipeline.statistics.control_limits import IndividualsLimits, beyond_limits, individuals_limits, runs_on_one_side
from pipeline.statistics.ratios import ratio_of_sums
from reports.figures import local_month

_HERE = Path(__file__).parent
FEWEST = 8  # runs; a shorter series stands in the table only, since limits from so few say little

# Key of the measure: title, unit of its values, whether a fraction shown as per cent, what a run is charged with.
MEASURES = {
    "yield_l_per_t": ("Yield", "LPA per tonne", False, "grain or fruit"),
    "yield_against_prediction": ("Yield against prediction", "%", True, "alcohol predicted from the extract"),
    "strip_recovery": ("Stripping recovery", "%", True, "alcohol charged"),
    "rectify_recovery": ("Rectifying recovery", "%", True, "alcohol charged"),
}


@dataclass(frozen=True)
class Point:
    """One run: its value in the unit of the measure, and the signals that it carries."""

    run: str
    group: str
    ended_at: datetime
    value: float
    in_baseline: bool
    beyond: bool
    in_row: bool


@dataclass(frozen=True)
class Month:
    """One month as a ratio of sums."""

    month: date
    value: float | None
    u: float | None
    runs: int
    left_out: int


@dataclass(frozen=True)
class Series:
    """One measure of one recipe or still, or of all stills together (then without limits)."""

    measure: str
    group: str
    title: str
    unit: str
    charged_with: str
    points: tuple[Point, ...]
    limits: IndividualsLimits | None
    months: tuple[Month, ...]
    together: bool = False  # runs of several stills

    @property
    def by_month(self) -> dict[date, Month]:
        return {month.month: month for month in self.months}

    @property
    def baseline(self) -> int:
        """Number of first runs that the limits rest on."""
        return sum(point.in_baseline for point in self.points)


@dataclass(frozen=True)
class Trends:
    house: House
    series: tuple[Series, ...]
    standings: dict[str, int]
    last: datetime | None


def gather_months(book: Book, house: House) -> Trends:
    """Every series that the book holds runs for."""
    frame = book.frame((_HERE / "months_runs.sql").read_text(encoding="utf-8"))
    rows = list(frame.iter_rows())
    series = []
    for measure in MEASURES:
        of_measure = [row for row in rows if row[0] == measure]
        groups = {key: list(part) for key, part in groupby(of_measure, key=lambda row: row[1])}
        if measure.endswith("_recovery") and len(groups) > 1:
            series.append(_together(book, measure, groups))
        series += [_series(measure, group, part, house.time_zone) for group, part in groups.items()]
    standings = book.frame("SELECT standing, count(*) FROM flagged.standings GROUP BY standing")
    return Trends(house, tuple(series), dict(standings.iter_rows()), max((row[3] for row in rows), default=None))


def _series(measure: str, group: str, rows: list[tuple], zone: str) -> Series:
    title, unit, is_fraction, charged_with = MEASURES[measure]
    factor = 100.0 if is_fraction else 1.0
    measured = [row for row in rows if row[4] is not None and row[5]]
    values = [factor * row[4] / row[5] for row in measured]
    limits = _limits(values)
    flags = zip(
        beyond_limits(values, limits) if limits else [False] * len(values),
        runs_on_one_side(values, limits.centre, LENGTH) if limits else [False] * len(values),
        strict=True,
    )
    points = tuple(
        Point(row[2], group, row[3], value, number < BASELINE, bool(beyond), bool(in_row))
        for number, (row, value, (beyond, in_row)) in enumerate(zip(measured, values, flags, strict=True))
    )
    name = f"{title}, {group}" if group else title
    return Series(measure, group, name, unit, charged_with, points, limits, _months(rows, factor, zone))


def _limits(values: list[float]) -> IndividualsLimits | None:
    return individuals_limits(values, baseline=BASELINE) if len(values) >= FEWEST else None


def _months(rows: list[tuple], factor: float, zone: str) -> tuple[Month, ...]:
    months = []
    for month, part in groupby(rows, key=lambda row: local_month(row[3], zone)):
        here = list(part)
        measured = [row for row in here if row[4] is not None and row[5]]
        left_out = len(here) - len(measured)
        if not measured:
            months.append(Month(month, None, None, 0, left_out))
            continue
        ratio = ratio_of_sums([row[4] for row in measured], [row[5] for row in measured])
        u = None if math.isnan(ratio.u_ratio) else factor * ratio.u_ratio
        months.append(Month(month, factor * ratio.ratio, u, ratio.runs, left_out))
    return tuple(months)


def _together(book: Book, measure: str, groups: dict[str, list[tuple]]) -> Series:
    """All stills in one picture: months from the book, runs without limits since they are not one process."""
    title, unit, is_fraction, charged_with = MEASURES[measure]
    factor = 100.0 if is_fraction else 1.0
    rows = sorted((row for part in groups.values() for row in part), key=lambda row: (row[3], row[2]))
    points = tuple(
        Point(row[2], row[1], row[3], factor * row[4] / row[5], False, False, False)
        for row in rows
        if row[4] is not None and row[5]
    )
    sql = (
        "SELECT month, ratio, u_ratio, runs, runs_left_out FROM derived.monthly "
        "WHERE measure = ? AND equipment IS NULL ORDER BY month"
    )
    months = tuple(
        Month(month, _times(factor, ratio), _times(factor, u), runs, left_out)
        for month, ratio, u, runs, left_out in book.frame(sql, [measure]).iter_rows()
    )
    return Series(measure, "", f"{title}, all stills", unit, charged_with, points, None, months, together=True)


def _times(factor: float, value: float | None) -> float | None:
    return None if value is None else factor * value
