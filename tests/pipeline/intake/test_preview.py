"""A preview: what the first rows of a file would become, whole on a narrow screen, and nothing written."""

import pytest
from click.testing import CliRunner
from small_house import write_house

from gaugebook.pipeline.commands.receive_commands import receive_command
from gaugebook.pipeline.errors import GaugebookError

WIDE_LAB_MAP = """
describes = "Analyses, a column each (invented)"
files = ["wide*.csv"]
[read]
format = "csv"
[[records]]
kind = "laboratory"
header = ["sample", "lot"]
[records.columns]
sample = "sample"
lot = "lot"
measured_at = "at"
[records.wide]
density = { column = "D [kg/m3]", unit = "kg/m3" }
methanol = { column = "MeOH [mg]", unit = "mg/L" }
"""


@pytest.fixture
def house(tmp_path):
    """A small house with a map for wide analyses."""
    write_house(tmp_path, {"wide.csv": "sample,lot,at,D [kg/m3],MeOH [mg]\nL1,A,2026-01-12 10:00,948.123456,<5\n"})
    (tmp_path / "maps" / "wide.toml").write_text(WIDE_LAB_MAP, encoding="utf-8")
    return tmp_path


def _preview(house, name, width=80):
    book = house / "book"
    result = CliRunner(env={"COLUMNS": str(width)}).invoke(
        receive_command, ["--preview", str(house / name)], obj=book, catch_exceptions=False
    )
    assert not book.exists()
    return result.output


def _line(output, field):
    """The field's line of the table, without what stands where it came from."""
    return next(line for line in output.splitlines() if line.startswith(field + " "))


def test_times_and_numbers_are_whole_at_eighty_columns(house):
    """Fewer rows are shown rather than cut ones, and how many; numbers have six significant digits."""
    output = _preview(house, "S1_0112.csv")

    assert "…" not in output
    assert max(map(len, output.splitlines())) <= 80
    assert "2026-01-12 09:00:00" in _line(output, "read_at")
    assert "The first 2 of 3 rows" in output
    assert _line(_preview(house, "S1_0112.csv", 200), "pot_temperature_c").split()[-2:] == ["20", "21.1111"]


def test_all_rows_are_shown_where_they_fit(house):
    """A wide window shows every row that was read, and says nothing of others."""
    output = _preview(house, "S1_0112.csv", 160)

    assert [f"2026-01-12 09:0{n}:00" in _line(output, "read_at") for n in range(3)] == [True] * 3
    assert "rows; a wider window" not in output


def test_a_long_text_is_folded_and_not_cut(tmp_path):
    """All of a text stands in the table, on as many lines as it needs."""
    text = "x" * 100
    write_house(
        tmp_path, {"lab2.csv": f"sample;lot;analyte;value;unit;t;rep;instrument\n{text};A;density;990;kg/m3;;;\n"}
    )
    output = _preview(tmp_path, "lab2.csv")

    assert output.count("x") == 100
    assert "…" not in output


def test_times_are_said_to_be_in_utc(house):
    """The clock of the house stands an hour further on, so the preview says which it shows."""
    assert "Times are in UTC." in _preview(house, "S1_0112.csv")


def test_what_wide_columns_give_is_not_called_unmapped(house):
    """Analyte, value and unit come from the wide columns; what no column gives is still called so."""
    output = _preview(house, "wide.csv", 160)

    assert "name of the wide column" in _line(output, "analyte")
    assert "the wide column" in _line(output, "value")
    assert "948.123 " in _line(output, "value")
    assert "unit of the wide column" in _line(output, "unit")
    assert 'a "<" before the value' in _line(output, "below_limit")
    assert "not mapped" in _line(output, "method")


def test_a_name_in_brackets_is_shown(house):
    """A column's name is text, whatever it looks like to the table's drawing."""
    (house / "maps" / "plain.toml").write_text(
        'describes = "x"\nfiles = ["plain*.csv"]\n[read]\nformat = "csv"\n[[records]]\nkind = "fills"\n'
        'header = ["lot"]\n[records.columns]\nlot = "lot"\nsample_no = "no"\nnet_content_ml = "net [ml]"\n',
        encoding="utf-8",
    )
    (house / "plain.csv").write_text("lot,no,net [ml]\nA,1,501.5\n", encoding="utf-8")

    assert '"net [ml]"' in _line(_preview(house, "plain.csv"), "net_content_ml")


def test_what_would_be_refused_is_said(house):
    """A row that cannot be read is named below the table with what was expected."""
    (house / "fills2.csv").write_text("lot,no,ml\nA,1,many\nA,2,501\n", encoding="utf-8")

    assert 'would be refused: line 2, column "ml": many' in _preview(house, "fills2.csv")


def test_a_folder_is_not_previewed(house):
    """One sentence says that a preview takes one file."""
    with pytest.raises(GaugebookError, match="is a folder; a preview takes one file"):
        _preview(house, "maps")


def test_kept_files_are_not_previewed(house):
    """A preview without a file says what it wants."""
    with pytest.raises(GaugebookError, match="A preview takes one file"):
        CliRunner().invoke(receive_command, ["--preview", "--again"], obj=house / "book", catch_exceptions=False)
