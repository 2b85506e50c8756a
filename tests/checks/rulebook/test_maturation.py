"""What laws ask of wood and age: the values of the articles, found by any name of a category on any day."""

import shutil
from datetime import date

import pytest

from gaugebook.checks.rulebook.maturation import (
    CASK_WOODS,
    WOODS,
    blend_of,
    read_blends,
    read_claims,
    read_maturations,
    requirements_of,
)
from gaugebook.checks.rulebook.published_limits import FOLDER, read_limits
from gaugebook.pipeline.errors import SettingsError

LIMITS = read_limits()


def one(name, jurisdiction, on=None):
    """The one requirement of a category."""
    (found,) = requirements_of(LIMITS, name, jurisdiction, on)
    return found


def test_whisky_of_the_union():
    """Regulation (EU) 2019/787, Annex I, category 2(a)(iii): three years in wooden casks not exceeding 700 litres."""
    found = one("Whiskey", "EU")

    assert (found.least_age_months, found.cask_most_l, found.cask_woods) == (36.0, 700.0, CASK_WOODS)
    assert found.is_required


@pytest.mark.parametrize(("name", "required"), [("Weinbrand", True), ("brandy", True), ("wine spirit", False)])
def test_brandy_of_the_union(name, required):
    """Category 5(a)(ii): a year in oak of at least 1 000 litres, or six months in oak of less; a wine spirit said to be
    matured the same, category 4(g)."""
    found = requirements_of(LIMITS, name, "EU")

    assert [(item.least_age_months, item.cask_least_l, item.cask_below_l) for item in found] == [
        (12.0, 1000.0, None), (6.0, None, 1000.0),
    ]  # fmt: skip
    assert {item.is_required for item in found} == {required}
    assert all("other wood" not in item.cask_woods for item in found)


def test_caramel_in_fruit_spirits():
    """Categories 9(e) and 16(e): caramel only where aged at least one year in contact with wood; all fruit alike."""
    kinds = [category for category in LIMITS.categories if category.name == "fruit spirit"]
    names = [key for category in kinds for key in category.keys] + ["spirit by maceration and distillation"]

    assert len(names) > 15
    for name in names:
        found = one(name, "EU")
        assert (found.for_what, found.least_age_months, found.is_required) == ("caramel", 12.0, False)


@pytest.mark.parametrize(
    ("name", "wood", "entry", "months", "required"),
    # 27 CFR 5.142, 5.143 and 5.145
    [
        ("bourbon", "charred new oak", 125.0, None, True), ("rye whiskey", "charred new oak", 125.0, None, True),
        ("straight rye malt whisky", "charred new oak", 125.0, 24.0, True),
        ("corn whisky", "used or uncharred new oak", 125.0, None, False),
        ("straight corn whisky", "used or uncharred new oak", 125.0, 24.0, True),
        ("light whisky", "used or uncharred new oak", None, None, True), ("whisky", "oak", None, None, True),
        ("brandy", "oak", None, 24.0, True), ("grain spirits", "oak", None, None, True),
        ("vodka", "none", None, None, True), ("neutral spirits", "none", None, None, True),
    ],
)  # fmt: skip
def test_types_of_the_united_states(name, wood, entry, months, required):
    """Wood, proof at entry and least time of each type."""
    found = one(name, "US")

    assert (found.wood, found.entry_most_proof, found.least_age_months) == (wood, entry, months)
    assert found.is_required is required


def test_american_single_malt():
    """T.D. TTB-199: oak barrels, used, uncharred new or charred new, of at most 700 liters; straight after two years;
    in force since January 19, 2025."""
    assert requirements_of(LIMITS, "American single malt whiskey", "US", date(2025, 1, 18)) == ()
    plain = one("American single malt whiskey", "US", date(2025, 1, 19))
    straight = one("straight American single malt whiskey", "US")

    assert (plain.cask_most_l, plain.least_age_months, plain.cask_woods) == (700.0, None, WOODS["oak"])
    assert (straight.cask_most_l, straight.least_age_months) == (700.0, 24.0)


def test_a_requirement_ends(tmp_path):
    """One that was in force until a day (made up) is asked the day before and not on it."""
    folder = tmp_path / "limits"
    shutil.copytree(FOLDER, folder)
    file = folder / "maturation.toml"
    text = file.read_text(encoding="utf-8").replace("in_force_from = 2025-01-19", "in_force_until = 2030-01-01")
    file.write_text(text, encoding="utf-8")
    asked = {
        day: len(requirements_of(LIMITS, "American single malt whisky", "US", date.fromisoformat(day), folder))
        for day in ("2029-12-31", "2030-01-01")
    }

    assert asked == {"2029-12-31": 1, "2030-01-01": 0}


