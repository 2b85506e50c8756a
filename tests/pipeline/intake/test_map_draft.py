"""A first source map: what can be seen in the file is guessed, what cannot is asked."""

import gzip
import tomllib
from datetime import datetime
from fnmatch import fnmatch
from textwrap import dedent

import pytest
import xlsxwriter

from gaugebook.pipeline.errors import FileRefused
from gaugebook.pipeline.intake.map_draft import draft
from gaugebook.pipeline.landed.tables import open_tables
from gaugebook.pipeline.received.content import FileAtRest
from gaugebook.pipeline.received.source_map import read_maps
from gaugebook.pipeline.typed.kinds import RECORDS


def _drafted(tmp_path, name, content, encoding="utf-8"):
    path = tmp_path / name
    path.write_bytes(dedent(content).lstrip("\n").encode(encoding))
    text = draft(path)
    return text, tomllib.loads(text)


def test_a_log_with_junk_above_and_a_row_of_units(tmp_path):
    """Header line, units row and time format are seen; the tags are asked."""
    text, table = _drafted(
        tmp_path,
        "log_2026-01.csv",
        """
        Controller 7
        exported by nobody
        Time,T1,T2,P
        ,degC,degC,mbar
        12.01.2026 10:00:00,20.1,20.2,1013
        12.01.2026 10:01:00,20.3,20.2,1013
        """,
    )

    assert table["read"]["separator"] == ","
    assert (table["read"]["header_line"], table["read"]["skip_after_header"]) == (3, 1)
    assert table["records"][0]["kind"] == "readings"
    assert table["records"][0]["columns"]["read_at"] == {"column": "Time", "time": "%d.%m.%Y %H:%M:%S"}
    assert '#? tag = { column = "T1"' in text


def test_words_among_the_numbers_of_a_log_are_asked(tmp_path):
    """Time and numbers are a log, however few columns; what stands where a number is missing is asked."""
    rows = "".join(f"12.01.2026 10:0{n}:00;78,{n};92,3\n" for n in range(6))
    text, table = _drafted(tmp_path, "log.csv", "Time;T1;T2\n" + rows + "12.01.2026 10:07:00;---;92,3\n")

    assert table["records"][0]["kind"] == "readings"
    assert '#? blank = ["---"]' in text


def test_a_semicolon_decimal_comma_export_in_windows_letters(tmp_path):
    """Encoding, separator and decimal mark of a central European device are seen."""
    _, table = _drafted(
        tmp_path, "dm.csv", "Sample;Lot;Temperature °C;Value\nL1;A;20,01;0,94805\nL2;B;19,99;0,94811\n", "cp1252"
    )

    assert (table["read"]["encoding"], table["read"]["separator"], table["read"]["decimal"]) == ("cp1252", ";", ",")
    assert table["records"][0]["kind"] == "laboratory"
    assert table["records"][0]["columns"]["sample"] == "Sample"


def test_nothing_like_a_table_is_one_sentence(tmp_path):
    """A file without a header row is refused by name."""
    with pytest.raises(FileRefused, match="no header row"):
        _drafted(tmp_path, "letter.txt", "Dear all,\nthe still is fine.\n")


def test_a_file_of_other_bytes_is_one_sentence(tmp_path):
    """A picture is neither text nor a workbook."""
    path = tmp_path / "photo.csv"
    path.write_bytes(b"\x89PNG\r\n\0\0\0\rIHDR")

    with pytest.raises(FileRefused, match="neither text nor a workbook"):
        draft(path)


