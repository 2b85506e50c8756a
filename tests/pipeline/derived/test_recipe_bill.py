"""What runs of every stage were charged with, against their recipes. Every house here is made up."""

import pytest
from small_books import small_book

from gaugebook.checks.run import run_checks
from gaugebook.pipeline.book.database import open_book

PROFILE = """
[[recipes]]
name = "rye and oats"
stage = "mash"
ingredients = [{ material = "rye malt", share = 0.75 }, { material = "oat malt", share = 0.25 }]

[[recipes]]
name = "quince liqueur"
stage = "blend"
ingredients = [{ material = "quince steep" }, { material = "beet sugar", g_per_l = 100.0 }]

[[recipes]]
name = "quince steep"
stage = "steep"
ingredients = [{ material = "quince" }, { material = "neutral spirit" }]

[[recipes]]
name = "sugar alone"
stage = "blend"
ingredients = [{ material = "beet sugar", g_per_l = 100.0 }]

[[recipes]]
name = "two spirits"
stage = "blend"
ingredients = [{ material = "neutral spirit", share = 0.6 }, { material = "old rum", share = 0.4 }]
"""
SPIRIT = "in,{},spirit,T1,{},20,80,pct_vol_20c,,,distilled"


@pytest.fixture
def flags_of(tmp_path):
    """The flags of the recipe rules on a book with one run of a stage: {(rule, material): severity}."""

    def of(stage: str, recipe: str, moves: str) -> dict[tuple[str, str], str]:
        runs = (
            f"STE-0,steep,Q1,,quince steep,2026-01-11 10:00,2026-01-11 16:00,AB\n"
            f"RUN-1,{stage},T1,,{recipe},2026-01-12 10:00,2026-01-12 16:00,AB"
        )
        steep = (
            f"STE-0,{SPIRIT.format('NS-1', 10)}\nSTE-0,in,QUINCE-1,fruit,,,,,,,5,\n"
            "STE-0,out,STEEP-0,liquid,T1,10,20,75,pct_vol_20c,,,distilled\n"
        )
        book_folder = small_book(tmp_path, runs, steep + moves, profile=PROFILE)
        with open_book(book_folder, writing=True) as book:
            run_checks(book)
            found = book.frame("""
                SELECT rule, record, severity FROM flagged.flags
                WHERE run = 'RUN-1' AND (rule LIKE 'recipe-%' OR rule LIKE 'botanical-%')
            """)
        return {(rule, record.split(", ")[-1]): severity for rule, record, severity in found.iter_rows()}

    return of


STOPS = "stops release"
OUT = "RUN-1,out,L-1,liquid,T1,20,20,30,pct_vol_20c,,,distilled"


@pytest.mark.parametrize(
    ("oats", "flags"),
    [("50", {}), ("25", {("recipe-quantity", "oat malt"): STOPS, ("recipe-quantity", "rye malt"): STOPS})],
)
def test_a_mash_by_shares(flags_of, oats, flags) -> None:
    """150 kg and 50 kg are 0.75 and 0.25; with 25 kg they are 0.857 and 0.143, each beyond a tenth of its share."""
    moves = f"""
        RUN-1,in,RYE-M,grain,,,,,,,150,
        RUN-1,in,OAT-M,grain,,,,,,,{oats},
        RUN-1,in,WATER,water,,800,15,,,,,
        RUN-1,out,WORT-1,wort,T1,900,20,,,,,
    """
    assert flags_of("mash", "rye and oats", moves.replace("        ", "").strip()) == flags


def test_a_mash_without_a_grain_of_its_recipe_and_with_another(flags_of) -> None:
    """Oats are missing, and quinces are not listed."""
    moves = "RUN-1,in,RYE-M,grain,,,,,,,150,\nRUN-1,in,QUINCE-1,fruit,,,,,,,50,\nRUN-1,out,WORT-1,wort,T1,900,20,,,,,"

    assert flags_of("mash", "rye and oats", moves) == {
        ("recipe-quantity", "oat malt"): STOPS,
        ("recipe-listed", "quince"): STOPS,
    }


