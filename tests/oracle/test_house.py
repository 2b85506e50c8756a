"""The house profile as tables, for joins; and what the derived tables were made from."""

import duckdb

from tests.oracle.book_by_hand import BookByHand
from tests.oracle.expectation import Row, covers, expect, in_book

covers("derived.build_state", "fingerprint", "code")


@expect("derived.house_stills", "code")
def test_stills(by_hand: BookByHand) -> list[Row]:
    """Stills of house.toml."""
    names = ("code", "name", "capacity_l", "plates", "log_interval_s")
    stills = (
        ("S1", "Strip still", 2900.0, 8, 60.0),
        ("R1", "Rectifying still", 600.0, 55, 60.0),
        ("G1", "Gin still", 500.0, 3, 60.0),
    )
    return [dict(zip(names, still, strict=True)) for still in stills]


@expect("derived.house_vessels", "code")
def test_vessels(by_hand: BookByHand) -> list[Row]:
    """Vessels of house.toml, and what they are made of."""
    return [
        {"code": code, "material": "oak" if code == "C1" else "stainless steel"}
        for code in ("F1", "H1", "N1", "N2", "D1", "P1", "C1")
    ]


@expect("derived.house_products", "code")
def test_products(by_hand: BookByHand) -> list[Row]:
    """The gin is not macerated: nobody said so."""
    return [{"code": "GIN", "name": "Lane gin", "category": "distilled gin", "jurisdiction": "EU", "macerated": False}]


@expect("derived.house_recipes", "name")
def test_recipes(by_hand: BookByHand) -> list[Row]:
    """What a recipe does not say is NULL."""
    return [
        {
            "name": "lane mash",
            "stage": "mash",
            "fermentability": 0.84,
            "charge_strength_pct_vol": None,
            "steep_days": None,
        },
        {
            "name": "lane gin",
            "stage": "botanical",
            "fermentability": None,
            "charge_strength_pct_vol": 45.0,
            "steep_days": None,
        },
    ]


@expect("derived.house_ingredients", "recipe", "material")
def test_ingredients(by_hand: BookByHand) -> list[Row]:
    """Shares of the mash, grams an LPA of the gin."""
    mash = (("rye malt", 0.78), ("oat malt", 0.22))
    gin = (("juniper berry", 27.0, "dried"), ("coriander seed", 11.0, "dried"), ("lemon peel", 6.5, "fresh"))
    none = {"g_per_lpa": None, "g_per_l": None, "share": None, "condition": None, "fermentability": None}
    return [
        *({**none, "recipe": "lane mash", "material": material, "share": share} for material, share in mash),
        *({**none, "recipe": "lane gin", "material": m, "g_per_lpa": grams, "condition": c} for m, grams, c in gin),
    ]


def test_build_state(oracle_book: duckdb.DuckDBPyConnection) -> None:
    """The tables were made from 12 files, one amendment and the profile's first edition, by the code that checked
    them."""
    (row,) = in_book(oracle_book, "derived.build_state")
    (checked,) = in_book(oracle_book, "flagged.checked_from")
    assert "12 files, 1 amendments, edition 1" in row["fingerprint"]
    assert row["fingerprint"].endswith(row["code"])
    assert row["fingerprint"] == checked["fingerprint"]