@pytest.mark.parametrize(
    ("numbers", "decimal", "thousands", "is_guess"),
    [
        (("1.234,5", "2.345,5", "999,5"), ",", ".", False),
        (("1,234.5", "2,345.5", "999.5"), ".", ",", False),
        (("1'234.5", "2'345.5", "999.5"), ".", "'", False),
        (("1 234,5", "2 345,5", "999,5"), ",", " ", False),
        (("1\u00a0234,5", "2\u00a0345,5", "999,5"), ",", "\u00a0", False),
        (("1.234.567", "2.345", "999"), ",", ".", False),
        (("1.234", "2.345,", "999,5"), ",", ".", True),  # 1.234 alone might be a decimal point
    ],
)
def test_numbers_with_a_thousands_mark_are_numbers(tmp_path, numbers, decimal, thousands, is_guess):
    """The first row of such numbers is data, and the mark is drafted; a guess is marked as one."""
    first, second, third = numbers
    text, table = _drafted(tmp_path, "x.csv", f"Los;Menge;Probe\nA;{first};p1\nB;{second};p2\nC;{third};p3\n")

    assert "skip_after_header" not in text
    assert (table["read"]["decimal"], table["read"]["thousands"]) == (decimal, thousands)
    assert any("#?" in line for line in text.splitlines() if line.startswith("thousands")) == is_guess


def test_no_thousands_mark_where_the_sample_shows_none(tmp_path):
    """Three digits behind a point are no thousands where other numbers have that point as decimal mark."""
    text, table = _drafted(tmp_path, "sg.csv", "sample,sg,t\nA,1.068,20.1\nB,0.997,20.0\n")

    assert "thousands" not in text
    assert table["read"]["decimal"] == "."


def test_a_mark_that_may_be_either_is_asked(tmp_path):
    """Where every number has one comma before three digits, the decimal mark is a guess."""
    text, _ = _drafted(tmp_path, "sg.csv", "sample;mass\nA;1,068\nB;1,047\n")

    assert 'decimal = ","  #? or does it stand before thousands' in text


def test_a_row_of_units_is_a_guess_that_is_asked(tmp_path):
    """Texts where the rows below hold numbers are skipped as units, behind a question."""
    text, table = _drafted(tmp_path, "x.csv", "Los;Menge;Probe\n;kg;\nA;1.234,5;p1\nB;2.345,5;p2\n")

    assert table["read"]["skip_after_header"] == 1
    assert "skip_after_header = 1  #? is that a row of units" in text


def test_a_first_row_without_numbers_is_not_dropped_as_units(tmp_path):
    """A row of data whose number is a word stays; that it holds text over numbers is asked."""
    text, table = _drafted(tmp_path, "x.csv", "Los;Menge;Probe\nA;fehlt;p1\nB;2,5;p2\nC;3,5;p3\nD;4,5;p4\n")

    assert table["read"]["header_line"] == 1
    assert "skip_after_header" not in table["read"]
    assert "#? skip_after_header = 1  if line 2" in text


@pytest.mark.parametrize("missing", ["---", "NaN", "n/a"])
def test_a_first_row_without_values_is_not_dropped_as_units(tmp_path, missing):
    """What stands where a number is missing is no unit."""
    text, table = _drafted(
        tmp_path, "x.csv", f"Los;T1;T2\nA;{missing};{missing}\nB;20,1;20,2\nC;20,1;20,2\nD;20,1;20,2\n"
    )

    assert table["read"]["header_line"] == 1
    assert "\nskip_after_header" not in text


@pytest.mark.parametrize(
    "junk",
    [
        "Export;12.11.2025 08:30\n",
        "Model: Beispiel\n",
        "Model;Beispiel\n",
        "Model: Beispiel;;\n",
        "Model;Beispiel\nExport;12.11.2025 08:30\n",
        "Export;12.11.2025 08:30\nModel: Beispiel\n\n",
        "Kanal;Eins;Zwei\nExport;12.11.2025 08:30;\n",
        "Model;Beispiel;Nord\n",
    ],
)
@pytest.mark.parametrize("units", ["", ";°C;mbar\n", "dd.mm.yyyy hh:mm;°C;mbar\n", ";Grad;Torr\n"])
def test_lines_above_the_header_are_not_the_header(tmp_path, junk, units):
    """The header is as wide as the rows below it and has words over their numbers, whatever stands above it."""
    rows = "".join(f"12.11.2025 08:3{n};78,{n};1013,{n}\n" for n in range(4))
    _, table = _drafted(tmp_path, "x.csv", junk + "Zeit;T1;P1\n" + units + rows)

    assert table["read"]["header_line"] == junk.count("\n") + 1
    assert table["read"].get("skip_after_header", 0) == bool(units)
    assert table["records"][0]["header"] == ["Zeit", "T1", "P1"]