@pytest.mark.parametrize(("sugar_kg", "flags"), [("2", {}), ("1.5", {("recipe-quantity", "beet sugar"): STOPS})])
def test_a_liqueur_by_grams_of_sugar_a_litre(flags_of, sugar_kg, flags) -> None:
    """2 kg in 20 L are 100 g/L; the steep is known by the recipe that it was made by."""
    moves = (
        f"RUN-1,in,STEEP-0,liquid,T1,8,20,75,pct_vol_20c,,,distilled\nRUN-1,in,SUGAR-1,sweetening,,,,,,,{sugar_kg},\n"
    )

    assert flags_of("blend", "quince liqueur", moves + OUT) == flags


def test_a_liqueur_with_a_spirit_that_is_not_listed_and_without_its_steep(flags_of) -> None:
    """What has no quantity must be there too, and a blend names every spirit."""
    moves = f"RUN-1,{SPIRIT.format('RUM-1', 8)}\nRUN-1,in,SUGAR-1,sweetening,,,,,,,2,\n"

    assert flags_of("blend", "quince liqueur", moves + OUT) == {
        ("recipe-charged", "quince steep"): STOPS,
        ("recipe-listed", "old rum"): STOPS,
    }


def test_a_blend_names_every_spirit_even_where_its_recipe_names_none(flags_of) -> None:
    """A recipe with sugar alone makes no blend of rum."""
    moves = f"RUN-1,{SPIRIT.format('RUM-1', 8)}\nRUN-1,in,SUGAR-1,sweetening,,,,,,,2,\n"

    assert flags_of("blend", "sugar alone", moves + OUT) == {("recipe-listed", "old rum"): STOPS}


def test_a_blend_by_shares_of_its_alcohol(flags_of) -> None:
    """9 L and 1 L of one strength are 0.9 and 0.1 where 0.6 and 0.4 are asked; 6 and 4 are right."""
    right = f"RUN-1,{SPIRIT.format('NS-1', 6)}\nRUN-1,{SPIRIT.format('RUM-1', 4)}\n"
    assert flags_of("blend", "two spirits", right + OUT) == {}


def test_a_blend_of_other_shares(flags_of) -> None:
    """Both are beyond a tenth of their share."""
    wrong = f"RUN-1,{SPIRIT.format('NS-1', 9)}\nRUN-1,{SPIRIT.format('RUM-1', 1)}\n"
    assert set(flags_of("blend", "two spirits", wrong + OUT)) == {
        ("recipe-quantity", "neutral spirit"),
        ("recipe-quantity", "old rum"),
    }


def test_a_steep_with_another_spirit_and_sugar_and_without_its_fruit(flags_of) -> None:
    """A recipe that names a spirit names all; fruit without a quantity must be there."""
    moves = f"RUN-1,{SPIRIT.format('RUM-1', 8)}\nRUN-1,in,SUGAR-1,sweetening,,,,,,,2,\n"

    assert flags_of("steep", "quince steep", moves + OUT) == {
        ("recipe-charged", "quince"): STOPS,
        ("recipe-charged", "neutral spirit"): STOPS,
        ("botanical-listed", "old rum"): STOPS,
        ("botanical-listed", "beet sugar"): STOPS,
    }


@pytest.mark.parametrize("recipe", ["", "quince steep", "two spiritz"])
def test_a_run_of_a_stage_with_recipes_names_one_of_them(flags_of, recipe) -> None:
    """No name, the recipe of another stage or a misspelt one: nothing could be compared, and that is said."""
    moves = f"RUN-1,{SPIRIT.format('NS-1', 6)}\n"

    assert flags_of("blend", recipe, moves + OUT) == {("recipe-known", "run RUN-1"): "needs explanation"}
