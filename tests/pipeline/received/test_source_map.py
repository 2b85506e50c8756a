"""What a source map may say."""

import hashlib
from pathlib import Path

import pytest
from small_house import write_house

from gaugebook.pipeline.errors import FileRefused, SettingsError
from gaugebook.pipeline.intake.flow import receive
from gaugebook.pipeline.received.source_map import (
    Column,
    Constant,
    Read,
    Section,
    SourceMap,
    Where,
    constant_of,
    maps_for,
    read_maps,
)
from gaugebook.pipeline.typed.kinds import RECORDS


@pytest.mark.parametrize("separator", ["", ";;", "¦", '\\"', "\\n"])
def test_a_separator_is_one_plain_character(tmp_path, separator):
    """Anything else is said before a file is read by it."""
    write_house(tmp_path / "site")
    source_map = tmp_path / "site" / "maps" / "fills.toml"
    text = source_map.read_text().replace("[read]\n", f'[read]\nseparator = "{separator}"\n')
    source_map.write_text(text)

    with pytest.raises(SettingsError, match="separator must be one ASCII character"):
        receive(tmp_path / "book", [tmp_path / "site"], None)


@pytest.mark.parametrize("pattern", ["fills_*.csv", "fills_*.csv.gz", "FILLS_*.gz", "fills_*"])
def test_a_packed_file_is_taken_by_a_pattern_with_or_without_its_ending(tmp_path, pattern):
    """A pattern that names the .gz takes such files; one that does not takes them packed and plain."""
    write_house(tmp_path / "site")
    path = tmp_path / "site" / "maps" / "fills.toml"
    path.write_text("\n".join(
        f'files = ["{pattern}"]' if line.startswith("files") else line for line in path.read_text().splitlines()
    ))  # fmt: skip
    source_map = next(one for one in read_maps(path.parent, tuple(RECORDS)) if pattern in one.files)

    assert source_map.takes("Fills_2025Q4.csv.gz")
    assert source_map.takes("fills_2025Q4.csv") is not pattern.endswith("gz")
    assert not source_map.takes("stock_2025Q4.csv.gz")


MAP = """
describes = "A made-up device"
files = ["fills_*.csv"]
[read]
format = "csv"
[[records]]
kind = "fills"
header = ["lot"]
columns.lot = "lot"
"""


def read(folder: Path, text: str, kinds: tuple[str, ...] = ("fills", "readings")) -> list[SourceMap]:
    """The maps of a folder that holds this one, device.toml."""
    (folder / "device.toml").write_text(text, encoding="utf-8")
    return read_maps(folder, kinds)


def test_a_short_map_reads_as_it_is_written(tmp_path):
    """A column by its name alone, and what is left out has the value that the key's comment names."""
    (found,) = read(tmp_path, MAP)

    assert (found.name, found.text, found.files) == ("device", MAP, ("fills_*.csv",))
    assert found.sha256 == hashlib.sha256(MAP.encode()).hexdigest()
    assert found.read == Read("csv", "utf-8", ",", ".", "", (), 1, 1, 0)
    assert found.records[0].columns == {"lot": Column("lot")}


def test_the_columns_of_a_section_each_once_and_in_order():
    """Those of the header, of its fields and their second columns, and of its condition."""
    columns = {"at": Column("date", also="time"), "value": Column("ml")}
    section = Section("fills", ("lot", "ml"), where=(Where("kind", matches="x"),), columns=columns,
                      wide={"pot": Column("T1")})  # fmt: skip

    assert section.column_names() == ["lot", "ml", "date", "T1", "time", "kind"]
    assert Section("fills", ("lot",)).column_names() == ["lot"]