def test_blank_lines_between_header_and_units(tmp_path):
    """Blank lines change nothing, but are counted among what is skipped."""
    rows = "".join(f"12.11.2025 08:3{n},78.{n}\n" for n in range(5))
    _, table = _drafted(tmp_path, "x.csv", "# by hand (invented)\n\nTime,T1\n\ns,degC\n" + rows)

    assert (table["read"]["header_line"], table["read"]["skip_after_header"]) == (3, 2)


def test_a_line_at_the_foot_hides_no_time(tmp_path):
    """The time format is seen although one cell of its column holds a text."""
    rows = "".join(f"12.11.2025 08:3{n},78.{n}\n" for n in range(5))
    _, table = _drafted(tmp_path, "x.csv", "Time,T1\n" + rows + "end of log\n")

    assert table["records"][0]["columns"]["read_at"] == {"column": "Time", "time": "%d.%m.%Y %H:%M"}


def test_a_line_above_a_header_of_two_columns(tmp_path):
    """A date of export is no header, nor is a line of two words, though the table is as narrow."""
    rows = "12.11.2025 08:31:00;78,1\n12.11.2025 08:32:00;78,2\n"
    _, dated = _drafted(tmp_path, "a.csv", "Export;12.11.2025 08:30\nZeit;T1\n" + rows)
    _, words = _drafted(tmp_path, "b.csv", "Model;Beispiel\nZeit;T1\n" + rows)

    assert [dated["read"]["header_line"], words["read"]["header_line"]] == [2, 2]


@pytest.mark.parametrize(
    ("name", "pattern"),
    [
        ("K1_2025-10.csv", "K1_*.csv"),
        ("K2_2025-10.csv", "K2_*.csv"),
        ("K1_2025-10-14.csv", "K1_*.csv"),
        ("K1_20251014_0830.csv", "K1_*.csv"),
        ("K1_14.10.2025.csv", "K1_*.csv"),
        ("K1_2025-W42.csv", "K1_*.csv"),
        ("K1_run_0012.csv", "K1_run_*.csv"),
        ("K1 (2).csv", "K1 (*).csv"),
        ("still 3 log 2025-10.csv", "still 3 log *.csv"),
        ("K1.csv", "K1.csv"),
        ("2025-10_K2.csv", "*_K2.csv"),
        ("K1 [a]_2025-10.csv", "K1 [[]a]_*.csv"),
    ],
)
def test_only_what_changes_in_a_name_is_left_open(tmp_path, name, pattern):
    """Date, month and running number are; a digit of the device's name is not. The draft takes its own file."""
    _, table = _drafted(tmp_path, name, "Time,T1\n2026-01-12 10:00:00,20.1\n2026-01-12 10:01:00,20.2\n")

    assert table["files"] == [pattern]
    assert fnmatch(name.lower(), pattern.lower())


def test_a_packed_file_is_drafted_as_what_it_packs(tmp_path):
    """The same draft as of the text itself, but for the name of the file looked at."""
    content = "Zeit;T1\n" + "".join(f"12.11.2025 08:3{n}:00;78,{n}\n" for n in range(9))
    plain, _ = _drafted(tmp_path, "K1_2025-10.csv", content)
    packed = tmp_path / "K1_2025-10.csv.gz"
    packed.write_bytes(gzip.compress(content.encode()))

    assert draft(packed).replace("K1_2025-10.csv.gz", "K1_2025-10.csv") == plain


def test_a_broken_packed_file_is_one_sentence(tmp_path):
    """A packed file that ends too early is refused by name."""
    path = tmp_path / "K1.csv.gz"
    path.write_bytes(gzip.compress(b"Zeit;T1\n")[:-9])

    with pytest.raises(FileRefused, match="no sound gzip file"):
        draft(path)


