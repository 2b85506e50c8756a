"""The spirits that a batch was put together from, each with its share of the alcohol and what says which kind it is.

A spirit is what a still run of the house made, what was bought, or what stood there when the book was begun; behind a
still run nothing is followed, because what is distilled again begins anew.
"""

from collections.abc import Container
from dataclasses import dataclass
from math import isnan, nan
from pathlib import Path
from typing import Any

import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.casks.ages import NEW_MAKE
from gaugebook.pipeline.derived.lineage import traced_back
from gaugebook.pipeline.house.recipes import Recipe
from gaugebook.pipeline.house.settings import House

HERE = Path(__file__).parent


@dataclass(frozen=True)
class Source:
    """One spirit behind a lot.

    Attributes
    ----------
    share : float
        Of the lot's alcohol; not a number where a gauge is missing on the way
    materials : tuple of str
        What it is called in the opening stock or on its delivery; empty where the house made it
    is_neutral : bool
        It came as neutral spirit
    recipes : tuple of (Recipe, float)
        Of what the house made: the mash recipes behind it, each with its share
    """

    lot: str
    share: float
    materials: tuple[str, ...] = ()
    is_neutral: bool = False
    recipes: tuple[tuple[Recipe, float], ...] = ()


@dataclass(frozen=True)
class SpiritRecord:
    """What the book says of the ways of all spirit."""

    steps: dict[str, list[tuple[str, float]]]  # into which lot -> from which, with its share
    rank: dict[str, int]  # the last made first
    new_make: frozenset[str]
    came: dict[str, dict[str, Any]]
    recipes: dict[str, tuple[tuple[Recipe, float], ...]]

    @classmethod
    def of(cls, book: Book, house: House) -> "SpiritRecord":
        steps: dict[str, list[tuple[str, float]]] = {}
        new_make: dict[str, None] = {}
        for lot, into_lot, stage, share in _query(book, "spirit_steps").iter_rows():
            steps.setdefault(into_lot, []).append((lot, nan if share is None else share))
            if stage in NEW_MAKE:
                new_make[into_lot] = None
        return cls(
            steps,
            {lot: place for place, lot in enumerate(steps)},
            frozenset(new_make),
            {row["lot"]: row for row in _query(book, "spirit_openings").to_dicts()},
            _recipes_of(book, house, list(new_make)),
        )

    def sources(self, lot: str, stop_at: Container[str] = ()) -> list[Source]:
        """The spirits of a lot, by name; a lot of `stop_at` is one of them itself, whatever it was made from."""
        shares, waiting, ends = {lot: 1.0}, {lot}, []
        while waiting:
            # no lot before all that were made from it
            into = min(waiting, key=lambda name: (self.rank.get(name, len(self.rank)), name))
            waiting.remove(into)
            share = shares.pop(into)
            if into in stop_at or into in self.new_make or into not in self.steps:
                ends.append(self._source(into, share))
                continue
            opened = self._opened(into)
            if opened is not None:
                ends.append(self._source(into, share * opened))
            for name, part in self.steps[into]:
                shares[name] = shares.get(name, 0.0) + share * part
                waiting.add(name)
        return sorted(ends, key=lambda source: source.lot)

    def ancestors(self, lot: str) -> set[str]:
        """A lot and all that its spirit came through since it was distilled."""
        reached, waiting = {lot}, [lot]
        while waiting:
            into = waiting.pop()
            for name, _ in () if into in self.new_make else self.steps.get(into, ()):
                if name not in reached:
                    reached.add(name)
                    waiting.append(name)
        return reached

    def _opened(self, lot: str) -> float | None:
        """How much of a lot that runs made too came or stood there; None where nothing did."""
        if lot not in self.came:
            return None
        share = self.came[lot]["share"]
        return nan if share is None else float(share)

    def _source(self, lot: str, share: float) -> Source:
        row = self.came.get(lot)
        if row is None or lot in self.new_make:
            return Source(lot, share, recipes=self.recipes.get(lot, ()))
        return Source(lot, share, tuple(row["materials"]), row["is_neutral"])


def is_known(share: float) -> bool:
    """Whether a share could be computed."""
    return not isnan(share)


def _recipes_of(book: Book, house: House, lots: list[str]) -> dict[str, tuple[tuple[Recipe, float], ...]]:
    """The mash recipes behind each lot's alcohol, with their shares."""
    mashes = book.frame("SELECT run, recipe FROM derived.runs WHERE stage = 'mash' AND recipe IS NOT NULL")
    if not lots or mashes.is_empty():
        return {}
    steps = book.frame("SELECT * FROM derived.steps WHERE into_rank IS NOT NULL ORDER BY into_rank, run, lot, into_lot")
    behind = traced_back(steps, pl.DataFrame({"batch": lots, "alcohol_l": [1.0] * len(lots)}))
    shares = (
        behind.join(mashes, on="run").group_by("batch", "recipe").agg(pl.col("share").sum()).sort("batch", "recipe")
    )
    of_lots: dict[str, tuple[tuple[Recipe, float], ...]] = {}
    for lot, name, share in shares.iter_rows():
        if (recipe := house.recipe(name)) is not None:
            of_lots[lot] = (*of_lots.get(lot, ()), (recipe, share))
    return of_lots


def _query(book: Book, name: str) -> pl.DataFrame:
    return book.frame((HERE / f"{name}.sql").read_text(encoding="utf-8"))
