"""Lines of a TOML file as an editor counts them: tables, their keys, and what cannot be read."""

import pytest

from gaugebook.checks.rulebook.toml_location import TomlLocation, read_toml, tables
from gaugebook.pipeline.errors import SettingsError

TEXT = """# made up
[[rules]]
id = "one"
column = "a"

[[rules]]
column = "b"
where = { part = "hearts" }
column_too = "c"
"""


def test_each_table_and_key_has_its_line(tmp_path):
    """The first table begins in line 2 and the second in 6; one without a name goes by its number."""
    (tmp_path / "a.toml").write_text(TEXT)

    (first, one), (second, two) = tables(tmp_path / "a.toml", "a.toml", "rules", "id")

    assert (first, second["column_too"]) == ({"id": "one", "column": "a"}, "c")
    assert one == TomlLocation("a.toml", "one", 2, {"id": 3, "column": 4})
    assert two == TomlLocation("a.toml", "number 2", 6, {"column": 7, "where": 8, "column_too": 9})


def test_a_place_is_told_as_far_as_it_is_known():
    """By the key's line, else the table's, else the file alone."""
    place = TomlLocation("a.toml", "one", 2, {"column": 4})

    assert (place.at("column"), place.at("other"), place.at()) == ("a.toml:4: one", "a.toml:2: one", "a.toml:2: one")
    assert TomlLocation("profile", "one", None, {}).at("column") == "profile: one"


@pytest.mark.parametrize("text", ["", "rules = 3", "rules = []", "[[limits]]\na = 1"])
def test_a_file_without_the_tables_is_refused(tmp_path, text):
    """None, none in the list, or something else of that name."""
    (tmp_path / "a.toml").write_text(text)

    with pytest.raises(SettingsError, match=r"a\.toml: expected \[\[rules\]\], found none"):
        tables(tmp_path / "a.toml", "a.toml", "rules", "id")


@pytest.mark.parametrize(
    ("text", "line"), [("a = 1\nb = \n", 2), ("a = \n", 1), ("a = 1\nb = [\n 2,\n x]\nc = 3\n", 2)]
)
def test_the_statement_that_cannot_be_read_is_named_by_its_line(tmp_path, text, line):
    """The line in which it begins, as long as it may be."""
    (tmp_path / "a.toml").write_text(text)

    with pytest.raises(SettingsError, match=rf"^a\.toml:{line}: cannot be read"):
        read_toml(tmp_path / "a.toml", "a.toml")
