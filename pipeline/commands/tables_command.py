"""gaugebook tables: the alcoholometric tables of OIML R 22 for a range, to hang beside the bench or to keep as CSV."""

import json
import math
from dataclasses import dataclass
from pathlib import Path

import click
import numpy as np
from numpy.typing import NDArray

from gaugebook.pipeline.commands.calculators import CAUTION, CannotBeDone
from gaugebook.pipeline.engineering.r22_tables import R22_TABLES, Table, r22_cells

_MOST = 200  # values of a margin; a longer one was given by mistake
_ROUNDING = 1e-9  # of a step


@dataclass(frozen=True)
class Extract:
    """A stretch of a table: values at its margins, no head where it has one margin, and the cells, NaN where none."""

    kind: str
    table: Table
    left: list[float]
    head: list[float] | None
    cells: NDArray[np.float64]


@click.command("tables")
@click.argument("kind", required=False, type=click.Choice(list(R22_TABLES)), metavar="[TABLE]")
@click.option("--rows", metavar="FIRST:LAST:STEP", help="Left margin, in the unit that the table names.")
@click.option("--columns", metavar="FIRST:LAST:STEP", help="Head; of tables with two margins.")
@click.option("--csv", "csv_path", type=click.Path(path_type=Path, dir_okay=False), help="Write it to this file too.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object instead of a table.")
def tables_command(
    kind: str | None, rows: str | None, columns: str | None, csv_path: Path | None, as_json: bool
) -> None:
    """Print a TABLE of OIML R 22 for a range; without one, list the tables and their margins.

    VIIIb is the strength at 20 °C of an alcoholmeter's reading: tables VIIIb --rows 38:42:0.5 --columns 10:30:5
    """
    if kind is None:
        for name, table in R22_TABLES.items():
            click.echo(f"{name:6}{table.gives}, by {' and '.join(table.margins)}")
        return
    table = R22_TABLES[kind]
    if rows is None:
        raise CannotBeDone(f"Give --rows, values of {table.margins[0]}, such as --rows 38:42:0.5.")
    left, head = _margin("--rows", rows), None if columns is None else _margin("--columns", columns)
    try:
        cells = r22_cells(kind, left, head).reshape(len(left), -1)
    except ValueError as refusal:
        raise CannotBeDone(f"{refusal} with --rows and --columns.") from refusal
    extract = Extract(kind, table, left, head, cells)
    if csv_path:
        _write_csv(csv_path, extract)
    click.echo(json.dumps(_as_data(extract), ensure_ascii=False, indent=1) if as_json else "\n".join(_lines(extract)))


def _margin(option: str, text: str) -> list[float]:
    """Values of a margin: one, or from first to last by a step."""
    try:
        first, last, step = map(float, text.split(":")) if ":" in text else (float(text), float(text), 1.0)
    except ValueError:
        raise CannotBeDone(f'{option}: expected FIRST:LAST:STEP or one value, found "{text}".') from None
    if not (math.isfinite(first) and math.isfinite(last) and step > 0 and first <= last):
        raise CannotBeDone(f'{option}: expected a step above zero and FIRST not above LAST, found "{text}".')
    count = math.floor((last - first) / step + _ROUNDING) + 1
    if count > _MOST:
        raise CannotBeDone(f'{option}: "{text}" has {count} values; expected at most {_MOST}, so widen the step.')
    return [round(first + n * step, 9) for n in range(count)]


def _lines(extract: Extract) -> list[str]:
    """The table as lines of text; what no liquid mixture answers to is a dash."""
    table, head = extract.table, extract.head
    shown = [["–" if math.isnan(value) else f"{value:.{table.decimals}f}" for value in row] for row in extract.cells]
    grid = [[f"{value:g}", *row] for value, row in zip(extract.left, shown, strict=True)]
    if head:
        grid.insert(0, ["", *(f"{value:g}" for value in head)])
    widths = [max(map(len, column)) for column in zip(*grid, strict=True)]
    return [
        f"OIML R 22 (1975), Table {extract.kind}: {table.gives}",
        "; ".join(f"{side}: {name}" for side, name in zip(("rows", "columns"), table.margins, strict=False)),
        *("  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)) for row in grid),
        CAUTION,
    ]


def _as_data(extract: Extract) -> dict[str, object]:
    known = [[None if math.isnan(value) else value for value in row] for row in extract.cells.tolist()]
    return {
        "table": extract.kind, "gives": extract.table.gives, "margins": list(extract.table.margins),
        "rows": extract.left, "columns": extract.head, "cells": known, "source": "OIML R 22 (1975)",
    }  # fmt: skip


def _write_csv(path: Path, extract: Extract) -> None:
    import polars as pl  # only a file of it needs it, and it is slow to import

    from gaugebook.pipeline.spreadsheets import csv_bytes

    names = [f"{value:g}" for value in extract.head] if extract.head else [extract.table.gives]
    columns = {extract.table.margins[0]: extract.left} | dict(zip(names, extract.cells.T.tolist(), strict=True))
    path.write_bytes(csv_bytes(pl.DataFrame(columns).fill_nan(None)))
