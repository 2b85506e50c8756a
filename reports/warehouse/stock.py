"""The stock in casks at the end of each month, by the age of what they hold."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.reports.page.figures import local_day, local_month
from gaugebook.reports.page.wording import plural
from gaugebook.reports.warehouse.levels import Held, Levels, levels_at

_LAST = """
    SELECT coalesce((SELECT max(as_of) FROM derived.cask_stock), (SELECT max(happened_at) FROM typed.cask_events))
"""
OLDEST = 12  # completed years from which ages are one class


@dataclass(frozen=True)
class StockMonth:
    """The casks at the end of a month, or at the last moment of the book where that comes first.

    Attributes
    ----------
    month : date
        Its first day, by the house's calendar
    as_of : datetime
        The moment of which it tells [UTC]
    as_of_day : date
        Its day, by the house's calendar
    total : Held
        All casks
    ages : tuple of (years, Held)
        By completed years of the youngest spirit in the cask, `OLDEST` for all from there; None where the record does
        not show its age, which comes last
    """

    month: date
    as_of: datetime
    as_of_day: date
    total: Held
    ages: tuple[tuple[int | None, Held], ...]

    def at_least(self, years: int) -> float:
        """LPA that should be there of this age or older."""
        return sum(held.expected_l for age, held in self.ages if age is not None and age >= years)


def stock_months(book: Book, zone: str) -> tuple[StockMonth, ...]:
    """Every month from that of the first run in the book; () where no cask is on record.

    What lay in casks before the book began is on record only as far as it was still there when it did.
    """
    first, last = book.value("SELECT min(started_at) FROM derived.runs"), book.value(_LAST)
    if first is None or last is None:
        return ()
    ends = dict(_month_ends(local_month(first, zone), last, zone))
    levels = levels_at(book, list(ends.values()))
    levels = Levels(_aged(levels.rows, zone), levels.errors)
    totals, by_age = levels.held(["as_of"]), levels.held(["as_of", "years"])
    ages: dict[datetime, list[tuple[int | None, Held]]] = defaultdict(list)
    for (as_of, years), held in by_age.items():
        ages[as_of].append((years, held))  # type: ignore[index, arg-type]
    return tuple(
        StockMonth(
            month,
            as_of,
            local_day(as_of, zone),
            totals[as_of,],
            tuple(sorted(ages[as_of], key=lambda item: _age_order(item[0]))),
        )
        for month, as_of in ends.items()
        if (as_of,) in totals
    )


def age_name(years: int | None) -> str:
    """A class of ages as printed.

    Examples
    --------
    >>> age_name(0), age_name(1), age_name(3), age_name(OLDEST), age_name(None)
    ('under 1 year', '1 year', '3 years', '12 years or more', 'age not shown')
    """
    if years is None:
        return "age not shown"
    if years == 0:
        return "under 1 year"
    return f"{plural(years, 'year')}{' or more' if years == OLDEST else ''}"


def _age_order(years: int | None) -> int:
    return OLDEST + 1 if years is None else years


def _month_ends(month: date, last: datetime, zone: str) -> Iterator[tuple[date, datetime]]:
    """Each month with its last second, or the last moment of the book [UTC]."""
    while True:
        after = date(month.year + month.month // 12, month.month % 12 + 1, 1)
        midnight = datetime(after.year, after.month, 1, tzinfo=ZoneInfo(zone))
        end = midnight.astimezone(UTC).replace(tzinfo=None) - timedelta(seconds=1)
        yield month, min(end, last)
        if end >= last:
            return
        month = after


def _aged(rows: pl.DataFrame, zone: str) -> pl.DataFrame:
    """With the completed years on the day of each moment, by the house's calendar."""
    days = {at: local_day(at, zone) for at in rows["as_of"].unique()}
    on, born = pl.col("on_day").dt, pl.col("aged_from").dt
    has_birthday_ahead = (on.month() < born.month()) | ((on.month() == born.month()) & (on.day() < born.day()))
    years = (on.year() - born.year() - has_birthday_ahead.cast(pl.Int32)).clip(0, OLDEST)
    return rows.with_columns(pl.col("as_of").replace_strict(days, return_dtype=pl.Date).alias("on_day")).with_columns(
        years.alias("years")
    )
