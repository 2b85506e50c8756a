"""Where casks lie: a warehouse, and in it rows and tiers as far as the text of a position tells."""

import re
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.reports.warehouse.levels import Held, Levels, levels_at

NOT_RECORDED = "place not on record"
_HERE = Path(__file__).parent
_PARTED = re.compile(r"\s*[/,]\s*|(?<=\d)\s+(?=\d)")  # "05/3", "5, 3" and "5 3"


@dataclass(frozen=True)
class Place:
    """Casks in one warehouse, or in one row, or in one tier of a row.

    Attributes
    ----------
    parts : tuple of str
        Warehouse, row, tier
    held : Held
        What is there
    oldest, youngest : (date, cask) or None
        From when the age of the youngest spirit in a cask counts; None where no age is on record
    longest : (datetime, cask)
        The gauge, or filling, since which a cask was not gauged the longest [UTC]
    """

    parts: tuple[str, ...]
    held: Held
    oldest: tuple[date, str] | None
    youngest: tuple[date, str] | None
    longest: tuple[datetime, str]


@dataclass(frozen=True)
class Warehouse:
    """All casks that hold something at the last moment of the book."""

    as_of: datetime
    places: tuple[Place, ...]  # warehouses, each before its rows, and these before their tiers
    casks: tuple[dict[str, Any], ...]  # a row each, as casks.sql gives them, the oldest first


def place_parts(location: str | None, position: str | None) -> tuple[str, ...]:
    """The warehouse, and what its position tells from the outside inwards: at most a row and a tier.

    A number is the same row with and without noughts before it.

    Examples
    --------
    >>> place_parts("W1", "05/3"), place_parts("W1", "5 3"), place_parts("Dunnage/East", "row 4")
    (('W1', '5', '3'), ('W1', '5', '3'), ('Dunnage/East', 'row 4'))
    >>> place_parts("W1", "bay B, 12, 3"), place_parts(None, None)
    (('W1', 'bay B', '12/3'), ('place not on record',))
    """
    parts = [part.lstrip("0") or "0" for part in _PARTED.split((position or "").strip()) if part]
    return (location or NOT_RECORDED, *(parts if len(parts) <= 2 else [parts[0], "/".join(parts[1:])]))


def in_order(part: str) -> tuple[int, str]:
    """What a part of a place is sorted by: numbers by their size, before words.

    >>> sorted(["10", "9", "A"], key=in_order)
    ['9', '10', 'A']
    """
    return (int(part), "") if part.isdecimal() else (10**9, part)


def gather_warehouse(book: Book) -> Warehouse | None:
    """What lies where; None for a house of whose casks none holds anything."""
    casks = book.frame((_HERE / "casks.sql").read_text(encoding="utf-8"))
    if casks.is_empty():
        return None
    as_of: datetime = casks["as_of"][0]
    parts = [place_parts(*where) for where in casks.select("location", "position").iter_rows()]
    placed = pl.DataFrame(
        {"contents": casks["contents"], **{f"part_{n}": [(*own, "", "")[n] for own in parts] for n in range(3)}}
    )
    levels = levels_at(book, [as_of])
    levels = Levels(levels.rows.join(placed, on="contents", how="left"), levels.errors)
    places = [place for depth in (1, 2, 3) for place in _places(levels, depth)]
    rows = [row | {"place": own} for row, own in zip(casks.to_dicts(), parts, strict=True)]
    return Warehouse(
        as_of, tuple(sorted(places, key=lambda place: [in_order(part) for part in place.parts])), tuple(rows)
    )


def _places(levels: Levels, depth: int) -> list[Place]:
    """Sums at one depth; a cask whose place tells less stands with its warehouse alone."""
    names = [f"part_{n}" for n in range(depth)]
    inside = levels.rows.filter(pl.col(names[-1]) != "")
    rows: dict[tuple[object, ...], list[dict[str, Any]]] = {}
    for row in inside.select(*names, "cask", "aged_from", "gauged_at").iter_rows(named=True):
        rows.setdefault(tuple(row[name] for name in names), []).append(row)
    return [
        Place(
            parts=tuple(map(str, parts)), held=held, oldest=min(_born(rows[parts]), default=None),
            youngest=max(_born(rows[parts]), default=None), longest=_longest(rows[parts]),
        )
        for parts, held in Levels(inside, levels.errors).held(names).items()
    ]  # fmt: skip


def _born(rows: list[dict[str, Any]]) -> list[tuple[date, str]]:
    return [(row["aged_from"], row["cask"]) for row in rows if row["aged_from"] is not None]


def _longest(rows: list[dict[str, Any]]) -> tuple[datetime, str]:
    return min((row["gauged_at"], row["cask"]) for row in rows)