def test_entry_proof_at_20_c():
    """125 proof at 60 °F is 62.55 % vol at 20 °C: proof over two is not % vol at 20 °C (27 CFR 30.11, OIML R 22)."""
    found = one("bourbon", "US")

    assert found.entry_most_pct_vol == pytest.approx(62.55, abs=0.005)
    assert one("light whisky", "US").entry_most_pct_vol is None


def test_immature_brandy_is_the_younger():
    """27 CFR 5.145(c): what has less than the two years of brandy is immature; the two meet without gap or overlap."""
    assert one("unaged brandy", "US").age_below_months == one("brandy", "US").least_age_months == 24.0


def test_what_is_from_memory():
    """Straight whisky without a grain's name and whisky distilled from a mash are from memory and say so."""
    unread = {item.category for item in read_maturations() if not item.confirmed}

    assert unread == {
        "straight whisky",
        *(f"whisky distilled from {grain} mash" for grain in ("bourbon", "rye", "wheat", "malt", "rye malt")),
    }
    assert all("confirm" in item.citation for item in read_maturations() if not item.confirmed)


def test_bottled_in_bond():
    """27 CFR 5.88: one kind, one distiller, one season, four years in wood, in bond, 100 proof at bottling."""
    (claim,) = read_claims()

    assert (claim.claim, claim.least_age_months, claim.bottled_proof) == ("bottled in bond", 48.0, 100.0)
    assert claim.one_distiller and claim.one_season and claim.one_kind and claim.in_bond
    assert claim.cask_woods == CASK_WOODS


def test_a_category_that_asks_nothing_of_wood():
    """Gin and rum have no requirement, and a name of another jurisdiction finds none."""
    assert requirements_of(LIMITS, "gin", "EU") == requirements_of(LIMITS, "rum", "US") == ()
    assert requirements_of(LIMITS, "bourbon", "EU") == ()


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('wood = "charred new oak"', 'wood = "chared oak"', r'wood "chared oak" is none of wood, oak'),
        ('category = "bourbon whisky"', 'category = "burbon"', r'burbon: no category "burbon" is held for US'),
        ('category = "bourbon whisky"', 'category = "bourbon"', r'bourbon: no category "bourbon" is held for US'),
        ("in_force_from = 2025-01-19", "in_force_until = 0001-01-01", "it was never in force"),
    ],
)
def test_a_bad_table_is_refused(tmp_path, old, new, said):
    """The sentence names file, line and fault; a category stands there by its own name."""
    folder = tmp_path / "limits"
    shutil.copytree(FOLDER, folder)
    file = folder / "maturation.toml"
    file.write_text(file.read_text(encoding="utf-8").replace(old, new, 1), encoding="utf-8")

    with pytest.raises(SettingsError, match=rf"limits/maturation\.toml:\d+: .*{said}"):
        read_maturations(folder)


def test_straight_classes_are_of_one_type():
    """27 CFR 5.143(c)(5) and (6): each straight class of a type is of that type alone; no other class asks it here."""
    types = {item.category: item.one_type for item in read_maturations() if item.one_type}

    assert types == {
        f"straight {name}": name
        for name in (
            "bourbon whisky", "rye whisky", "wheat whisky", "malt whisky", "rye malt whisky", "corn whisky",
            "American single malt whisky",
        )
    }  # fmt: skip


def test_blends_ask_a_share_of_straight_whisky():
    """27 CFR 5.143(c): at least 20 % on a proof gallon basis; a blend of straight whiskies holds nothing else."""
    shares = {blend.category: blend.least_share for blend in read_blends()}

    assert shares == {"blended whisky": 0.2, "blend of straight whiskies": 1.0}
    assert blend_of(LIMITS, "vodka", "US", date(2026, 1, 1)) is None
    assert blend_of(LIMITS, "Blended Whiskey", "EU", date(2026, 1, 1)) is None


@pytest.mark.parametrize(
    ("old", "new", "said", "read"),
    [
        ('one_type = "rye whisky"', 'one_type = "rye"', 'no category "rye" is held for US', read_maturations),
        ('category = "blended whisky"', 'category = "blend"', 'no category "blend" is held for US', read_blends),
        ("least_share = 0.20", "least_share = 20", "20 is no part; expected 0 to 1", read_blends),
    ],
)
def test_a_bad_type_or_share_is_refused(tmp_path, old, new, said, read):
    """With file and line."""
    folder = tmp_path / "limits"
    shutil.copytree(FOLDER, folder)
    file = folder / "maturation.toml"
    file.write_text(file.read_text(encoding="utf-8").replace(old, new, 1), encoding="utf-8")

    with pytest.raises(SettingsError, match=rf"limits/maturation\.toml:\d+: .*{said}"):
        read(folder)
