"""Workbooks: sheets to rows of cells, every cell as text so that no type is guessed."""

import io
import re
import zipfile
import zlib
from pathlib import Path

from gaugebook.pipeline.errors import FileRefused

# The beginning of a cell that holds an error: <c r="B64" s="2" t="e"><f>B62/B63</f><v>#DIV/0!</v></c>
ERROR_CELL = re.compile(rb"""(<(?:[\w.-]+:)?c(?:\s[^<>]*)?\st=)(?:"e"|'e')""")
LARGEST_UNPACKED_BYTES = 500_000_000  # a workbook that unpacks to more is broken or hostile
LARGEST_CELLS = 10_000_000  # from the first to the farthest cell of a sheet: all of them are made when it is read
# Where a cell that holds something stands: <c r="XFD1048576">. Only where one is beyond column Z or row 9999 are all
# looked at.
CELL = rb"""<(?:[\w.-]+:)?c\s[^<>]*?\br=["'](%s)["'][^<>]*(?<!/)>"""
ANY_CELL = re.compile(CELL % rb"([A-Z]*)(\d*)", re.IGNORECASE)
FAR_CELL = re.compile(CELL % rb"[A-Z]{2,}\d*|[A-Z]?\d{5,}", re.IGNORECASE)
# In a sheet whose cells do not say where they stand, rows do.
CELL_ANYWHERE = re.compile(rb"""<(?:[\w.-]+:)?c(?:\s+(?!r=)\w+=["'][^"'<>]*["'])*\s*>""")
ROW_BEGINS = re.compile(rb"<(?:[\w.-]+:)?row\b")
FAR_ROW = re.compile(rb"""<(?:[\w.-]+:)?row\s[^<>]*?\br=["'](\d{5,})["']""")


class Workbook:
    """A workbook opened for reading.

    Raises
    ------
    FileRefused
        If the file is no workbook or unpacks to an absurd size.
    """

    def __init__(self, path: Path, shown: str) -> None:
        import fastexcel

        self.shown = shown
        _refuse_bombs(path, shown)
        try:
            self._book = fastexcel.read_excel(_with_errors_as_text(path, shown))
        except fastexcel.FastExcelError as error:
            raise FileRefused(
                "file.not-a-workbook", f"{shown}: cannot be read as a workbook ({_first(error)})."
            ) from error
        self.sheets: list[str] = self._book.sheet_names

    def rows(self, sheet: str) -> list[list[str]]:
        """All rows of a sheet from row 1, each as texts.

        Raises
        ------
        FileRefused
            If there is no such sheet or it cannot be read.
        """
        import fastexcel

        if sheet not in self.sheets:
            raise FileRefused(
                "file.missing-sheet", f'{self.shown}: the sheet "{sheet}" is missing (found: {", ".join(self.sheets)}).'
            )
        try:
            frame = self._book.load_sheet(sheet, header_row=None, skip_rows=0, dtypes="string").to_polars()
        except fastexcel.FastExcelError as error:
            raise FileRefused("file.not-a-workbook", f'{self.shown}, sheet "{sheet}": {_first(error)}.') from error
        return [[cell or "" for cell in row] for row in frame.iter_rows()]


def _first(error: Exception) -> str:
    return str(error).splitlines()[0]


def _refuse_bombs(path: Path, shown: str) -> None:
    try:
        with zipfile.ZipFile(path) as archive:
            unpacked = sum(item.file_size for item in archive.infolist())
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError) as error:
        raise FileRefused("file.not-a-workbook", f"{shown}: is not a workbook (.xlsx); export it again.") from error
    if unpacked > LARGEST_UNPACKED_BYTES:
        raise FileRefused("file.too-large", f"{shown}: unpacks to {unpacked} bytes; that is no run sheet.")


def _with_errors_as_text(path: Path, shown: str) -> Path | bytes:
    """The workbook with its errors (#DIV/0!, #N/A) declared as texts: as errors they would be read as blank cells.

    Nothing but the declared type of those cells changes; a workbook without them is read as it is.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            parts = [name for name in archive.namelist() if name.lower().endswith(".xml")]
            wanting = []
            for name in parts:
                part = archive.read(name)
                _refuse_far_cells(part, shown, name)
                if _has_errors(part):
                    wanting.append(name)
            return _rewritten(archive, wanting) if wanting else path
    except (zipfile.BadZipFile, zlib.error, OSError, EOFError, RuntimeError, ValueError) as error:
        raise FileRefused(
            "file.not-a-workbook", f"{shown}: cannot be read as a workbook ({_first(error)}); export it again."
        ) from error


def _refuse_far_cells(part: bytes, shown: str, name: str) -> None:
    """One stray cell in the last corner would cost all the memory there is."""
    rows, columns = extent(part)
    if rows * columns > LARGEST_CELLS:
        raise FileRefused(
            "file.too-large",
            f"{shown}: {name} holds something in row {rows:,} and in column {columns:,}, so {rows * columns:,} cells "
            f"would be read; expected at most {LARGEST_CELLS:,}. Delete the rows and columns beyond the data and save "
            "it again.",
        )


def extent(part: bytes) -> tuple[int, int]:
    """The last row and column of a sheet that hold something; nothing (1, 1) of a sheet within Z9999.

    >>> extent(b'<row r="200000"><c r="ZZ200000"><v>1</v></c></row>')
    (200000, 702)
    """
    rows = columns = 1
    if FAR_CELL.search(part):
        for cell in ANY_CELL.finditer(part):
            columns = max(columns, _column_number(cell[2]))
            rows = max(rows, _row_number(cell[3]))
    if CELL_ANYWHERE.search(part):
        rows = max(rows, 1, *map(_row_number, FAR_ROW.findall(part)))
        columns = max(columns, *(len(CELL_ANYWHERE.findall(row)) for row in ROW_BEGINS.split(part)))
    return rows, columns


def _row_number(digits: bytes) -> int:
    return int(digits or b"0") if len(digits) < 10 else LARGEST_CELLS + 1


def _column_number(letters: bytes) -> int:
    """A is 1, Z 26, AA 27; more letters than a column can have are as many as there may be cells."""
    if len(letters) > 4:
        return LARGEST_CELLS + 1
    number = 0
    for letter in letters.upper():
        number = number * 26 + letter - ord("A") + 1
    return number


def _has_errors(part: bytes) -> bool:
    may_have = b't="e"' in part or b"t='e'" in part  # looked for first: a tenth of the pattern's time
    return may_have and ERROR_CELL.search(part) is not None


def _rewritten(archive: zipfile.ZipFile, wanting: list[str]) -> bytes:
    copy = io.BytesIO()
    with zipfile.ZipFile(copy, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as target:
        for name in archive.namelist():
            part = archive.read(name)
            target.writestr(name, ERROR_CELL.sub(rb'\1"str"', part) if name in wanting else part)
    return copy.getvalue()
