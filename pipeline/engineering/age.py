"""How long spirit has lain in wood: by days, and in the years, months and days of a label or a tank record."""

from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta


@dataclass(frozen=True, order=True)
class Age:
    """An age in whole years, months and days, as the records of a warehouse state it; compared by its parts."""

    years: int
    months: int
    days: int


def age_between(start: date, end: date) -> Age:
    """Whole years, months and days from one day to another.

    The months are counted from the day of the month on which the spirit was filled; where a month is too short to have
    that day, its last day completes it. What is left over are days.

    Parameters
    ----------
    start : date
        The first day [-]
    end : date
        The last day, not before the first [-]

    Returns
    -------
    Age
        In years, months and days [a, months, d]

    Raises
    ------
    ValueError
        If the end is before the start.

    Source
    ------
    27 CFR 19.592 asks for the age of the youngest spirits of a tank in years, months and days; how a month of 28 days
    counts is common practice (as in the calendar arithmetic of `dateutil`, which the tests compare).

    Examples
    --------
    >>> age_between(date(2019, 5, 31), date(2023, 7, 2))
    Age(years=4, months=1, days=2)
    """
    if end < start:
        raise ValueError(f"spirit cannot leave the wood ({end}) before it went in ({start})")
    months = 12 * (end.year - start.year) + end.month - start.month
    if _after_months(start, months) > end:
        months -= 1
    return Age(months // 12, months % 12, (end - _after_months(start, months)).days)


def age_after(days: int, on: date) -> Age:
    """The age, on a day, of spirit that has lain so many days in wood: as if it had lain there up to that day.

    Parameters
    ----------
    days : int
        Days in wood [d]
    on : date
        The day of which the age is stated [-]

    Returns
    -------
    Age
        In years, months and days [a, months, d]

    Raises
    ------
    ValueError
        If the days are negative.

    Source
    ------
    As for `age_between`.

    Examples
    --------
    >>> age_after(1461, date(2024, 3, 1))
    Age(years=4, months=0, days=0)
    """
    if days < 0:
        raise ValueError(f"days in wood cannot be negative: {days}")
    return age_between(on - timedelta(days=days), on)


def _after_months(start: date, months: int) -> date:
    year, month = divmod(12 * start.year + start.month - 1 + months, 12)
    return date(year, month + 1, min(start.day, monthrange(year, month + 1)[1]))
