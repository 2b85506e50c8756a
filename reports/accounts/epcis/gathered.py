"""The records behind the events of a traced lot, or of a month, read from the book."""

from datetime import date
from pathlib import Path
from typing import Any

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.tracing import Traced
from gaugebook.pipeline.errors import UnknownRecord
from gaugebook.pipeline.house.settings import House as Profile
from gaugebook.reports.accounts.epcis.events import Amount, Events, Happening, House, Run, events_of
from gaugebook.reports.page.figures import local_month

HERE = Path(__file__).parent
LEAVES = ("dispatched", "returned", "sampled", "destroyed", "lost")
# Runs of which only one side is on record are no step of the graph, but touch the lots that are.
ONE_SIDED = """
    SELECT run FROM derived.gauges GROUP BY run
    HAVING (bool_and(direction = 'out') AND bool_or(lot IN (SELECT unnest($behind))))
        OR (bool_and(direction = 'in') AND bool_or(lot IN (SELECT unnest($ahead))))
    ORDER BY run
"""


def events_of_trace(book: Book, profile: Profile, traced: Traced) -> Events:
    """The runs behind a lot and ahead of it, where each lot came from, and what became of the lot and those ahead.

    A run's event is the whole run, with what else it drew and made: one run is one event in every document.

    Raises
    ------
    UnknownRecord
        If nothing of it has a time on record.
    """
    lot = traced.lot["lot"]
    behind = {lot, *traced.back["lot"], *traced.back["into_lot"]}
    ahead = {lot, *traced.forward["lot"], *traced.forward["into_lot"]}
    one_sided = book.frame(ONE_SIDED, {"behind": sorted(behind), "ahead": sorted(ahead)})["run"]
    names = {*traced.back["run"], *traced.forward["run"], *one_sided}
    happenings = [
        happening
        for happening in _happenings(book)
        if happening.amount.lot in (ahead if happening.kind in LEAVES else behind | ahead)
    ]
    events = events_of(_house(profile), [run for run in _runs(book) if run.run in names], happenings)
    return _some(events, f"Nothing that befell lot {lot} has a time on record, so there are no events.")


def events_of_month(book: Book, profile: Profile, month: date) -> Events:
    """Every run and happening of a month by the house's calendar; runs that have no time are of no month, and named.

    Raises
    ------
    UnknownRecord
        If nothing happened in that month.
    """

    def within(at: Any) -> bool:
        return at is None or local_month(at, profile.time_zone) == month

    events = events_of(
        _house(profile),
        [run for run in _runs(book) if within(run.at)],
        [happening for happening in _happenings(book) if within(happening.at)],
    )
    return _some(events, f"The book holds no run, receipt or dispatch of {month:%Y-%m}.")


def _some(events: Events, else_say: str) -> Events:
    if not events.events:
        raise UnknownRecord(else_say)
    return events


def _house(profile: Profile) -> House:
    return House(profile.name, profile.time_zone)


def _runs(book: Book) -> list[Run]:
    sides: dict[tuple[str, str], list[Amount]] = {}
    for row in _rows(book, "amounts.sql"):
        sides.setdefault((row.pop("run"), row.pop("direction")), []).append(Amount(**row))
    return [
        Run(**row, drawn=tuple(sides.get((row["run"], "in"), ())), produced=tuple(sides.get((row["run"], "out"), ())))
        for row in _rows(book, "runs.sql")
    ]


def _happenings(book: Book) -> list[Happening]:
    own = ("kind", "at", "vessel", "party", "document")
    return [
        Happening(**{name: row.pop(name) for name in own}, amount=Amount(**row))
        for row in _rows(book, "happenings.sql")
    ]


def _rows(book: Book, name: str) -> list[dict[str, Any]]:
    return book.frame((HERE / name).read_text(encoding="utf-8")).to_dicts()
