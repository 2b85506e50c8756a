"""A first source map: what can be seen in the file is guessed, what cannot is asked."""

import tomllib
from textwrap import dedent

import pytest

from pipeline.errors import FileRefused
from pipeline.map_draft import draft


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
