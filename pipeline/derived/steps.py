"""The genealogy of lots as a graph, with an order in which each lot stands above all that it was made from."""

from collections import defaultdict
from pathlib import Path

import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.derivation import Derivation

HERE = Path(__file__).parent


def steps(book: Book) -> None:
    """Make derived.steps; the set is made by SQL, the order by going from what was received to what was made of it."""
    graph = book.frame((HERE / "steps.sql").read_text(encoding="utf-8"))
    rank = ranks(list(graph.select("lot", "into_lot").unique(maintain_order=True).iter_rows()))
    graph = graph.with_columns(
        lot_rank=graph["lot"].replace_strict(rank, default=None, return_dtype=pl.Int32),
        into_rank=graph["into_lot"].replace_strict(rank, default=None, return_dtype=pl.Int32),
    )
    book.append("derived.steps", graph)


STEPS = Derivation(
    lambda book, _: steps(book),
    made_from=("derived.gauges", "derived.lots", "derived.openings"),
    makes=("derived.steps",),
)


def ranks(steps: list[tuple[str, str]]) -> dict[str, int]:
    """A number for each lot that is greater than those of all lots that it was made from.

    Lots in a ring (each made from the other) and all that was made from them have no number: where the alcohol of a
    ring came from cannot be said. Receiving refuses rings, so these are books that were not made by receiving.

    >>> ranks([("grain", "wash"), ("wash", "spirit"), ("water", "spirit"), ("x", "x")])
    {'grain': 0, 'water': 0, 'wash': 1, 'spirit': 2}
    """
    made_of_it: dict[str, list[str]] = defaultdict(list)
    waits_for: dict[str, int] = defaultdict(int)
    for lot, into in steps:
        made_of_it[lot].append(into)
        waits_for[into] += 1
        waits_for[lot] += 0
    level = [lot for lot, count in waits_for.items() if count == 0]
    rank: dict[str, int] = {}
    number = 0
    while level:
        rank.update(dict.fromkeys(level, number))
        following = []
        for lot in level:
            for into in made_of_it[lot]:
                waits_for[into] -= 1
                if waits_for[into] == 0:
                    following.append(into)
        level, number = following, number + 1
    return rank
