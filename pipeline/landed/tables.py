"""A received file as tables of text: header, lines and cells, nothing interpreted."""

from dataclasses import dataclass
from itertools import groupby
from operator import attrgetter
from pathlib import Path

from pipeline.errors import FileRefused
from pipeline.landed import delimited, workbook
from pipeline.received.source_map import Section, SourceMap


@dataclass(frozen=True)
class TextTable:
    """A text file or one sheet: its header row, and each row below with the line it stands on."""

    sheet: str | None
    header_line: int
    header: list[str]
    lines: list[int]
    rows: list[list[str]]  # each as long as the header, or longer where the row has more cells


def read_tables(path: Path, content: bytes, source_map: SourceMap) -> list[tuple[TextTable, list[Section]]]:
    """The file's tables, each with the sections of the map that take its rows.

    Raises
    ------
    FileRefused
        If the file cannot be read as the map says, or a header row lacks a column of its signature.
    """
    tables = []
    sections = sorted(source_map.records, key=lambda section: section.sheet or "")
    for sheet, of_sheet in groupby(sections, key=attrgetter("sheet")):
        taking = list(of_sheet)
        header_line = taking[0].header_line or source_map.read.header_line
        numbered = _numbered_rows(path, content, source_map, sheet)
        table = _below_header(path, sheet, numbered, header_line, source_map.read.skip_after_header)
        for section in taking:
            _require_columns(path, table, section)
        tables.append((table, taking))
    return tables


def _numbered_rows(path: Path, content: bytes, source_map: SourceMap, sheet: str | None) -> list[tuple[int, list[str]]]:
    if sheet is None:
        return delimited.numbered_rows(path, content, source_map.read)
    return workbook.numbered_rows(path, content, sheet)


def _below_header(
    path: Path, sheet: str | None, numbered: list[tuple[int, list[str]]], header_line: int, skip: int
) -> TextTable:
    header = next(([cell.strip() for cell in cells] for line, cells in numbered if line == header_line), None)
    if header is None or not any(header):
        raise FileRefused(
            "file.no-header",
            f"{_place(path, sheet)}: line {header_line} should be the header row but is missing or blank.",
        )
    while header and not header[-1]:
        header.pop()
    width = len(header)
    kept = [
        (line, cells + [""] * (width - len(cells)))
        for line, cells in numbered
        if line > header_line + skip and any(cell.strip() for cell in cells)
    ]
    return TextTable(sheet, header_line, header, [line for line, _ in kept], [cells for _, cells in kept])


def _require_columns(path: Path, table: TextTable, section: Section) -> None:
    named = [column.column for column in (*section.columns.values(), *section.wide.values())]
    wanted = [*section.header, *named, *([section.where.column] if section.where else [])]
    missing = [name for name in dict.fromkeys(wanted) if name not in table.header]
    if missing:
        raise FileRefused(
            "file.missing-column",
            f'{_place(path, table.sheet)}: the column "{missing[0]}" is missing from the header in line '
            f"{table.header_line} (found: {', '.join(table.header)}); mend the export or the source map.",
        )
    twice = next((name for name in wanted if table.header.count(name) > 1), None)
    if twice:
        raise FileRefused(
            "file.column-twice",
            f'{_place(path, table.sheet)}: the column "{twice}" stands twice in line {table.header_line}.',
        )


def _place(path: Path, sheet: str | None) -> str:
    return f'"{path}"' if sheet is None else f'"{path}", sheet "{sheet}"'
