"""Conditions on several columns, a part of a cell, and ages counted back to a time."""

from datetime import datetime
from pathlib import Path

import polars as pl
import pytest
import xlsxwriter

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.intake.flow import receive
from gaugebook.pipeline.typed.cells import times_before

HOUSE = """
[house]
name = "House of the maps (invented)"
time_zone = "UTC"
site_altitude_m = 0.0
"""
CASKS_MAP = """
describes = "Casks (invented)"
files = ["casks*.csv"]
[read]
format = "csv"
[[records]]
kind = "casks"
header = ["cask", "char"]
where = [{ column = "kind", matches = "^C$" }, { column = "state", not_matches = "^sold$" }]
[records.columns]
cask = "cask"
char_level = { column = "char", take = "^char ([0-9])$" }
location = { column = "place", take = "^(W[0-9]+)/" }
"""
OPENING_MAP = """
describes = "Opening stock (invented)"
files = ["opening*.csv"]
[read]
format = "csv"
[[records]]
kind = "opening_stock"
header = ["lot", "age"]
[records.constants]
kind = "spirit"
counted_at = 2025-01-01T00:00:00
[records.columns]
lot = "lot"
material = "lot"
alcohol_l = "LPA"
aged_from = { column = "age", age_at = "counted_at" }
"""


def received(folder: Path, source_map: str, name: str, text: str) -> Path:
    """A book that took in one file by one map."""
    (folder / "maps").mkdir(parents=True)
    (folder / "house.toml").write_text(HOUSE)
    (folder / "maps" / "device.toml").write_text(source_map)
    (folder / name).write_text(text)
    receive(folder / "book", [folder / name], folder / "house.toml")
    return folder / "book"


def test_all_conditions_must_hold_and_only_a_part_of_a_cell_is_taken(tmp_path):
    """Two of four rows; where the pattern does not fit, the cell counts as blank."""
    rows = ("A,char 4,W1/05/3,C,full", "B,toast,W12/1/1,C,", "C,char 3,W1/1/1,T,full", "D,char 3,W1/1/1,C,sold")
    text = "\n".join(("cask,char,place,kind,state", *rows)) + "\n"
    with open_book(received(tmp_path, CASKS_MAP, "casks.csv", text)) as book:
        kept = book.frame("SELECT cask, char_level, location FROM typed.casks ORDER BY cask").rows()
        counts = book.frame("SELECT rows_in, kept, passed_over FROM typed.row_counts").rows()

    assert kept == [("A", 4, "W1"), ("B", None, "W12")]
    assert counts == [(4, 2, 2)]


LESS_MAP = """
describes = "Casks (invented)"
files = ["casks*.csv"]
[read]
format = "csv"
[[records]]
kind = "casks"
header = ["cask"]
[records.columns]
cask = "cask"
tare_kg = { column = "gross lb", less = "net lb", unit = "lb" }
"""


def test_a_column_is_taken_off_another_in_its_unit(tmp_path):
    """A blank takes nothing off; a word is refused."""
    text = "cask,gross lb,net lb\nA,500,390\nB,110,\nC,500,much\n"
    with open_book(received(tmp_path, LESS_MAP, "casks.csv", text)) as book:
        kept = book.frame("SELECT cask, tare_kg FROM typed.casks ORDER BY cask").rows()
        refused = book.frame("SELECT code, column_name FROM typed.refused").rows()

    assert [(cask, round(kg, 5)) for cask, kg in kept] == [("A", 49.89516), ("B", 49.89516)]  # 110 lb: NIST SP 811, B.8
    assert refused == [("not-a-number", "net lb")]


