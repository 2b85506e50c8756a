"""Products of the house profile: where they are sold and what their label says of allergens."""

import pytest
from small_house import HOUSE

from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.house.settings import parse_house


def product(more: str) -> str:
    return (
        f'{HOUSE}\n[[products]]\ncode = "TRIED"\nname = "Tried"\ncategory = "liqueur"\njurisdiction = "EU"\n'
        f"label_strength_pct_vol = 25.0\nnominal_ml = 500.0\n{more}\n"
    )


@pytest.mark.parametrize(
    ("more", "said"),
    [("", None), ("allergens_on_label = []", ()), ('allergens_on_label = ["milk", "nuts"]', ("milk", "nuts"))],
)
def test_a_label_without_allergens_is_not_one_that_nobody_described(more: str, said: tuple[str, ...] | None) -> None:
    """Left out, the profile does not say what the label names; an empty list says that it names none."""
    assert parse_house(product(more), "house.toml").product("TRIED").allergens_on_label == said


def test_markets_beside_the_jurisdiction() -> None:
    """Other places where the product is sold, none where the profile names none."""
    assert parse_house(product('markets = ["CA", "DE"]'), "house.toml").product("TRIED").markets == ("CA", "DE")
    assert parse_house(product(""), "house.toml").product("TRIED").markets == ()


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ('allergens_on_label = ["nut"]', 'product "TRIED": allergens_on_label: "nut" is none of gluten'),
        ('allergens_on_label = "nuts"', "expected a list"),
        ('markets = "CA"', "expected a list"),
    ],
)
def test_what_no_label_names_is_refused(more: str, said: str) -> None:
    """A misspelt allergen would never be found, so it is refused with the names that may be."""
    with pytest.raises(SettingsError, match=said):
        parse_house(product(more), "house.toml")
