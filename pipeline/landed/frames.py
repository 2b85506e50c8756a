"""Frames of text: line, the header's columns by position (c0, c1 ...), and what stands beyond them."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor

import polars as pl


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


def ahead(frames: Iterator[pl.DataFrame]) -> Iterator[pl.DataFrame]:
    """The same frames, each read in a thread while the one before is worked on."""
    with ThreadPoolExecutor(max_workers=1) as worker:
        coming = worker.submit(next, frames, None)
        while (frame := coming.result()) is not None:
            coming = worker.submit(next, frames, None)
            yield frame