def test_a_folder_without_maps_says_what_to_write(tmp_path):
    """Missing or empty, the sentence names the folder."""
    with pytest.raises(SettingsError, match=r'none" is missing; make it or mend maps in the house profile'):
        read_maps(tmp_path / "none", ("fills",))
    with pytest.raises(SettingsError, match=r"holds no source map \(\*\.toml\); write one for each device"):
        read_maps(tmp_path, ("fills",))


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        ("[read]", "[read", r"device\.toml: not a readable TOML file: .*line 4"),
        ("describes", "describe", r'device\.toml: unknown key "describe"'),
        ('describes = "A made-up device"', "", r'device\.toml: the key "describes" is missing'),
        ('describes = "A made-up device"', "describes = 3", r"describes: expected str, found 3"),
        ('format = "csv"', 'format = "ods"', r'read\.format "ods" is none of csv, xlsx'),
        ('format = "csv"', 'format = "csv"\nencoding = "utf-7"', r'read\.encoding "utf-7" is none of utf-8'),
        ('format = "csv"', 'format = "csv"\nheader_rows = 2', r"header_rows must be 1 to header_line, found 2"),
        ('format = "csv"', 'format = "csv"\nheader_rows = 0', r"header_rows must be 1 to header_line, found 0"),
        ('format = "csv"', 'format = "csv"\nthousands = "."', r'decimal and thousands are both "\."'),
        ('format = "csv"', 'format = "csv"\ndecimal = ""', r'decimal and thousands are both ""'),
        ('files = ["fills_*.csv"]', "files = []", r"at least one pattern in files and one \[\[records\]\] section"),
        ('kind = "fills"', 'kind = "casks"', r'kind "casks" is none of fills, readings'),
        ('header = ["lot"]', "header = []", r"records of fills: header must name at least one column"),
        ('header = ["lot"]', 'header = ["lot"]\nsheet = "A"', "a workbook's section names its sheet"),
        ('format = "csv"', 'format = "xlsx"', "a workbook's section names its sheet"),
        ('columns.lot = "lot"', "columns.lot = 3", r"device\.toml: columns\.lot: expected a table, found 3"),
        ('columns.lot = "lot"', "columns.lot = { unit = 'L' }", r'columns\.lot: the key "column" is missing'),
        ('columns.lot = "lot"', 'columns = "lot"', r"columns: expected a table, found 'lot'"),
        ('columns.lot = "lot"', "wide = [1]", r"wide: expected a table, found \[1\]"),
        ('columns.lot = "lot"', 'where = { column = "a" }', "records of fills: where needs one of matches"),
        ('columns.lot = "lot"', 'where = { column = "a", matches = "b", not_matches = "c" }', "where needs one"),
        ('columns.lot = "lot"', 'where = { column = "a", not_matches = "(" }', r'"\(" is no regular expression'),
        ("describes", 'text = "x"\ndescribes', r'device\.toml: unknown key "text"'),
        ('columns.lot = "lot"', 'where = [{ column = "a" }]', "where needs one of matches"),
        ('columns.lot = "lot"', 'columns.lot = { column = "a", take = "[0-9]+" }', r"lot: take = .* needs one group"),
        ('columns.lot = "lot"', 'columns.lot = { column = "a", take = "(" }', r'lot: "\(" is no regular expression'),
        ('header = ["lot"]', 'header = ["lot"]\nmay_be_missing = true', "may_be_missing is for the sheet of"),
        ("describes", 'name = "x"\ndescribes', r'device\.toml: unknown key "name"'),
    ],
)  # fmt: skip
def test_what_a_map_cannot_say_is_one_sentence(tmp_path, was, now, said):
    """File, key, what stands there and what was expected, before any file is read by it."""
    assert MAP.count(was) == 1
    with pytest.raises(SettingsError, match=said):
        read(tmp_path, MAP.replace(was, now))


@pytest.mark.parametrize("records", ["3", '"fills"', "[1]", "{ kind = 'fills' }"])
def test_records_that_are_no_tables_are_one_sentence(tmp_path, records):
    """Whatever stands under records, the sentence names file and key."""
    with pytest.raises(SettingsError, match=r"device\.toml: records(\[1\])?: expected a (list of tables|table), found"):
        read(tmp_path, f"records = {records}\n" + MAP.split("[[records]]")[0])


def test_a_map_without_a_section_is_refused(tmp_path):
    """It could take a file and keep nothing of it."""
    with pytest.raises(SettingsError, match=r"one \[\[records\]\] section"):
        read(tmp_path, "records = []\n" + MAP.split("[[records]]")[0])


def test_a_map_that_is_no_text_is_one_sentence(tmp_path):
    """A file of another encoding, or a folder of such a name."""
    (tmp_path / "device.toml").write_bytes(b'describes = "Ger\xe4t"\n')
    with pytest.raises(SettingsError, match=r"device\.toml: not a readable TOML file: 'utf-8' codec"):
        read_maps(tmp_path, ("fills",))
    (tmp_path / "device.toml").unlink()
    (tmp_path / "folder.toml").mkdir()
    with pytest.raises(SettingsError, match=r"folder\.toml: not a readable TOML file: .*Is a directory"):
        read_maps(tmp_path, ("fills",))


@pytest.mark.parametrize(
    ("given", "expected"),
    [(12.5, Constant(12.5)), (3, Constant(3.0)), ({"value": 3.3, "unit": "US gal"}, Constant(3.3, "US gal"))],
)
def test_a_constant_is_a_number_with_or_without_its_unit(given, expected):
    """As the map writes it."""
    assert constant_of(given) == expected


@pytest.mark.parametrize(
    ("given", "said"),
    [("12", r"c: value: expected float, found '12'"), (True, "expected float"), ({"unit": "L"}, '"value" is missing'),
     ({"value": 1.0, "of": 2}, 'unknown key "of"')],
)  # fmt: skip
def test_a_constant_that_is_none_says_so(given, said):
    """Its place and what was expected."""
    with pytest.raises(SettingsError, match=said):
        constant_of(given, "c")


def test_a_file_of_an_unknown_name_is_refused_with_the_known_patterns(tmp_path):
    """The sentence names the file, the patterns and the command that drafts a map."""
    maps = read(tmp_path, MAP)

    assert maps_for(Path("some/FILLS_3.csv"), maps) == maps
    with pytest.raises(
        FileRefused, match=r'"some/log\.csv": no source map .*fills_\*\.csv.*gaugebook map draft'
    ) as found:
        maps_for(Path("some/log.csv"), maps)
    assert found.value.code == "file.no-map"
