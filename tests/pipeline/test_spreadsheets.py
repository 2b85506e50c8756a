"""What leaves the program for people's spreadsheets, and that it leaves by one door."""

import ast
from datetime import datetime
from io import BytesIO
from pathlib import Path

import openpyxl
import polars as pl
import pytest

from gaugebook.pipeline.spreadsheets import csv_bytes, workbook_bytes

ROOT = Path(__file__).parents[2]
THE_DOOR = "pipeline/spreadsheets.py"
# Functions and modules that write what a spreadsheet opens.
WRITERS = {"write_csv", "sink_csv", "to_csv", "write_excel", "to_excel", "writer", "DictWriter"}
DATED = datetime(2031, 3, 3)
MODULES = {"xlsxwriter", "openpyxl"}


def writers_in(source: str) -> list[str]:
    """What a module calls or imports that writes tables for spreadsheets; "COPY" for SQL's own export to a file."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Attribute) and node.attr in WRITERS:
            found.append(node.attr)
        elif isinstance(node, ast.ImportFrom) and node.module == "csv":
            found += [name.name for name in node.names if name.name in WRITERS]
        elif isinstance(node, ast.Import):
            found += [name.name for name in node.names if name.name.split(".")[0] in MODULES]
        elif isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] in MODULES:
            found.append(node.module or "")
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value.strip().startswith("COPY "):
            found.append("COPY")
    return found


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ("frame.write_csv(path)", ["write_csv"]),
        ("from xlsxwriter import Workbook", ["xlsxwriter"]),
        ("import csv\ncsv.writer(stream)", ["writer"]),
        ("from csv import DictWriter", ["DictWriter"]),
        ("import csv\ncsv.reader(stream)", []),
        ("import json, xlsxwriter.format", ["xlsxwriter.format"]),
        ("book.execute(\"COPY (FROM typed.runs) TO 'runs.csv'\")", ["COPY"]),
        ("frame.write_parquet(path)", []),
    ],
)
def test_the_search_finds_what_writes_tables(source, found):
    """Each way to write a table for a spreadsheet is recognised, a file of the book's own is not one."""
    assert writers_in(source) == found


def test_tables_for_spreadsheets_are_written_by_one_module():
    """No other module of the program writes CSV or workbooks, so none can forget the guard against formulas."""
    modules = [path for folder in ("pipeline", "checks", "reports") for path in (ROOT / folder).rglob("*.py")]
    found = {path.relative_to(ROOT).as_posix(): writers_in(path.read_text(encoding="utf-8")) for path in modules}

    assert len(modules) > 150
    assert sorted(found.pop(THE_DOOR)) == ["write_csv", "xlsxwriter"]
    assert {path: names for path, names in found.items() if names} == {}


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", '=HYPERLINK("a","b")'])
def test_a_text_is_no_formula(text):
    """What a spreadsheet would reckon with (the characters of OWASP, CSV injection, from memory) is marked as text."""
    made = pl.read_csv(csv_bytes(pl.DataFrame({"run": [text, "STR-1", "a=1"], "value": [1.0, -2.0, 0.1 + 0.2]})))

    assert made["run"].to_list() == [f"'{text}", "STR-1", "a=1"]
    assert made["value"].to_list() == [1.0, -2.0, 0.3]


def test_lines_end_as_asked_and_blanks_stay_blank():
    """The attachments of documents end their lines with CR LF (RFC 4180), files for a folder with LF."""
    frame = pl.DataFrame({"lot": ["A", None], "loss_l": [None, 1.5]})

    assert csv_bytes(frame) == b"lot,loss_l\nA,\n,1.5\n"
    assert csv_bytes(frame, "\r\n") == b"lot,loss_l\r\nA,\r\n,1.5\r\n"


def test_a_workbook_holds_texts_as_texts():
    """In a workbook a text that looks like a formula or an address is a cell of text, and figures are rounded."""
    frame = pl.DataFrame({"run": ["=1+1", "http://a.example/", None], "value": [0.1 + 0.2, None, -2.0]})
    made = workbook_bytes({"runs": frame}, "A title", DATED)
    sheet = openpyxl.load_workbook(BytesIO(made))["runs"]

    assert made == workbook_bytes({"runs": frame}, "A title", DATED)
    assert [cell.value for cell in sheet["A"]] == ["run", "=1+1", "http://a.example/", None]
    assert [cell.data_type for cell in sheet["A"]][1:3] == ["s", "s"]
    assert all(cell.hyperlink is None for cell in sheet["A"])
    assert [cell.value for cell in sheet["B"]] == ["value", 0.3, None, -2]
