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
            wanting = [name for name in parts if _has_errors(archive.read(name))]
            return _rewritten(archive, wanting) if wanting else path
    except (zipfile.BadZipFile, zlib.error, OSError, EOFError, RuntimeError, ValueError) as error:
        raise FileRefused(
            "file.not-a-workbook", f"{shown}: cannot be read as a workbook ({_first(error)}); export it again."
        ) from error


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
