"""Columns that are read as numbers at once come to what their text comes to."""

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.landed.tables import open_tables
from gaugebook.pipeline.received.content import FileAtRest
from gaugebook.pipeline.received.source_map import SourceMap, read_maps
from gaugebook.pipeline.typed.dst_fold import LogClock
from gaugebook.pipeline.typed.kinds import RECORDS
from gaugebook.pipeline.typed.plain_numbers import number_columns
from gaugebook.pipeline.typed.section import type_section

MAP = """
describes = "log"
files = ["log*.csv"]
[read]
format = "csv"
[[records]]
kind = "readings"
header = ["Time"]
[records.constants]
equipment = "S1"
[records.columns]
read_at = { column = "Time", time = "%Y-%m-%d %H:%M:%S" }
[records.wide]
pot_temperature_c = { column = "Pot", unit = "degF" }
reflux_ratio = "Reflux"
"""
NUMBERS = ["78.20", "-0.0", "1e2", "+3.5", ".5", "212", ""]
NUMBER = st.sampled_from(NUMBERS)
CELL = NUMBER | st.sampled_from(["999.00", "1e308", "nan", "inf", " 4.25", '"7.5"', "OL", "7 5"])


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """A folder with the map, and the map."""
    folder = tmp_path_factory.mktemp("site")
    (folder / "log.toml").write_text(MAP)
    (source_map,) = read_maps(folder, tuple(RECORDS))
    return folder, source_map


def typed(path, source_map: SourceMap, numbers: list[str]) -> tuple[pl.DataFrame, pl.DataFrame, bool]:
    """Kept rows, refused rows, and whether the block came with numbers."""
    (table,) = open_tables(FileAtRest(path), path.name, source_map, numbers)
    (rows,) = table.rows
    section, read = source_map.records[0], source_map.read
    made = type_section(rows, table.header, section, read, "UTC", LogClock())
    return made.kept, made.refused, pl.Float64 in rows.frame.dtypes


@given(st.lists(st.tuples(NUMBER, NUMBER), min_size=1, max_size=12) | st.lists(st.tuples(CELL, CELL), min_size=1))
def test_numbers_at_once_are_the_numbers_of_the_text(site, rows):
    """Kept rows and refused ones, the text of a refused cell included, are the same either way."""
    folder, source_map = site
    lines = [f"2026-03-01 10:00:{n % 60:02d},{pot},{reflux}\n" for n, (pot, reflux) in enumerate(rows)]
    path = folder / "log.csv"
    path.write_text("Time,Pot,Reflux\n" + "".join(lines))

    kept, refused, is_quick = typed(path, source_map, number_columns(source_map))
    kept_of_text, refused_of_text, _ = typed(path, source_map, [])

    assert kept.equals(kept_of_text)
    assert refused.equals(refused_of_text)
    assert is_quick or not {cell for row in rows for cell in row} <= set(NUMBERS)


def test_a_refused_number_is_shown_as_it_was_written(site):
    """999.00 stays 999.00 and the row is shown to the letter, though the block was read as numbers."""
    folder, source_map = site
    path = folder / "log1.csv"
    path.write_text("Time,Pot,Reflux\n2026-03-01 10:00:00,180.10,2.50\n2026-03-01 10:00:01,999.00,2.50\n")

    kept, refused, is_quick = typed(path, source_map, number_columns(source_map))

    assert is_quick
    assert kept["line"].to_list() == [2]
    assert refused["value"].to_list() == ["999.00"]
    assert refused["raw"].to_list() == ["2026-03-01 10:00:01,999.00,2.50"]


@pytest.mark.parametrize(
    "change", [("[read]", '[read]\nblank = ["OL"]'), ("[read]", '[read]\ndecimal = ","\nseparator = ";"')]
)
def test_where_text_must_be_looked_at_no_column_is_a_number_at_once(tmp_path, change):
    """Words for no value and decimal commas are things of text."""
    (tmp_path / "log.toml").write_text(MAP.replace(*change))
    (source_map,) = read_maps(tmp_path, tuple(RECORDS))

    assert number_columns(source_map) == []
