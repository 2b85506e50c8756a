"""Movements by which a lot would be made of itself: refused, because its origin could not be told any more.

Feints that are used again are new lots: the run that draws them makes new heads and tails under new names.
"""

from collections import defaultdict

import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.typed.parse_errors import FAULT_SCHEMA

Edge = tuple[str, str]


def without_cycles(book: Book, new: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The new movements that close no ring of lots and runs, and a fault for each one that would.

    Rows are taken in the order of their lines: of a ring within one file the row that closes it is refused.
    """
    if new.is_empty():
        return new, pl.DataFrame(schema=FAULT_SCHEMA)
    known = book.frame("SELECT DISTINCT run, direction, lot FROM typed.movements")
    held, asked = _edges(known), _edges(new)
    in_ring = _in_rings(held + asked)
    bad_lines: set[int] = set()
    if in_ring:
        ways: dict[str, set[str]] = defaultdict(set)
        for start, end in held:
            ways[start].add(end)
        for (start, end), line in sorted(zip(asked, new["line"].to_list(), strict=True), key=lambda pair: pair[1]):
            if (start, end) in in_ring and _leads(ways, end, start):
                bad_lines.add(line)
            else:
                ways[start].add(end)
    is_bad = pl.col("line").is_in(list(bad_lines))
    return new.filter(~is_bad), _faults(new.filter(is_bad))


def _edges(movements: pl.DataFrame) -> list[Edge]:
    """Which way alcohol goes: from a lot to the run that draws it, from a run to the lot that it makes."""
    return [
        (f"lot {lot}", f"run {run}") if direction == "in" else (f"run {run}", f"lot {lot}")
        for run, direction, lot in movements.select("run", "direction", "lot").iter_rows()
    ]


def _in_rings(edges: list[Edge]) -> set[Edge]:
    """The edges that lie in a ring: both ends in one strongly connected component."""
    from scipy import sparse  # takes long to import and only movements need it
    from scipy.sparse.csgraph import connected_components

    number: dict[str, int] = {}
    for edge in edges:
        for end in edge:
            number.setdefault(end, len(number))
    ends = [(number[start], number[end]) for start, end in edges]
    starts, stops = zip(*ends, strict=True)
    graph = sparse.coo_matrix(([1] * len(ends), (starts, stops)), shape=(len(number), len(number)))
    component = connected_components(graph, directed=True, connection="strong")[1]
    return {edge for edge, (start, end) in zip(edges, ends, strict=True) if component[start] == component[end]}


def _leads(ways: dict[str, set[str]], start: str, end: str) -> bool:
    seen, waiting = {start}, [start]
    while waiting:
        place = waiting.pop()
        if place == end:
            return True
        following = ways[place] - seen if place in ways else set()
        seen |= following
        waiting += following
    return False


def _faults(bad: pl.DataFrame) -> pl.DataFrame:
    shown = pl.concat_str(["run", "direction", "lot"], separator=" / ")
    return bad.select(
        pl.col("line").cast(pl.Int32),
        pl.lit("lot-feeds-itself").alias("code"),
        pl.lit("lot").alias("column_name"),
        pl.col("lot").alias("value"),
        pl.lit("a lot that is not made, directly or through other lots, of itself").alias("expected"),
        pl.lit("correct the lot or the run; what goes back into a run, such as feints, comes out as a new lot").alias(
            "to_do"
        ),
        shown.alias("raw"),
    )