def test_an_age_becomes_the_day_from_which_it_counts(tmp_path):
    """2 years, 9 months and 11 days before 1 January 2025: 21 March 2022, by the calendar. No age is refused."""
    text = "lot,age,LPA\nR,2-09-11,100\nS,,100\nT,two years,100\n"
    with open_book(received(tmp_path, OPENING_MAP, "opening.csv", text)) as book:
        kept = book.frame("SELECT lot, aged_from FROM typed.opening_stock ORDER BY lot").rows()
        refused = book.frame("SELECT value, code FROM typed.refused").rows()

    assert kept == [("R", datetime(2022, 3, 21)), ("S", None)]
    assert refused == [("two years", "age-unreadable")]


def test_ages_at_the_end_of_a_month():
    """A month before 31 March is the last day of February."""
    ages = pl.Series(["0-1-0", "1-0-1", "0-13-0", "x"])
    at = pl.Series([datetime(2025, 3, 31)] * 4)

    assert times_before(ages, at).to_list() == [
        datetime(2025, 2, 28),
        datetime(2024, 3, 30),
        datetime(2024, 2, 29),
        None,
    ]


def test_an_age_needs_a_time_to_count_from(tmp_path):
    """A map that names no time of the record is refused before any file is read."""
    with pytest.raises(SettingsError, match='aged_from: age_at "lot" is no time'):
        received(tmp_path, OPENING_MAP.replace('"counted_at" }', '"lot" }'), "opening.csv", "lot,age,LPA\n")


WORKBOOK_MAP = """
describes = "Workbook (invented)"
files = ["book*.xlsx"]
[read]
format = "xlsx"
[[records]]
kind = "casks"
sheet = "Casks"
may_be_missing = true
header = ["cask"]
[records.columns]
cask = "cask"
[[records]]
kind = "fills"
sheet = "Fills"
may_be_missing = true
header = ["lot"]
[records.columns]
lot = "lot"
sample_no = "no"
net_content_ml = "mL"
"""


@pytest.mark.parametrize(("sheets", "casks", "refused"), [(["Casks"], 1, 0), (["Other"], 0, 1)])
def test_a_sheet_may_be_missing_but_not_all_of_them(tmp_path, sheets, casks, refused):
    """A month without fills has no sheet of them; a workbook with none of the sheets is refused."""
    (tmp_path / "maps").mkdir()
    (tmp_path / "house.toml").write_text(HOUSE)
    (tmp_path / "maps" / "device.toml").write_text(WORKBOOK_MAP)
    with xlsxwriter.Workbook(tmp_path / "book_1.xlsx") as workbook:
        for name in sheets:
            sheet = workbook.add_worksheet(name)
            sheet.write("A1", "cask")
            sheet.write("A2", "C1")
    outcomes = receive(tmp_path / "book", [tmp_path / "book_1.xlsx"], tmp_path / "house.toml")
    with open_book(tmp_path / "book") as book:
        kept = book.value("SELECT count(*) FROM typed.casks")

    assert kept == casks
    assert sum(outcome.outcome == "refused" for outcome in outcomes) == refused


LOG = """
describes = "Log, a row a reading (invented)"
files = ["log.csv"]
[read]
format = "csv"
[[records]]
kind = "readings"
header = ["still"]
[records.columns]
equipment = "still"
read_at = { column = "at", time = "iso" }
tag = "tag"
value = { column = "value", units = { pot_temperature_c = "degC" } }
"""


def test_of_a_log_only_the_row_with_a_time_that_cannot_be_read_is_refused(tmp_path):
    """The others are kept, each of its tag in the order of the rows."""
    times = [("2031-01-01 06:00", 20), ("noon", 21), ("2031-01-01 06:02", 22)]
    rows = "".join(f"S1,{at},pot_temperature_c,{value}\n" for at, value in times)
    folder = received(tmp_path, LOG, "log.csv", "still,at,tag,value\n" + rows)

    with open_book(folder) as book:
        refused = book.frame("SELECT line, code, value FROM typed.refused").rows()
        values = book.frame("SELECT value FROM typed.readings ORDER BY read_at")["value"].to_list()
    assert refused == [(3, "time-unreadable", "noon")]
    assert values == [20.0, 22.0]
