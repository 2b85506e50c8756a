"""Workbooks to rows of text; all of them made here, with made-up values."""

import zipfile
from pathlib import Path

import pytest
import xlsxwriter
from small_house import keep_fills_in_a_workbook, write_house

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import FileRefused
from gaugebook.pipeline.intake.file_outcome import Outcome
from gaugebook.pipeline.intake.flow import receive
from gaugebook.pipeline.landed.workbook import ERROR_CELL, Workbook

ERRORS = ["#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!"]


def written(path: Path, sheets: dict[str, dict[str, str]]) -> Path:
    """A workbook of these sheets; a text that begins with # is the last result of a formula."""
    with xlsxwriter.Workbook(path) as book:
        for name, cells in sheets.items():
            sheet = book.add_worksheet(name)
            for place, text in cells.items():
                if text.startswith("#"):
                    sheet.write_formula(place, "=B1/B2", None, text)
                else:
                    sheet.write(place, text)
    return path


def test_errors_of_every_kind_come_as_their_text(tmp_path):
    """An error is what the cell holds, not a blank; so it is refused where a number is wanted."""
    cells = {f"A{number}": text for number, text in enumerate(ERRORS, start=1)}
    path = written(tmp_path / "a.xlsx", {"Runs": cells})

    assert Workbook(path, "a.xlsx").rows("Runs") == [[text] for text in ERRORS]


def test_an_error_stands_in_its_own_place_beside_blanks(tmp_path):
    """In row 1 too, beside blank cells and rows, on the one sheet of several that has it; names may hold blanks."""
    first = {"B1": "lot", "C1": "#N/A", "B3": "RYE-1", "D3": "#DIV/0!", "B4": "t=\"e\"><c t='e'>"}
    path = written(tmp_path / "a.xlsx", {"Run sheet & log 1": first, "Other": {"A1": "lot", "A2": "RYE-2"}})

    book = Workbook(path, "a.xlsx")

    assert book.sheets == ["Run sheet & log 1", "Other"]
    assert book.rows("Run sheet & log 1") == [
        ["lot", "#N/A", ""],
        ["", "", ""],
        ["RYE-1", "", "#DIV/0!"],
        ["t=\"e\"><c t='e'>", "", ""],
    ]
    assert book.rows("Other") == [["lot"], ["RYE-2"]]


def test_errors_are_found_however_the_part_is_written():
    """With a name space, single quotes or attributes between; other elements and other types are left alone."""
    for cell in (b'<c t="e">', b'<c r="A1" t="e">', b'<x:c r="A1" s="3" t="e" cm="1">', b"<c r='A1' t='e'>"):
        assert ERROR_CELL.sub(rb'\1"str"', cell) in (cell.replace(b'"e"', b'"str"'), cell.replace(b"'e'", b'"str"'))
    for other in (b'<c r="A1" t="s">', b'<col t="e">', b'<c r="A1"><v t="e">', b'<c at="e">'):
        assert not ERROR_CELL.search(other)


def test_a_damaged_part_is_a_refusal(tmp_path):
    """A part whose bytes changed after it was written is told in one sentence."""
    path = written(tmp_path / "a.xlsx", {"Runs": {"A1": "lot"}})
    with zipfile.ZipFile(path) as archive:
        start = archive.getinfo("xl/worksheets/sheet1.xml").header_offset
    content = bytearray(path.read_bytes())
    content[start + 80 : start + 90] = b"\xff" * 10
    path.write_bytes(content)

    with pytest.raises(FileRefused, match=r"^a\.xlsx: cannot be read as a workbook .*; export it again\.$"):
        Workbook(path, "a.xlsx")


