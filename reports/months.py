"""Gathers the months: each measure run by run and month by month, with limits from its first runs.

The trend report's only queries. A series holds one recipe or one still, so no moving range spans a change of either;
months of all stills together come from derived.monthly.
"""

import math
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby
from pathlib import Path
from typing import NamedTuple

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


class _Run(NamedTuple):
    """A row of months_runs.sql."""

    measure: str
    group: str
    run: str
    ended_at: datetime
    output: float | None
    charge: float | None

    @property
    def measured(self) -> bool:
        return self.output is not None and bool(self.charge)

    @property
    def value(self) -> float:
        """Output over charge, in the unit of the measure; NaN where one of them is missing."""
        if self.output is None or not self.charge:
            return math.nan
        return _factor(self.measure) * self.output / self.charge


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
    """One month as a ratio of sums; NaN where no run has a figure, or too few to show a scatter."""

    month: date
    value: float
    u: float
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
    runs = [_Run(*row) for row in frame.iter_rows()]
    series = []
    for measure in MEASURES:
        of_measure = [run for run in runs if run.measure == measure]
        groups = {key: list(part) for key, part in groupby(of_measure, key=lambda run: run.group)}
        if measure.endswith("_recovery") and len(groups) > 1:
            series.append(_together(book, measure, of_measure))
        series += [_series(measure, group, part, house.time_zone) for group, part in groups.items()]
    standings = book.frame("SELECT standing, count(*) FROM flagged.standings GROUP BY standing")
    last = max((run.ended_at for run in runs), default=None)
    return Trends(house, tuple(series), dict(standings.iter_rows()), last)


def _series(measure: str, group: str, runs: list[_Run], zone: str) -> Series:
    title, unit, _, charged_with = MEASURES[measure]
    measured = [run for run in runs if run.measured]
    values = [run.value for run in measured]
    limits = individuals_limits(values, baseline=BASELINE) if len(values) >= FEWEST else None
    beyond = beyond_limits(values, limits) if limits else [False] * len(values)
    in_row = runs_on_one_side(values, limits.centre, LENGTH) if limits else [False] * len(values)
    points = tuple(
        Point(run.run, group, run.ended_at, run.value, number < BASELINE, bool(beyond[number]), bool(in_row[number]))
        for number, run in enumerate(measured)
    )
    name = f"{title}, {group}" if group else title
    return Series(measure, group, name, unit, charged_with, points, limits, _months(runs, zone))


def _months(runs: list[_Run], zone: str) -> tuple[Month, ...]:
    months = []
    for month, part in groupby(runs, key=lambda run: local_month(run.ended_at, zone)):
        here = list(part)
        pairs = [(run.output, run.charge) for run in here if run.output is not None and run.charge]
        left_out = len(here) - len(pairs)
        if not pairs:
            months.append(Month(month, math.nan, math.nan, 0, left_out))
            continue
        ratio = ratio_of_sums([output for output, _ in pairs], [charge for _, charge in pairs])
        factor = _factor(here[0].measure)
        months.append(Month(month, factor * ratio.ratio, factor * ratio.u_ratio, ratio.runs, left_out))
    return tuple(months)


def _together(book: Book, measure: str, runs: list[_Run]) -> Series:
    """All stills in one picture: months from the book, runs without limits since they are not one process."""
    title, unit, _, charged_with = MEASURES[measure]
    in_order = sorted((run for run in runs if run.measured), key=lambda run: (run.ended_at, run.run))
    points = tuple(Point(run.run, run.group, run.ended_at, run.value, False, False, False) for run in in_order)
    sql = (
        "SELECT month, ratio, u_ratio, runs, runs_left_out FROM derived.monthly "
        "WHERE measure = ? AND equipment IS NULL ORDER BY month"
    )
    months = tuple(
        Month(month, _times(_factor(measure), ratio), _times(_factor(measure), u), runs_, left_out)
        for month, ratio, u, runs_, left_out in book.frame(sql, [measure]).iter_rows()
    )
    return Series(measure, "", f"{title}, all stills", unit, charged_with, points, None, months, together=True)


def _factor(measure: str) -> float:
    """Fractions are shown as per cent."""
    return 100.0 if MEASURES[measure][2] else 1.0


def _times(factor: float, value: float | None) -> float:
    return math.nan if value is None else factor * value
