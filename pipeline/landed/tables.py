"""A received file as tables of text: header, lines and cells, nothing interpreted."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from gaugebook.pipeline.errors import FileRefused
from gaugebook.pipeline.landed.delimited import DelimitedText
from gaugebook.pipeline.landed.frames import Rows, frame_of_rows, text_rows
from gaugebook.pipeline.landed.workbook import Workbook
from gaugebook.pipeline.received.content import Content
from gaugebook.pipeline.received.source_map import Read, Section, SourceMap

ROWS_A_FRAME = 100_000  # of a workbook; text files come in blocks of bytes


@dataclass(frozen=True)
class TextTable:
    """A text file or one sheet: its header, the sections of the map that take its rows, and the rows in blocks."""

    sheet: str | None
    header_line: int
    header: list[str]
    sections: list[Section]
    rows: Iterator[Rows]


def open_tables(content: Content, shown: str, source_map: SourceMap, numbers: Collection[str] = ()) -> list[TextTable]:
    """The file's tables; headers are read and compared at once, rows as they are asked for.

    Parameters
    ----------
    content : FileAtRest or CopyInMaking
        The kept copy; rows of text can be read before it is whole.
    shown : str
        How messages name the file.
    numbers : collection of str, optional
        Columns that a block of a text file may give as numbers at once, where each of their cells is one.

    Raises
    ------
    FileRefused
        If the file cannot be read as the map says, or a header row lacks a column that the map names.
    """
    tables = _open(content, shown, source_map, numbers)
    for table in tables:
        for section in table.sections:
            _require_columns(shown, table, section)
    return tables


def has_signature(content: Content, shown: str, source_map: SourceMap) -> bool:
    """Whether every header row holds the columns by which the map knows its files."""
    try:
        tables = _open(content, shown, source_map, ())
    except FileRefused:
        return False
    return all(set(section.header) <= set(table.header) for table in tables for section in table.sections)


def _open(content: Content, shown: str, source_map: SourceMap, numbers: Collection[str]) -> list[TextTable]:
    """The tables of a file that is opened once, each with its sections; their columns are not compared yet."""
    read = source_map.read
    places: dict[tuple[str | None, int], list[Section]] = {}
    for section in source_map.records:
        places.setdefault((section.sheet, section.header_line or read.header_line), []).append(section)
    source = Workbook(content.whole(), shown) if read.format == "xlsx" else DelimitedText(content, shown, read)
    if isinstance(source, Workbook):
        places = _at_hand(places, source)
    return [_table(source, shown, read, sheet, line, sections, numbers) for (sheet, line), sections in places.items()]


def _at_hand(
    places: dict[tuple[str | None, int], list[Section]], workbook: Workbook
) -> dict[tuple[str | None, int], list[Section]]:
    """Without the sheets that may be missing and are; a workbook that has none of them all is refused for the first."""
    there = {
        (sheet, line): sections
        for (sheet, line), sections in places.items()
        if sheet in workbook.sheets or not all(section.may_be_missing for section in sections)
    }
    return there or places


def _table(
    source: Workbook | DelimitedText,
    shown: str,
    read: Read,
    sheet: str | None,
    header_line: int,
    sections: list[Section],
    numbers: Collection[str],
) -> TextTable:
    above = header_line + read.skip_after_header
    if isinstance(source, DelimitedText):
        opening = source.opening(header_line)
        header = _header(opening, header_line, read.header_rows, shown)
        above += sum(cell.count("\n") for row in opening for cell in row)  # a heading may be broken over lines
        blocks = source.rows(len(header), above, [header.index(name) for name in numbers if name in header])
        return TextTable(sheet, header_line, header, sections, blocks)
    rows = source.rows(str(sheet))
    header = _header(rows, header_line, read.header_rows, f'{shown}, sheet "{sheet}"')
    return TextTable(sheet, header_line, header, sections, _sheet_rows(rows, len(header), above))


def _sheet_rows(rows: list[list[str]], width: int, above: int) -> Iterator[Rows]:
    numbered = [(n, row) for n, row in enumerate(rows, start=1) if n > above and any(cell.strip() for cell in row)]
    for start in range(0, len(numbered), ROWS_A_FRAME):
        part = numbered[start : start + ROWS_A_FRAME]
        yield text_rows(frame_of_rows([row for _, row in part], [n for n, _ in part], width))


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
