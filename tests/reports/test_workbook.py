"""A workbook is read by another program (openpyxl) as the tables that it was made from."""

from datetime import UTC, date, datetime
from io import BytesIO

import openpyxl
import polars as pl
import pytest

from reports.workbook import workbook_bytes

DATED = datetime(2031, 5, 1, 12, 30)
TABLE = pl.DataFrame(
    {
        "text": ["=1+1", " blanks ", "a & <b>", None, "bell\x07 _x0041_", ""],
        "number": [0.1 + 0.2, -1e-300, 1e22, None, 5.0, 2.0**-1074],
        "count": [1, -2, None, 2**53, 0, 3],
        "is_true": [True, False, None, True, False, True],
        "moment": [DATED, datetime(1999, 12, 31, 23, 59), None, DATED, DATED, DATED],
        "day": [date(2031, 5, 1), None, date(1970, 1, 1), None, None, None],
        "nothing": [None] * 6,
    }
)


def read(content: bytes) -> openpyxl.Workbook:
    return openpyxl.load_workbook(BytesIO(content))


def test_every_cell_is_read_again():
    """Texts (no formula among them), numbers to the last digit, truths, times and gaps stand in their cells."""
    sheet = read(workbook_bytes({"all": TABLE}, "t", DATED))["all"]
    names, *rows = sheet.iter_rows(values_only=True)
    assert list(names) == TABLE.columns
    for found, expected in zip(rows, TABLE.rows(), strict=True):
        told = [value.date() if value and n == 5 else value for n, value in enumerate(found)]
        assert told[1:] == list(expected[1:])
        assert (told[0] or "").replace("_x0007_", "\x07").replace("_x005F_", "_") == (expected[0] or "")
    assert {cell.data_type for cell in sheet["A"][1:4]} == {"s"}
    assert sheet.freeze_panes == "A2" and sheet["A1"].font.b


def test_sheets_and_what_the_workbook_says_of_itself():
    """Sheets keep their order, columns beyond Z their letters, and the file its title and date."""
    wide = pl.DataFrame({f"c{n}": [n] for n in range(60)})
    made = read(workbook_bytes({"wide": wide, "empty": pl.DataFrame(), "all": TABLE.clear()}, "Figures & more", DATED))
    assert made.sheetnames == ["wide", "empty", "all"]
    assert made["wide"]["BH2"].value == 59
    assert [made[name].max_row for name in ("empty", "all")] == [1, 1]
    assert made.properties.title == "Figures & more"
    assert made.properties.created.replace(tzinfo=UTC) == DATED.replace(tzinfo=UTC)


def test_what_no_cell_can_hold_is_an_error():
    """A column of lists is refused by name."""
    with pytest.raises(TypeError, match='"lots"'):
        workbook_bytes({"all": pl.DataFrame({"lots": [["a"]]})}, "t", DATED)
