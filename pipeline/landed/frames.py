"""Frames of rows: line, the header's columns by position (c0, c1 ...), and what stands beyond them."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TypeVar

import polars as pl

_Item = TypeVar("_Item")


@dataclass(frozen=True)
class Rows:
    """Some rows of a table.

    `frame` has every cell as text, but columns that were asked for as numbers may be numbers instead, where every cell
    of the block is one. `as_text` gives those at some lines with every cell as it was written.
    """

    frame: pl.DataFrame
    as_text: Callable[[pl.Series], pl.DataFrame]


def text_rows(frame: pl.DataFrame) -> Rows:
    """Rows whose cells are all text."""
    return Rows(frame, lambda lines: frame.filter(pl.col("line").is_in(lines.implode())))


def named_by_position(width: int) -> list[str]:
    """Names of the text columns; the header's own names may repeat or be blank."""
    return [f"c{number}" for number in range(width)]


def frame_of_rows(rows: list[list[str]], lines: list[int], width: int) -> pl.DataFrame:
    """A frame from rows of cells of any length; cells are trimmed, blank ones are NULL.

    >>> frame_of_rows([["a", " "], ["b", "c", "d"]], [1, 2], 2).rows()
    [(1, 'a', None, None), (2, 'b', 'c', 'd')]
    """
    columns: dict[str, list] = {"line": lines}
    for number, name in enumerate(named_by_position(width)):
        columns[name] = [(row[number].strip() or None) if number < len(row) else None for row in rows]
    columns["beyond"] = [" | ".join(cell for cell in row[width:] if cell.strip()) or None for row in rows]
    schema = {name: pl.Int32 if name == "line" else pl.String for name in columns}
    return pl.DataFrame(columns, schema=schema)


def ahead(items: Iterator[_Item]) -> Iterator[_Item]:
    """The same items, each made in a thread while the one before is worked on."""
    with ThreadPoolExecutor(max_workers=1) as worker:
        coming = worker.submit(next, items, None)
        while (item := coming.result()) is not None:
            coming = worker.submit(next, items, None)
            yield item
