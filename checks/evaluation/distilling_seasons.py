"""Whether all of a batch was distilled in one season or year, by the days that the record has of it.

27 CFR 5.88(a)(2) asks the same distilling season, January to June or July to December. Of what was distilled before the
book begins the record has the day of filling alone. That shows the season, and the answer says that it rests on it;
but spirit that was filled in the first days of a season may have been distilled in the one before, and then it shows
neither: an auditor would ask for the record of production.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

Period = Callable[[date], object]

# Spirit of a run is filled within the week (common practice); filled later in a season than that, it is of that season.
FILLED_WITHIN = timedelta(days=7)
FEW = 4  # records that a note names


@dataclass(frozen=True)
class Shown:
    """The answer yes, no or None for not shown, and why."""

    answer: str | None
    why: str | None


def season(day: date) -> str:
    """The distilling season that a day is in.

    >>> season(date(2021, 7, 1))
    '2021, July to December'
    """
    return f"{day.year}, {'January to June' if day.month <= 6 else 'July to December'}"


def in_one_period(
    distilled: Mapping[str, date], filled: Mapping[str, date | None], period: Period, wanted: object = None
) -> Shown:
    """Whether everything falls into one period, and into the one wanted where one is.

    Parameters
    ----------
    distilled : mapping
        Run and the day on which it was distilled.
    filled : mapping
        What was distilled before the book begins and the day on which it was filled; None where that is not on record.

    Examples
    --------
    >>> in_one_period({}, {"C1/1": date(2020, 11, 4)}, season)
    Shown(answer='yes', why='by the day of filling, not of distillation: C1/1')
    >>> in_one_period({}, {"C1/1": date(2021, 1, 5)}, season).answer is None
    True
    """
    may_be = {run: {period(day)} for run, day in distilled.items()}
    may_be |= {lot: {period(day), period(day - FILLED_WITHIN)} for lot, day in filled.items() if day is not None}
    common = set.intersection(*may_be.values()) if may_be else set()
    if may_be and (not common or (wanted is not None and wanted not in common)):
        first: dict[str, str] = {}
        for record, periods in may_be.items():
            first.setdefault(" or ".join(sorted(map(str, periods))), record)
        return Shown("no", _some([f"{periods} ({record})" for periods, record in sorted(first.items())]))
    unknown = [lot for lot, day in filled.items() if day is None]
    if unknown or not may_be:
        named = f": {_some(unknown)}" if unknown else ""
        return Shown(None, f"when it was distilled is not on record{named}")
    near = [record for record, periods in may_be.items() if len(periods) > 1]
    if near:
        return Shown(None, f"filled too soon after a season began to show when it was distilled: {_some(near)}")
    return Shown("yes", f"by the day of filling, not of distillation: {_some(list(filled))}" if filled else None)


def _some(names: Sequence[str]) -> str:
    return ", ".join(names[:FEW]) + (f" and {len(names) - FEW} more" if len(names) > FEW else "")
