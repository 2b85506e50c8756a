"""The written files read back from disk, cell by cell, without the program: for `verify`."""

import csv
from datetime import datetime
from pathlib import Path

import openpyxl

from .tables import DELIMITED, SHEETS


def number(cell: object) -> float | None:
    try:
        return float(str(cell).replace(",", ""))
    except ValueError:
        return None


def moment(cell: object) -> datetime | None:
    """A date or a time as any of the files writes it."""
    if isinstance(cell, datetime):
        return cell
    for form in ("%m/%d/%Y", "%m/%d/%Y %I:%M %p", "%m/%d/%Y %I:%M:%S %p"):
        try:
            return datetime.strptime(str(cell), form)
        except ValueError:
            continue
    return None


class Files:
    """Rows by file, sheet and line."""

    def __init__(self, folder: Path) -> None:
        self.rows: dict[tuple[str, str, int], dict[str, object]] = {}
        self.kinds: dict[str, list[dict[str, object]]] = {}
        for path in sorted(folder.rglob("*.*")):
            name = path.relative_to(folder).as_posix()
            if path.suffix == ".xlsx":
                self._workbook(path, name)
            else:
                self._delimited(path, name)

    def _workbook(self, path: Path, name: str) -> None:
        for sheet in openpyxl.load_workbook(path):
            _, header, *rows = sheet.iter_rows(values_only=True)
            for line, row in enumerate(rows, start=3):
                self.rows[name, sheet.title, line] = dict(zip(header, row, strict=True))

    def _delimited(self, path: Path, name: str) -> None:
        kind = next((k for k in DELIMITED if path.stem.startswith(k)), "opening_casks")
        table = DELIMITED[kind]
        lines = path.read_text(encoding="utf-8").splitlines()[len(table.head) :]
        for line, row in enumerate(csv.DictReader(lines, delimiter=table.delimiter), start=len(table.head) + 2):
            self.rows[name, "", line] = row

    def of(self, kind: str) -> list[dict[str, object]]:
        """All rows of a kind of file or of a sheet, in order of file and line."""
        if kind not in self.kinds:
            self.kinds[kind] = self._of(kind)
        return self.kinds[kind]

    def _of(self, kind: str) -> list[dict[str, object]]:
        file, sheet = SHEETS[kind][:2] if kind in SHEETS else (kind, "")
        return [row for (name, of_sheet, _), row in sorted(self.rows.items(), key=lambda item: item[0])
                if name.split("/")[1].startswith(file) and of_sheet == sheet]  # fmt: skip
