"""What SQL needs of the house profile, as tables derived.house_*."""

import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.derivation import Derivation
from gaugebook.pipeline.house.settings import House


def house_tables(book: Book, house: House) -> None:
    """Stills, vessels, products and recipes with their ingredients as tables; the zone in which months begin."""
    book.execute(f"SET VARIABLE house_zone = '{house.time_zone}'")  # a checked IANA name, so no quote can be in it
    stills = [(still.code, still.name, still.capacity_l, still.plates, still.log_interval_s) for still in house.stills]
    products = [(p.code, p.name, p.category, p.jurisdiction, p.macerated) for p in house.products]
    vessels = [(vessel.code, vessel.material) for vessel in house.vessels]
    recipes = [(r.name, r.stage, r.fermentability, r.charge_strength_pct_vol, r.steep_days) for r in house.recipes]
    ingredients = [
        (recipe.name, item.material, item.g_per_lpa, item.g_per_l, item.share, item.condition, item.fermentability)
        for recipe in house.recipes
        for item in recipe.ingredients
    ]
    text, number, integer = pl.String, pl.Float64, pl.Int32
    tables: dict[str, tuple[list[tuple], dict[str, type[pl.DataType]]]] = {
        "stills": (
            stills,
            {"code": text, "name": text, "capacity_l": number, "plates": integer, "log_interval_s": number},
        ),
        "vessels": (vessels, {"code": text, "material": text}),
        "products": (
            products,
            {"code": text, "name": text, "category": text, "jurisdiction": text, "macerated": pl.Boolean},
        ),
        "recipes": (
            recipes,
            {
                "name": text,
                "stage": text,
                "fermentability": number,
                "charge_strength_pct_vol": number,
                "steep_days": number,
            },
        ),
        "ingredients": (
            ingredients,
            {
                "recipe": text,
                "material": text,
                "g_per_lpa": number,
                "g_per_l": number,
                "share": number,
                "condition": text,
                "fermentability": number,
            },
        ),
    }
    for name, (rows, schema) in tables.items():
        with book.with_temp_view("house_rows", pl.DataFrame(rows, schema=schema, orient="row")):
            book.execute(f"CREATE OR REPLACE TABLE derived.house_{name} AS SELECT * FROM house_rows")


HOUSE_TABLES = Derivation(
    house_tables,
    made_from=(),
    makes=(
        "derived.house_stills", "derived.house_vessels", "derived.house_products", "derived.house_recipes",
        "derived.house_ingredients", "house_zone",
    ),
)  # fmt: skip