def test_an_error_in_a_number_is_refused_in_the_book(tmp_path):
    """A volume that the workbook could not reckon is a refused row, not a missing volume."""
    write_house(tmp_path / "site")
    keep_fills_in_a_workbook(tmp_path / "site", "S")
    rows = ["lot", "no", "ml"], ["RYE-1", "1", "#DIV/0!"], ["RYE-1", "2", "500"]
    cells = {
        f"{letter}{n}": text for n, row in enumerate(rows, start=1) for letter, text in zip("ABC", row, strict=True)
    }
    path = written(tmp_path / "site" / "fills.xlsx", {"S": cells})

    counts = receive(tmp_path / "book", [path], None)[0].counts[0]

    assert (counts.rows_in, counts.kept, counts.refused) == (2, 1, 1)
    with open_book(tmp_path / "book") as book:
        assert book.value("SELECT value FROM typed.refused WHERE line = 2") == "#DIV/0!"


SHEET = (
    '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>{}</sheetData></worksheet>'
)


def with_sheet(path: Path, rows: str) -> Path:
    """A workbook whose one sheet holds these rows as they are written here."""
    written(path, {"Runs": {"A1": "run"}})
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts["xl/worksheets/sheet1.xml"] = SHEET.format(rows).encode()
    with zipfile.ZipFile(path, "w") as archive:
        for name, part in parts.items():
            archive.writestr(name, part)
    return path


FIRST = '<row r="1"><c r="A1"><v>1</v></c></row>'


@pytest.mark.parametrize(
    "rows",
    [
        FIRST + '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>',
        FIRST + '<row r="200000"><c r="ZZ200000"><v>1</v></c></row>',
        FIRST + "<x:row r='1048576'><x:c s='1' r='xfd1048576'><x:v>1</x:v></x:c></x:row>",
        FIRST + '<row r="1048576">' + 12 * '<c t="n"><v>1</v></c>' + "</row>",
        FIRST + f'<row r="2"><c r="A{"9" * 5000}"><v>1</v></c></row>',
        FIRST + '<row r="2"><c r="ABCDEFGH2"><v>1</v></c></row>',
    ],
    ids=["last-corner", "far", "prefixed", "without-place", "long-number", "long-letters"],
)
def test_a_stray_cell_far_off_is_refused_before_memory_is_taken(tmp_path, rows):
    """Two kilobytes that would unfold to up to 17,179,869,184 cells: the file is refused by name, with what to do."""
    path = with_sheet(tmp_path / "a.xlsx", rows)

    with pytest.raises(FileRefused, match=r"^a\.xlsx: xl/worksheets/sheet1\.xml .* Delete the rows and columns"):
        Workbook(path, "a.xlsx")


def test_far_cells_that_hold_nothing_are_no_harm(tmp_path):
    """A format to the end of the sheet, and a long and narrow or short and wide sheet, are read."""
    blank = with_sheet(tmp_path / "a.xlsx", FIRST + '<row r="1048576"><c r="XFD1048576" s="0"/></row>')
    long = with_sheet(tmp_path / "b.xlsx", FIRST + '<row r="300000"><c r="B300000"><v>7</v></c></row>')
    wide = with_sheet(tmp_path / "c.xlsx", '<row r="1"><c r="A1"><v>1</v></c><c r="XFD1"><v>2</v></c></row>')

    assert Workbook(blank, "a.xlsx").rows("Runs") == [["1"]]
    assert Workbook(long, "b.xlsx").rows("Runs")[-1] == ["", "7"]
    assert Workbook(wide, "c.xlsx").rows("Runs")[0][-1] == "2"


def test_the_files_beside_a_workbook_that_is_too_large_are_received(tmp_path):
    """The refusal stands in the book; everything else is there."""
    write_house(tmp_path / "site")
    keep_fills_in_a_workbook(tmp_path / "site", "S")
    whole = receive(tmp_path / "alone", [tmp_path / "site"], tmp_path / "site" / "house.toml")
    with_sheet(tmp_path / "site" / "fills_bad.xlsx", FIRST + '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>')
    beside = receive(tmp_path / "book", [tmp_path / "site"], tmp_path / "site" / "house.toml")

    outcomes = [{file.path.name: file.outcome for file in files} for files in (whole, beside)]
    assert outcomes[1].pop("fills_bad.xlsx") is Outcome.REFUSED
    assert outcomes[1] == outcomes[0]
