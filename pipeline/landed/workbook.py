"""Workbooks: one sheet to numbered rows of cells, every cell as text so that no type is guessed."""

import io
import zipfile
from pathlib import Path

from pipeline.errors import FileRefused

LARGEST_UNPACKED_BYTES = 500_000_000  # a workbook that unpacks to more is broken or hostile


def numbered_rows(path: Path, content: bytes, sheet: str) -> list[tuple[int, list[str]]]:
    """Each row of the sheet with its row number.

    Raises
    ------
    FileRefused
        If the bytes are no workbook, unpack to an absurd size, or lack the sheet.
    """
    import fastexcel

    _refuse_bombs(path, content)
    try:
        book = fastexcel.read_excel(content)
        if sheet not in book.sheet_names:
            found = ", ".join(book.sheet_names)
            raise FileRefused("file.missing-sheet", f'"{path}": the sheet "{sheet}" is missing (found: {found}).')
        frame = book.load_sheet(sheet, header_row=None, skip_rows=0, dtypes="string").to_polars()
    except fastexcel.FastExcelError as error:
        reason = str(error).splitlines()[0]
        raise FileRefused("file.not-a-workbook", f'"{path}": cannot be read as a workbook ({reason}).') from error
    return [(number, [cell or "" for cell in row]) for number, row in enumerate(frame.iter_rows(), start=1)]


def _refuse_bombs(path: Path, content: bytes) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            unpacked = sum(item.file_size for item in archive.infolist())
    except zipfile.BadZipFile as error:
        raise FileRefused("file.not-a-workbook", f'"{path}": is not a workbook (.xlsx); export it again.') from error
    if unpacked > LARGEST_UNPACKED_BYTES:
        raise FileRefused("file.too-large", f'"{path}": unpacks to {unpacked} bytes; that is no run sheet.')
