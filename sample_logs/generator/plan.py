"""The calendar: what is worked when. Five mashes in three weeks, one rectifying run of them, then its products."""

from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import Any

from .faults import OVERLAP, SHORT_STEEP  # the two faults that change the calendar itself

FIRST_MASH, LAST_MASH = date(2025, 10, 2), date(2026, 10, 22)
FIRST_DAY, LAST_DAY = date(2025, 10, 1), date(2026, 10, 31)
CLOSED = ((date(2025, 12, 24), date(2026, 1, 6)), (date(2026, 7, 15), date(2026, 7, 28)))
MONDAY, THURSDAY = 0, 3
STRIP_AFTER_DAYS = 8  # five days of fermentation, the rest to settle
STRIPS_A_RECTIFYING = 5
RECTIFY_AFTER_DAYS = 6  # from the Friday of the last strip to a Thursday

# One entry a rectifying run: gin charges, and what the third part of the spirit goes to.
CYCLES = (
    (1, "quince"), (1, "akvavit"), (1, "quince"), (2, None), (1, "akvavit"), (1, "akvavit"), (2, None),
    (1, "akvavit"), (2, None), (1, "akvavit"), (2, None), (1, "akvavit"), (1, "akvavit"), (1, "akvavit"),
    (1, None), (0, None),
)  # fmt: skip
APPLE_MASHES = (date(2025, 10, 8), date(2025, 11, 5), date(2026, 9, 2), date(2026, 9, 16))
# Feints campaigns: day, the rectifying runs whose tails they take, and the day their spirit is put on quinces.
CAMPAIGNS = (
    (date(2026, 2, 11), (0, 1, 2, 3), date(2026, 2, 17)),
    (date(2026, 9, 9), (9, 10, 11, 12), date(2026, 9, 29)),
)


@dataclass(order=True)
class Step:
    """One working; `action` names the function that does it."""

    starts: datetime
    action: str
    details: dict[str, Any] = field(default_factory=dict, compare=False)


def open_day(start: date, days: int) -> date:
    """The day so many days on; a closed fortnight is skipped, so weekdays stay as planned."""
    day = start + timedelta(days=days)
    for first, last in CLOSED:
        if start < first <= day:
            day += timedelta(days=(last - first).days + 1)
    return day


def _at(day: date, hour: int, minute: int = 0) -> datetime:
    return datetime.combine(day, time(hour, minute))


def _is_closed(day: date) -> bool:
    return any(first <= day <= last for first, last in CLOSED)


def mash_days() -> list[date]:
    """Mondays and Thursdays whose strip falls on an open day; each third Monday the mash tun is taken apart instead."""
    days = (FIRST_MASH + timedelta(days=n) for n in range((LAST_MASH - FIRST_MASH).days + 1))
    open_days = [
        day
        for day in days
        if day.weekday() in (MONDAY, THURSDAY)
        and not _is_closed(day)
        and not _is_closed(day + timedelta(days=STRIP_AFTER_DAYS))
    ]
    three_weeks = STRIPS_A_RECTIFYING + 1
    return [day for number, day in enumerate(open_days) if number % three_weeks != STRIPS_A_RECTIFYING]


def calendar() -> list[Step]:
    """All workings in order of their start."""
    steps: list[Step] = []
    strips = []
    for number, day in enumerate(mash_days()):
        steps.append(Step(_at(day, 7), "mash", {"fermenter": f"F{number % 4 + 1}"}))
        strip_day = day + timedelta(days=STRIP_AFTER_DAYS)
        steps.append(Step(_at(day, 15), "ferment", {"ends": _at(strip_day, 6) - timedelta(hours=64)}))
        strips.append(strip_day)
        steps.append(Step(_at(strip_day, 7), "strip", {"still": "S1" if day.weekday() == MONDAY else "S2"}))
    last_strips = strips[STRIPS_A_RECTIFYING - 1 :: STRIPS_A_RECTIFYING]
    rectify_days = [open_day(day, RECTIFY_AFTER_DAYS) for day in last_strips]
    for cycle, day in enumerate(day for day in rectify_days if day <= LAST_DAY - timedelta(days=9)):
        steps += _cycle(cycle, day)
    for number, day in enumerate(APPLE_MASHES):
        steps += _apples(number, day)
    for number, (day, cycles, steep_day) in enumerate(CAMPAIGNS):
        steps.append(Step(_at(day, 6, 30), "campaign", {"number": number, "cycles": cycles}))
        steps += _quince(f"campaign {number}", steep_day, 7)
    return sorted(steps)


def _cycle(cycle: int, day: date) -> list[Step]:
    """A rectifying run and what is made of its spirit."""
    charges, third = CYCLES[cycle]
    here = {"cycle": cycle}

    def on(days: int, hour: int, action: str, **details: Any) -> Step:
        return Step(_at(open_day(day, days), hour), action, here | details)

    steps = [
        on(0, 6, "rectify"),
        on(4, 9, "reduce", product="VODKA"),
        on(5, 9, "filtrate", product="VODKA"),
        on(7, 8, "bottle", product="VODKA"),
    ]
    # where two charges are worked on one day the second waits for the still: see `distilling`
    one_day = cycle == OVERLAP
    steps += [
        on(6, 6 + n, "botanical", product="GIN", charge=n)
        if one_day
        else on(6 + n, 6, "botanical", product="GIN", charge=n)
        for n in range(charges)
    ]
    if charges > 1:
        steps.append(on(8, 10, "blend", product="GIN"))
    if charges:
        steps += [on(11, 10, "reduce", product="GIN"), on(14, 8, "bottle", product="GIN")]
    if third == "akvavit":
        steps += [
            on(12, 6, "botanical", product="AKVAVIT", charge=0),
            on(14, 13, "reduce", product="AKVAVIT"),
            on(15, 9, "filtrate", product="AKVAVIT"),
            on(19, 8, "bottle", product="AKVAVIT"),
        ]
    if third == "quince":
        days = SHORT_STEEP[1] if cycle == SHORT_STEEP[0] else 7
        steps += _quince(cycle, open_day(day, 5), days)
    return steps


def _quince(source: int | str, day: date, steep_days: int) -> list[Step]:
    details = {"cycle": source, "product": "QUINCE"}
    return [
        Step(_at(day, 11), "steep", details | {"days": steep_days}),
        Step(_at(open_day(day, 7), 13), "filtrate", details),
        Step(_at(open_day(day, 8), 14), "reduce", details),
        Step(_at(open_day(day, 13), 8), "bottle", details),
    ]


def _apples(number: int, day: date) -> list[Step]:
    details = {"cycle": f"apple {number}", "product": "APPLE", "number": number}
    return [
        Step(_at(day, 7), "mash", {"fermenter": "F5", "apples": True}),
        Step(_at(day, 14), "ferment", {"ends": _at(day + timedelta(days=13), 15), "apples": True}),
        Step(_at(day + timedelta(days=14), 7), "strip", {"still": "S2", "apples": True}),
        Step(_at(day + timedelta(days=19), 6), "redistil", details),
        Step(_at(day + timedelta(days=26), 15), "reduce", details),
        Step(_at(day + timedelta(days=28), 8), "bottle", details),
    ]
