"""How the first rows of a file would be read, column by column; nothing is written."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from gaugebook.pipeline.landed.frames import Rows, text_rows
from gaugebook.pipeline.landed.tables import TextTable, open_tables
from gaugebook.pipeline.received.content import FileAtRest
from gaugebook.pipeline.received.source_map import Section, SourceMap
from gaugebook.pipeline.typed.dst_fold import LogClock
from gaugebook.pipeline.typed.kinds import RECORDS
from gaugebook.pipeline.typed.section import type_section
from gaugebook.pipeline.typed.unit_fits import states_units


@dataclass(frozen=True)
class SectionPreview:
    """The first rows of one section."""

    kind: str
    sheet: str | None
    fields: list[tuple[str, str, list[str]]]  # field, where it comes from, its first values
    refused: list[str]  # one sentence a fault


def preview(path: Path, source_map: SourceMap, zone: str, rows: int = 5) -> list[SectionPreview]:
    """Read the first rows of a file through its map.

    Raises
    ------
    FileRefused
        As when the file is received.
    """
    previews = []
    for table in open_tables(FileAtRest(path), f'"{path}"', source_map):
        first = next(table.rows, None)
        for section in table.sections:
            previews.append(_section(table, first, section, source_map, zone, rows))
    return previews


def _section(
    table: TextTable, first: Rows | None, section: Section, source_map: SourceMap, zone: str, rows: int
) -> SectionPreview:
    if first is None:
        return SectionPreview(section.kind, table.sheet, [], ["no row stands below the header"])
    typed = type_section(text_rows(first.frame.head(rows)), table.header, section, source_map.read, zone, LogClock())
    fields = [
        (name, _origin(section, name), [_shown(value) for value in typed.kept[name].head(rows)])
        for name in typed.kept.columns
    ]
    refused = [
        f'line {row["line"]}, column "{row["column_name"]}": {row["value"] or "(blank)"} '
        f"(expected {row['expected']}); {row['to_do']}"
        for row in typed.refused.iter_rows(named=True)
    ]
    return SectionPreview(section.kind, table.sheet, fields, refused)


def _shown(value: object) -> str:
    """A number to six significant digits, a time without fractions that it does not have."""
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.0f}" if abs(value) >= 1e6 else f"{value:.6g}"
    return value.isoformat(" ") if isinstance(value, datetime) else str(value)


def _origin(section: Section, name: str) -> str:
    if name == "line":
        return "place in the file"
    of_wide = _origin_of_wide(section, name)
    if of_wide:
        return of_wide
    column = section.columns.get(name) or section.wide.get(name)
    if column is None:
        return _origin_of_constant(section, name)
    parts = [f'"{column.column}"', *([f'and "{column.also}"'] if column.also else [])]
    parts += [f"in {column.unit}"] if column.unit else []
    parts += ["by lookup"] if column.lookup else []
    return " ".join(parts)


def _origin_of_constant(section: Section, name: str) -> str:
    """A constant with the unit that it is given in; a unit that the columns of numbers say; or nothing."""
    if name in section.constants:
        given = section.constants[name]
        return f"constant in {given['unit']}" if isinstance(given, dict) and "unit" in given else "constant"
    return "unit of the column of numbers" if name in states_units(section) else "not mapped"


def _origin_of_wide(section: Section, name: str) -> str | None:
    """Of the fields that a section's wide columns give: which of a row's columns it is, its value and its unit."""
    record = RECORDS[section.kind]
    if any(item.below_field == name for item in record.fields):
        return 'a "<" before the value'
    if not section.wide:
        return None
    if name == "unit" and any(column.unit for column in section.wide.values()):
        return "unit of the wide column"
    return {
        record.spread_over: "name of the wide column",
        "value": "the wide column",
    }.get(name)
