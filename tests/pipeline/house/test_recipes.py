"""Recipes that the house profile may hold, and those that are refused because no rule would look at them."""

import pytest
from small_house import HOUSE

from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.house.settings import parse_house


def recipe(text: str) -> str:
    return f'{HOUSE}\n[[recipes]]\nname = "tried"\n{text}\n'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('stage = "blend"', "no rule would look at it"),
        ('stage = "liqueur"', 'stage "liqueur" is none of mash'),
        ('stage = "blend"\nsteep_days = 7.0\ningredients = [{ material = "rum" }]', "no rule looks at steep_days"),
        ('stage = "steep"\nfermentability = 0.9\ningredients = [{ material = "quince" }]', "no rule looks at ferment"),
        ('stage = "mash"\ncharge_strength_pct_vol = 9.0', "no rule looks at charge_strength_pct_vol"),
        ('stage = "mash"\ningredients = [{ material = "rye", g_per_lpa = 3.0 }]', "g_per_lpa needs alcohol"),
        ('stage = "steep"\ningredients = [{ material = "rye", share = 0.3 }]', "a share is of a mash or a blend"),
        ('stage = "blend"\ningredients = [{ material = "sugar", g_per_l = 3.0, share = 0.3 }]', "give one of them"),
        ('stage = "blend"\ningredients = [{ material = "sugar", g_per_l = 0.0 }]', "must be above 0"),
        ('stage = "blend"\ningredients = [{ material = "rum" }, { material = "rum" }]', "listed twice"),
        (
            'stage = "mash"\ningredients = [{ material = "a", share = 0.7 }, { material = "b", share = 0.4 }]',
            "more than 1",
        ),
        ('stage = "mash"\ningredients = [{ material = "a", share = 0.7 }, { material = "b", share = 0.2 }]', "of 1"),
        ('stage = "blend"\ningredients = [{ material = "sugar", grams = 3.0 }]', 'unknown key "grams"'),
    ],
)
def test_a_recipe_that_no_rule_looks_at_is_refused(text: str, said: str) -> None:
    """The profile is not read, and the sentence names recipe, key and what to do."""
    with pytest.raises(SettingsError, match=said) as refused:
        parse_house(recipe(text), "house.toml")
    assert "house.toml" in str(refused.value)


@pytest.mark.parametrize(
    "text",
    [
        'stage = "mash"\ningredients = [{ material = "rye", share = 0.75 }, { material = "oats", share = 0.25 }]',
        'stage = "mash"\nfermentability = 0.85',
        'stage = "steep"\nsteep_days = 7.0\ningredients = [{ material = "quince", g_per_lpa = 600.0 }]',
        'stage = "blend"\ningredients = [{ material = "rum" }, { material = "sugar", g_per_l = 120.0 }]',
        'stage = "bottle"\ningredients = [{ material = "rum" }]',
    ],
)
def test_a_recipe_of_any_stage_is_read(text: str) -> None:
    """Shares, grams and mere lists, in whichever stage a rule can compare them."""
    assert parse_house(recipe(text), "house.toml").recipe("tried") is not None