def test_a_packed_workbook_is_one_sentence(tmp_path):
    """A workbook is packed already; receiving does not take it packed twice."""
    path = tmp_path / "runs.xlsx.gz"
    path.write_bytes(gzip.compress(b"PK\3\4"))

    with pytest.raises(FileRefused, match="packed workbook; unpack it"):
        draft(path)


def test_of_a_large_file_only_the_beginning_is_read(tmp_path):
    """A file of a terabyte (with a hole) is drafted from its first lines; a line cut in two is left out."""
    path = tmp_path / "large.csv"
    path.write_text("Zeit;T1\n" + "12.11.2025 08:30:00;78,5\n" * 10_000, encoding="utf-8")
    with path.open("r+b") as stream:
        stream.truncate(2**40)

    assert tomllib.loads(draft(path))["read"]["header_line"] == 1


def _workbook(path, sheets):
    """A workbook of invented rows; datetimes become date cells."""
    book = xlsxwriter.Workbook(path, {"default_date_format": "dd.mm.yyyy hh:mm"})
    for name, rows in sheets.items():
        sheet = book.add_worksheet(name)
        for number, row in enumerate(rows):
            sheet.write_row(number, 0, row)
    book.close()
    text = draft(path)
    return text, tomllib.loads(text)


def test_merged_cells_above_the_header_make_two_header_rows(tmp_path):
    """Proposed as a guess, with the names that receiving makes of both rows; a title above is none of them."""
    days = [[datetime(2025, 11, 12, 8, n), 78.1, 1013.2, 77.9, 1012.8] for n in range(4)]
    above = [["Example still (invented)"], ["", "Pot", "", "Head", ""], ["Time", "T", "P", "T", "P"]]
    text, table = _workbook(tmp_path / "K1.xlsx", {"Log": above + days})

    assert (table["read"]["header_line"], table["read"]["header_rows"]) == (3, 2)
    assert "header_rows = 2  #?" in text
    assert table["records"][0]["header"] == ["Time", "Pot T", "Pot P"]
    assert '#? tag = { column = "Head P"' in text
    path = tmp_path / "map.toml"
    path.write_text(text, encoding="utf-8")
    (source_map,) = read_maps(tmp_path, tuple(RECORDS))
    (opened,) = open_tables(FileAtRest(tmp_path / "K1.xlsx"), "K1.xlsx", source_map)
    assert opened.header == ["Time", "Pot T", "Pot P", "Head T", "Head P"]


def test_merged_cells_down_and_across_make_two_header_rows(tmp_path):
    """A name beside the groups, whose cell is merged downwards, stands in the upper row alone."""
    rows = [["Time", "Pot", "", "Head", ""], ["", "T", "P", "T", "P"]]
    rows += [[datetime(2025, 11, 12, 8, n), 78.1, 1013.2, 77.9, 1012.8] for n in range(4)]
    _, table = _workbook(tmp_path / "K1.xlsx", {"Log": rows})

    assert (table["read"]["header_line"], table["read"]["header_rows"]) == (2, 2)
    assert table["records"][0]["columns"]["read_at"] == {"column": "Time", "time": "excel"}


def test_a_title_above_the_header_is_no_header_row(tmp_path):
    """One cell at the left is a title; dates of cells are Excel's, and the other sheets are named."""
    rows = [["Runs (invented)"], ["Run", "Start", "Mass kg"]]
    rows += [[f"R{n}", datetime(2025, 11, n, 8, 30), 100.5] for n in range(1, 5)]
    text, table = _workbook(tmp_path / "runs.xlsx", {"Notes": [["a"]], "Runs": rows, "Empty": []})

    assert table["read"]["header_line"] == 2
    assert "header_rows" not in text
    assert 'time = "excel"' in text
    assert table["records"][0]["sheet"] == "Runs"
    assert any(line.startswith("#?") and '"Notes", "Empty"' in line for line in text.splitlines())
