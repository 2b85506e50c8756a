"""Contaminants: the values of the texts, and that a target or a limit from memory is never one that stops a release."""

import shutil

import pytest

from gaugebook.checks.rulebook.contaminants import contaminant_frame, limits_of, read_contaminants
from gaugebook.checks.rulebook.published_limits import FOLDER, read_limits
from gaugebook.pipeline.errors import SettingsError

ROWS = contaminant_frame(read_limits())


@pytest.mark.parametrize(
    ("jurisdiction", "category", "market", "most_ug_kg", "standing"),
    # J. Food Prot. 84 (2021) 2195, Table 1: distilled spirits 150 (Canada), 125 (United States, whiskey, voluntary);
    # fruit brandy 400 (Canada), 800 (Germany), 1,000 (European Union, a target, of stone fruit)
    [
        ("EU", "gin", "CA", 150.0, "limit"), ("EU", "fruit spirit apple", "CA", 400.0, "limit"),
        ("US", "plum brandy", "CA", 400.0, "limit"), ("US", "bourbon whisky", "CA", 150.0, "limit"),
        ("US", "bourbon whisky", "US", 125.0, "target"), ("EU", "whisky", "US", 125.0, "target"),
        ("EU", "fruit spirit cherry", "EU", 1000.0, "target"), ("EU", "fruit marc spirit plum", "EU", 1000.0, "target"),
        ("EU", "fruit spirit cherry", "DE", 800.0, "target"), ("EU", "fruit spirit", "DE", 800.0, "target"),
    ],
)  # fmt: skip
def test_ethyl_carbamate(jurisdiction, category, market, most_ug_kg, standing):
    """What each market asks of each kind of spirit, and whether that is a limit or a target."""
    row = ROWS.filter(jurisdiction=jurisdiction, category=category, market=market, analyte="ethyl_carbamate")

    assert row.select("most_ug_kg", "standing").rows() == [(most_ug_kg, standing)]


@pytest.mark.parametrize(
    ("category", "market"), [("fruit spirit apple", "EU"), ("gin", "EU"), ("gin", "US"), ("gin", "DE")]
)
def test_where_nothing_is_asked(category, market):
    """A spirit that no text of the market names has no limit there: the target of the Union is of stone fruit alone."""
    assert ROWS.filter(jurisdiction="EU", category=category, market=market).is_empty()


def test_a_named_category_goes_before_all_others():
    """Where one limit names the category and another is of all spirits, whatever their order the named one holds."""
    contaminants = read_contaminants()

    for order in (contaminants, contaminants[::-1]):
        assert limits_of(order, {"brandy"}, "CA")["ethyl_carbamate"].most_ug_kg == 400.0
        assert limits_of(order, {"vodka"}, "CA")["ethyl_carbamate"].most_ug_kg == 150.0


def test_every_category_named_is_held():
    """A limit names no category that the limits of categories do not have."""
    held = {name for category in read_limits().categories for name in (category.name, *category.keys)}

    assert {name for limit in read_contaminants() for name in limit.of} <= held


@pytest.mark.parametrize("old", ['standing = "limit"', 'standing = "target"'])
def test_a_limit_from_memory_stands_apart(tmp_path, old):
    """What is not confirmed has a standing of its own, at which no rule that stops looks."""
    folder = tmp_path / "limits"
    shutil.copytree(FOLDER, folder)
    file = folder / "contaminants.toml"
    file.write_text(file.read_text(encoding="utf-8").replace(old, f"{old}\nconfirmed = false"), encoding="utf-8")

    frame = contaminant_frame(read_limits(), folder)

    assert set(frame["standing"]) == {"limit", "target", "from memory"} - {old.split('"')[1]}


def test_a_standing_that_is_none_is_refused(tmp_path):
    """The sentence names file, line, contaminant and what may be."""
    folder = tmp_path / "limits"
    shutil.copytree(FOLDER, folder)
    file = folder / "contaminants.toml"
    text = file.read_text(encoding="utf-8").replace('standing = "limit"', 'standing = "advice"', 1)
    file.write_text(text, encoding="utf-8")

    with pytest.raises(SettingsError, match=r'contaminants\.toml:\d+: ethyl_carbamate: "advice" is none of limit'):
        read_contaminants(folder)


def test_neither_a_target_nor_what_is_from_memory_stops_a_release(rules):
    """Whatever such a rule answers, missing values too, no answer of it is as grave as a limit of law."""
    gentle = [rule for rule in rules.values() if not rule.confirmed or rule.id == "contaminant-target"]

    assert {rule.id for rule in gentle} >= {"contaminant-target", "limit-from-memory", "residue-from-memory"}
    for rule in gentle:
        assert "stops release" not in {rule.severity_of(a) for a in ("out", "doubtful", "not evaluated")}, rule.id
