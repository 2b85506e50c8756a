"""The files as bytes: delimited text and workbooks, with the line of each row noted for the list of faults."""

import csv
import io
import re
import zipfile
from collections import defaultdict
from datetime import datetime

import openpyxl

from .records import Row
from .sim import Sim
from .tables import DELIMITED, SHEETS, Table, hour12, time_text

OPENING = {"cooperage_opening": "opening/cooperage_2019-2024.csv", "opening_casks": "opening/casks_2025-01-01.csv"}


def files(sim: Sim) -> dict[str, bytes]:
    """Every file below `files/`, by its path."""
    out: dict[str, bytes] = {}
    for kind, table in DELIMITED.items():
        if kind in OPENING:
            rows = sorted(sim.records.kinds[kind], key=lambda row: row["Cask No"])
            out[OPENING[kind]] = _delimited(OPENING[kind], table, rows)
            continue
        for month, rows in _by_month(sim.records.kinds[kind]).items():
            path = f"{month}/{kind}_{month}.{table.suffix}"
            out[path] = _delimited(path, table, rows)
    out |= _workbooks(sim)
    return dict(sorted(out.items()))


def _by_month(rows: list[Row]) -> dict[str, list[Row]]:
    months: dict[str, list[Row]] = defaultdict(list)
    for row in sorted(rows, key=lambda row: row.when):
        months[f"{row.when:%Y-%m}"].append(row)
    return months


def _text(table: Table, column: str, value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return time_text(value, table.times)
    if isinstance(value, float | int):
        decimals = dict(table.decimals).get(column)
        if decimals is not None:
            return f"{value:.{decimals}f}"
        if column in table.thousands:
            return f"{value:,.1f}".removesuffix(".0")
        return f"{float(value):.2f}".removesuffix("0") if isinstance(value, float) else str(value)
    return str(value)


def _delimited(path: str, table: Table, rows: list[Row]) -> bytes:
    buffer = io.StringIO()
    writer = csv.writer(buffer, delimiter=table.delimiter, lineterminator="\r\n")
    for line in table.head:
        buffer.write(line + "\r\n")
    writer.writerow(table.columns)
    for number, row in enumerate(rows, start=len(table.head) + 2):
        cells = dict(row)
        if "When" in cells:
            moment = cells.pop("When")
            cells |= {"Date": f"{moment:%m/%d/%Y}", "Time": hour12(moment, True), "Date Time": moment}
        unknown = set(cells) - set(table.columns) - {"Date", "Time", "Date Time"}
        assert not unknown, (path, unknown)
        writer.writerow([_text(table, column, cells.get(column)) for column in table.columns])
        row.written = (path, "", number)
    return buffer.getvalue().encode()


def _workbooks(sim: Sim) -> dict[str, bytes]:
    books: dict[str, dict[str, tuple[tuple[str, ...], list[Row]]]] = defaultdict(dict)
    for kind, (name, sheet, columns) in SHEETS.items():
        if name == "stock":
            books["opening/stock_2025-01-01.xlsx"][sheet] = (columns, sim.records.kinds[kind])
            continue
        for month, rows in _by_month(sim.records.kinds[kind]).items():
            books[f"{month}/{name}_{month}.xlsx"][sheet] = (columns, rows)
    return {path: _workbook(path, sheets) for path, sheets in books.items()}


def _workbook(path: str, sheets: dict[str, tuple[tuple[str, ...], list[Row]]]) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, (columns, rows) in sheets.items():
        sheet = book.create_sheet(name)
        sheet.append([f"Varnamoor Flats Distillery (invented) - {name}"])
        sheet.append(columns)
        for number, row in enumerate(rows, start=3):
            assert not set(row) - set(columns), (path, set(row) - set(columns))
            for place, column in enumerate(columns, start=1):
                value = row.get(column)
                if isinstance(value, datetime):
                    cell = sheet.cell(number, place, value.replace(second=0, microsecond=0))
                    cell.number_format = "m/d/yyyy h:mm AM/PM"
                elif value not in (None, ""):
                    sheet.cell(number, place, value)
            row.written = (path, name, number)
    return _same_each_time(book)


def _same_each_time(book: openpyxl.Workbook) -> bytes:
    """The workbook without the moment of its making, so that the same plan gives the same bytes."""
    raw, clean = io.BytesIO(), io.BytesIO()
    book.save(raw)
    with zipfile.ZipFile(raw) as made, zipfile.ZipFile(clean, "w", zipfile.ZIP_DEFLATED) as out:
        for name in sorted(made.namelist()):
            data = made.read(name)
            if name == "docProps/core.xml":
                data = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"2025-01-01T00:00:00Z", data)
            item = zipfile.ZipInfo(name, (2025, 1, 1, 0, 0, 0))
            item.compress_type = zipfile.ZIP_DEFLATED
            item.create_system, item.external_attr = 0, 0
            out.writestr(item, data)
    return clean.getvalue()
