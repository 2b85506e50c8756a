"""The hour that clocks repeat: which of the two a log's row means, where the order of its rows tells.

A log's own time only rises, or only falls where the export runs newest first. So within the repeated hour its local
time steps back once (forward, newest first), and that step parts the two passes. A log that shows no step is placed by
its nearest neighbour outside the hour; where that does not tell either, or time steps to and fro, nothing is guessed.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

import polars as pl

NEAR = timedelta(minutes=30)  # a neighbour further off than half the hour tells nothing
EARLIEST, LATEST, UNKNOWN = "earliest", "latest", "null"  # as polars calls them


@dataclass
class HourSoFar:
    """What one series has shown of one repeated hour."""

    last: datetime
    steps: int  # against the log's direction
    before_step: str  # the pass of the rows before the first such step


@dataclass
class LogClock:
    """What each series of a log has shown, carried from one block of rows to the next."""

    last: dict[str, datetime] = field(default_factory=dict)
    falls: dict[str, bool] = field(default_factory=dict)
    hours: dict[tuple[str, date], HourSoFar] = field(default_factory=dict)

    def become(self, other: "LogClock") -> None:
        """Take over what another clock has seen."""
        self.last, self.falls, self.hours = other.last, other.falls, other.hours


@dataclass(frozen=True)
class RowOrder:
    """What orders the rows of a log: the series that each belongs to (None: all to one), and its clock so far."""

    series: pl.Series | None
    clock: LogClock


@dataclass(frozen=True)
class Stretch:
    """Rows of one series within one repeated hour, as they follow each other, and what stands around them."""

    times: list[datetime]
    before: datetime | None
    after: datetime | None
    falls: bool


def passes(naive: pl.Series, is_repeated: pl.Series, order: RowOrder) -> pl.Series:
    """For each row "earliest", "latest" or "null" (unknown); "earliest" where the time is not repeated."""
    answer = [EARLIEST] * len(naive)
    clock = order.clock
    rows = _rows(naive, order)
    directions = rows.group_by("series").agg(pl.col("at").diff().dt.total_microseconds().sign().sum().alias("steps"))
    clock.falls.update({name: steps < 0 for name, steps in directions.iter_rows() if steps})
    neighbours = rows.with_columns(
        before=pl.coalesce(
            pl.col("at").shift(1).over("series"),
            pl.col("series").replace_strict(clock.last, default=None, return_dtype=pl.Datetime("us")),
        ),
        after=pl.col("at").shift(-1).over("series"),
        day=pl.col("at").dt.date(),
    )
    repeated = neighbours.filter(pl.Series(is_repeated).gather(neighbours["row"]))
    for (name, day), of_hour in repeated.group_by("series", "day", maintain_order=True):
        stretch = Stretch(
            of_hour["at"].to_list(), of_hour["before"][0], of_hour["after"][-1], clock.falls.get(str(name), False)
        )
        for row, turn in zip(of_hour["row"], _of_stretch(stretch, clock, (str(name), day)), strict=True):
            answer[row] = turn
    return pl.Series(answer, dtype=pl.String)


def carry_on(naive: pl.Series, order: RowOrder) -> None:
    """Note how far each series of these rows has come."""
    if order.series is None:
        known = naive.drop_nulls()
        ends: Iterable[tuple[str, datetime]] = [("", known[-1])] if len(known) else []
    else:
        ends = _rows(naive, order).group_by("series").agg(pl.col("at").last()).iter_rows()
    order.clock.last.update(ends)


def _rows(naive: pl.Series, order: RowOrder) -> pl.DataFrame:
    series = pl.lit("") if order.series is None else order.series
    frame = pl.DataFrame({"at": naive}).with_columns(series=series).with_row_index("row")
    return frame.filter(pl.col("at").is_not_null())


def _of_stretch(stretch: Stretch, clock: LogClock, hour: tuple[str, date]) -> list[str]:
    first, second = (LATEST, EARLIEST) if stretch.falls else (EARLIEST, LATEST)
    known = clock.hours.get(hour)
    steps, last = (known.steps, known.last) if known else (0, None)
    counted = []
    for at in stretch.times:
        steps += last is not None and not _follows(last, at, stretch.falls)
        counted.append(steps)
        last = at
    before_step = known.before_step if known else first if steps else _by_neighbours(stretch, first, second)
    clock.hours[hour] = HourSoFar(stretch.times[-1], steps, before_step)
    if steps > 1:
        return [UNKNOWN] * len(counted)
    return [second if step else before_step for step in counted]


def _follows(earlier: datetime, later: datetime, falls: bool) -> bool:
    return later < earlier if falls else later > earlier


def _by_neighbours(stretch: Stretch, first: str, second: str) -> str:
    """The pass that joins the nearer neighbour without a hole of an hour; unknown where both or neither is near."""
    gap_before = _gap(stretch.before, stretch.times[0], stretch.falls)
    gap_after = _gap(stretch.times[-1], stretch.after, stretch.falls)
    if gap_before < min(gap_after, NEAR):
        return first
    return second if gap_after < min(gap_before, NEAR) else UNKNOWN


def _gap(earlier: datetime | None, later: datetime | None, falls: bool) -> timedelta:
    if earlier is None or later is None or not _follows(earlier, later, falls):
        return timedelta.max
    return abs(later - earlier)
