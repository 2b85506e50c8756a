"""How old the spirit of each lot is: as its youngest part, by the days that this lay in wood.

Time in steel or glass does not count, and what is distilled again begins anew. A part whose time in wood is not on
record leaves the age of all that holds it unknown: what the record cannot show is not shown.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.derivation import Derivation
from gaugebook.pipeline.engineering.age import age_after

HERE = Path(__file__).parent
NEW_MAKE = ("mash", "ferment", "strip", "rectify", "botanical")  # stages whose product never lay in wood
NEVER_AGED = ("neutral spirit", "wash")  # kinds of what came or stood there
SCHEMA = {
    "lot": pl.String, "in_cask": pl.Boolean, "aged_from": pl.Date, "as_of": pl.Date, "age_days": pl.Int32,
    "years": pl.Int32, "months": pl.Int32, "days": pl.Int32, "youngest": pl.String, "casks": pl.Int32,
    "not_known": pl.String,
}  # fmt: skip


@dataclass(frozen=True)
class History:
    """Of a lot: the days that its youngest part lay in wood before it came here, and since when it lies in a cask.

    Attributes
    ----------
    days : int or None
        Days in wood before this lot; None where they are not known
    youngest : str
        The lot that decides them: the youngest filling, or the one of which nothing is known
    casks : frozenset of str
        Casks that it came through, its own included
    not_known : str or None
        Why the days are None
    since : date or None
        Of what a cask holds: the day from which its youngest part would have lain there without a break
    left : date or None
        The day on which its youngest part last left a cask, of which its age is told
    """

    days: int | None
    youngest: str
    casks: frozenset[str] = frozenset()
    not_known: str | None = None
    since: date | None = None
    left: date | None = None

    def on(self, day: date) -> int | None:
        """Days in wood up to this day."""
        if self.days is None or self.since is None:
            return self.days
        return (day - self.since).days


def ages(book: Book) -> None:
    """Make derived.ages."""
    steps, came = ways_into_wood(book)
    left = dict(book.frame((HERE / "left_wood.sql").read_text(encoding="utf-8")).iter_rows())
    known = histories(steps, came)
    rows = [
        _row(lot, history, left[lot])
        for lot, history in sorted(known.items())
        if lot in left and (history.casks or history.days is None)
    ]
    book.append("derived.ages", pl.DataFrame(rows, schema=SCHEMA))


def ways_into_wood(book: Book) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """The steps by which alcohol went from lot to lot and the lots that it came in, as `histories` takes them."""
    steps = book.frame((HERE / "aged_steps.sql").read_text(encoding="utf-8"))
    came = book.frame((HERE / "aged_openings.sql").read_text(encoding="utf-8"))
    return steps.to_dicts(), came.to_dicts()


AGES = Derivation(
    lambda book, _: ages(book),
    made_from=(
        "typed.opening_stock", "typed.cask_events", "derived.casks", "derived.gauges", "derived.openings",
        "derived.runs", "derived.steps", "house_zone",
    ),
    makes=("derived.ages",),
)  # fmt: skip


def histories(steps: Iterable[dict[str, Any]], came: Iterable[dict[str, Any]]) -> dict[str, History]:
    """Each lot's history from those of the lots that it was made of.

    Parameters
    ----------
    steps : iterable of dict
        lot, into_lot, stage, cask (into which it went, or None), drawn_on and put_on (days, or None), each lot's steps
        after those of all that it was made from.
    came : iterable of dict
        Lots that were received or stood there: lot, kind, cask, came_on, aged_from.

    Returns
    -------
    dict of str to History
    """
    known: dict[str, History] = {}
    for row in came:
        known[row["lot"]] = _as_it_came(row)
    for row in steps:
        part = _drawn(known.get(row["lot"], History(0, row["lot"])), row)
        known[row["into_lot"]] = _younger(known.get(row["into_lot"]), _put(part, row))
    return known


def _as_it_came(row: dict[str, Any]) -> History:
    casks = frozenset({row["cask"]} if row["cask"] else ())
    if row["aged_from"] is not None:
        days = (row["came_on"] - row["aged_from"]).days
        since, left = (row["aged_from"], None) if row["cask"] else (None, row["came_on"])
        return History(days, row["lot"], casks, None, since, left)
    if row["kind"] in NEVER_AGED:
        return History(0, row["lot"], casks, None, row["came_on"] if row["cask"] else None)
    return History(None, row["lot"], casks, f"the age of {row['lot']} when it came into the book is not on record")


def _drawn(history: History, row: dict[str, Any]) -> History:
    """What a run drew of a lot, by the day on which it did."""
    if row["stage"] in NEW_MAKE:
        return History(0, row["into_lot"])
    if history.since is None:
        return history
    if row["drawn_on"] is None:
        return History(
            None, history.youngest, history.casks, f"the day on which {row['lot']} was drawn is not on record"
        )
    days = max(history.on(row["drawn_on"]) or 0, 0)
    return History(days, history.youngest, history.casks, left=row["drawn_on"])


def _put(part: History, row: dict[str, Any]) -> History:
    """The same as a part of what it was put into, which goes on ageing where that is a cask."""
    if row["cask"] is None:
        return part
    casks = part.casks | {row["cask"]}
    youngest = part.youngest if part.casks else row["into_lot"]
    if part.days is None:
        return History(None, part.youngest, casks, part.not_known)
    if row["put_on"] is None:
        return History(None, youngest, casks, f"the day on which {row['into_lot']} was filled is not on record")
    return History(part.days, youngest, casks, None, row["put_on"] - timedelta(days=part.days))


def _younger(first: History | None, other: History) -> History:
    """Two parts together are as old as the younger; where one is not known, neither is the whole."""
    if first is None:
        return other
    casks = first.casks | other.casks
    if first.days is None or other.days is None:
        unknown = first if first.days is None else other
        return History(None, unknown.youngest, casks, unknown.not_known)
    if first.since is not None and other.since is not None:
        younger = max(first, other, key=lambda part: (part.since, part.youngest))
        return History(younger.days, younger.youngest, casks, None, younger.since)
    younger = min(first, other, key=lambda part: (part.days, part.youngest))
    return History(younger.days, younger.youngest, casks, left=younger.left)


def _row(lot: str, history: History, as_of: date) -> dict[str, Any]:
    as_of = history.left or as_of
    days = history.on(as_of)
    age = None if days is None else age_after(max(days, 0), as_of)
    return {
        "lot": lot,
        "in_cask": history.since is not None,
        "aged_from": history.since,
        "as_of": as_of,
        "age_days": days,
        "years": age and age.years,
        "months": age and age.months,
        "days": age and age.days,
        "youngest": history.youngest,
        "casks": len(history.casks),
        "not_known": history.not_known,
    }
