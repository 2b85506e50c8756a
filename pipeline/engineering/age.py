"""How long spirit has lain in wood: by days, and in the years, months and days of a label or a tank record."""

from calendar import monthrange
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta


@dataclass(frozen=True, order=True)
class Age:
    """An age in whole years, months and days, as the records of a warehouse state it; compared by its parts."""

    years: int
    months: int
    days: int


@dataclass(frozen=True)
class Stay:
    """One stay in wood, from the day of filling to the day of emptying."""

    filled_on: date
    emptied_on: date


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


def days_in_wood(stays: Iterable[Stay]) -> int:
    """Days that one spirit lay in wood, the time in steel or glass between its stays left out.

    Parameters
    ----------
    stays : iterable of Stay
        Its stays, in any order; they must not overlap [-]

    Returns
    -------
    int
        Days [d]

    Raises
    ------
    ValueError
        If a stay ends before it begins, or two overlap.

    Source
    ------
    Age is the time in oak barrels, 27 CFR 5.1 ("age"); Regulation (EU) 2019/787, article 4(11) (maturation: storing in
    appropriate receptacles).

    Examples
    --------
    >>> days_in_wood([Stay(date(2020, 1, 1), date(2021, 1, 1)), Stay(date(2021, 2, 1), date(2021, 2, 11))])
    376
    """
    total, free_from = 0, date.min
    for stay in sorted(stays, key=lambda stay: (stay.filled_on, stay.emptied_on)):
        if stay.emptied_on < stay.filled_on:
            raise ValueError(f"a stay in wood ends ({stay.emptied_on}) before it begins ({stay.filled_on})")
        if stay.filled_on < free_from:
            raise ValueError(f"a stay in wood begins ({stay.filled_on}) before the one before it ends ({free_from})")
        total += (stay.emptied_on - stay.filled_on).days
        free_from = stay.emptied_on
    return total


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
