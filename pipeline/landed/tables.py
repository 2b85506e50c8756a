"""A received file as tables of text: header, lines and cells, nothing interpreted."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from pipeline.errors import FileRefused
from pipeline.landed.delimited import DelimitedText
from pipeline.landed.frames import frame_of_rows
from pipeline.landed.workbook import Workbook
from pipeline.received.source_map import Read, Section, SourceMap

ROWS_A_FRAME = 100_000  # of a workbook; text files come in blocks of bytes


@dataclass(frozen=True)
class TextTable:
    """A text file or one sheet: its header, the sections of the map that take its rows, and the rows in frames."""

    sheet: str | None
    header_line: int
    header: list[str]
    sections: list[Section]
    frames: Iterator[pl.DataFrame]


def open_tables(path: Path, shown: str, source_map: SourceMap) -> list[TextTable]:
    """The file's tables; headers are read and compared at once, rows as they are asked for.

    Raises
    ------
    FileRefused
        If the file cannot be read as the map says, or a header row lacks a column that the map names.
    """
    tables = [_open(path, shown, source_map.read, section) for section in source_map.records]
    joined: dict[tuple[str | None, int], TextTable] = {}
    for table, section in zip(tables, source_map.records, strict=True):
        _require_columns(shown, table, section)
        first = joined.setdefault((table.sheet, table.header_line), table)
        first.sections.append(section)
    return list(joined.values())


def has_signature(path: Path, shown: str, source_map: SourceMap) -> bool:
    """Whether every header row holds the columns by which the map knows its files."""
    try:
        opened = [(section, _open(path, shown, source_map.read, section)) for section in source_map.records]
    except FileRefused:
        return False
    return all(set(section.header) <= set(table.header) for section, table in opened)


def _open(path: Path, shown: str, read: Read, section: Section) -> TextTable:
    header_line = section.header_line or read.header_line
    above = header_line + read.skip_after_header
    if section.sheet is None:
        text = DelimitedText(path, shown, read)
        header = _header(text.opening(header_line), header_line, read.header_rows, shown)
        return TextTable(None, header_line, header, [], text.frames(len(header), above))
    rows = Workbook(path, shown).rows(section.sheet)
    header = _header(rows, header_line, read.header_rows, f'{shown}, sheet "{section.sheet}"')
    return TextTable(section.sheet, header_line, header, [], _sheet_frames(rows, len(header), above))


def _sheet_frames(rows: list[list[str]], width: int, above: int) -> Iterator[pl.DataFrame]:
    numbered = [(n, row) for n, row in enumerate(rows, start=1) if n > above and any(cell.strip() for cell in row)]
    for start in range(0, len(numbered), ROWS_A_FRAME):
        part = numbered[start : start + ROWS_A_FRAME]
        yield frame_of_rows([row for _, row in part], [n for n, _ in part], width)


def _header(rows: list[list[str]], header_line: int, header_rows: int, place: str) -> list[str]:
    """Column names; of several header rows joined, a merged cell of an upper row standing for those right of it."""
    if len(rows) < header_line or not any(cell.strip() for cell in rows[header_line - 1]):
        raise FileRefused(
            "file.no-header", f"{place}: line {header_line} should be the header row but is missing or blank."
        )
    names = [cell.strip() for cell in rows[header_line - 1]]
    for row in reversed(rows[header_line - header_rows : header_line - 1]):
        upper = ""
        for number, name in enumerate(names):
            upper = row[number].strip() or upper if number < len(row) else upper
            names[number] = f"{upper} {name}".strip()
    while names and not names[-1]:
        names.pop()
    return names


def _require_columns(shown: str, table: TextTable, section: Section) -> None:
    place = shown if table.sheet is None else f'{shown}, sheet "{table.sheet}"'
    wanted = section.column_names()
    missing = [name for name in wanted if name not in table.header]
    if missing:
        raise FileRefused(
            "file.missing-column",
            f'{place}: the column "{missing[0]}" is missing from the header in line '
            f"{table.header_line} (found: {', '.join(table.header)}); mend the export or the source map.",
        )
    twice = next((name for name in wanted if table.header.count(name) > 1), None)
    if twice:
        raise FileRefused(
            "file.column-twice", f'{place}: the column "{twice}" stands twice in line {table.header_line}.'
        )
