"""Casks filled too strong for the class that their spirit is meant for, told when they are filled and not years later.

What a filling is meant for is the product that its run names, else each product of the house whose mash bill the recipe
behind most of its alcohol has; in the opening stock, the class that the material is called by. What none of these says
is not asked; nor is a class whose text was not read.
"""

from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from gaugebook.checks.rulebook.category_names import folded
from gaugebook.checks.rulebook.materials import Grain, read_grains
from gaugebook.checks.rulebook.maturation import Maturation, requirements_of
from gaugebook.checks.rulebook.published_limits import Limits
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.lineage import traced_back
from gaugebook.pipeline.house.products import Product
from gaugebook.pipeline.house.recipes import Recipe
from gaugebook.pipeline.house.settings import House

SCHEMA = {
    "contents": pl.String, "entry_pct_vol": pl.Float64, "u_entry_pct_vol": pl.Float64,
    "entry_most_pct_vol": pl.Float64, "meant_for": pl.String, "citation": pl.String, "source_id": pl.Int32,
    "line": pl.Int32,
}  # fmt: skip
MOST_OF_IT = 0.5  # of a filling's alcohol: feints bring a little of other mashes into it
HERE = Path(__file__).parent


def entry_limits(book: Book, house: House, limits: Limits) -> pl.DataFrame:
    """One row a filling whose class has a greatest strength at entry: that strength, and the least of such limits."""
    if not any(_limits_of(product, None, limits) for product in house.products):
        return pl.DataFrame(schema=SCHEMA)
    fillings = book.frame((HERE / "cask_entries.sql").read_text(encoding="utf-8"))
    recipes, grains = _recipes_behind(book, fillings), read_grains()
    strictest: dict[tuple[Any, ...], Maturation | None] = {}  # the fillings of a day are of few kinds
    rows = []
    for filling in fillings.to_dicts():
        recipe = house.recipe(recipes.get(filling["contents"]))
        kind = (filling["product"], filling["material"], recipe and recipe.name, filling["filled_on"])
        if kind not in strictest:
            asked = _asked(house.products, filling, recipe, limits, grains)
            strictest[kind] = min(asked, key=lambda item: (item.entry_most_proof, item.category), default=None)
        if (item := strictest[kind]) is not None:
            rows.append(_row(filling, item, recipe))
    return pl.DataFrame(rows, schema=SCHEMA)


def has_bill_of(recipe: Recipe, grain_least: Mapping[str, float], grains: Iterable[Grain]) -> bool:
    """Whether a recipe's shares meet the mash bill of a class; one that asks no grain is met by none in particular.

    The only ingredient of a recipe is all of it.

    Examples
    --------
    >>> from gaugebook.pipeline.house.recipes import Ingredient
    >>> recipe = Recipe("B", "mash", ingredients=(Ingredient("yellow corn", share=0.72), Ingredient("rye", share=0.28)))
    >>> [has_bill_of(recipe, {grain: 0.51}, read_grains()) for grain in ("corn", "rye")]
    [True, False]
    """
    words = {grain.grain: [set(folded(name).split()) for name in grain.materials] for grain in grains}
    whole = 1.0 if len(recipe.ingredients) == 1 else 0.0
    return bool(grain_least) and all(
        sum(
            whole if item.share is None else item.share
            for item in recipe.ingredients
            if any(name <= set(folded(item.material).split()) for name in words.get(grain, []))
        )
        >= least
        for grain, least in grain_least.items()
    )


def _asked(
    products: Iterable[Product],
    filling: Mapping[str, Any],
    recipe: Recipe | None,
    limits: Limits,
    grains: Iterable[Grain],
) -> list[Maturation]:
    """Every greatest strength at entry that what the filling is meant for has."""
    on = filling["filled_on"]
    if filling["product"] is not None:
        meant = [product for product in products if product.code == filling["product"]]
    elif recipe is not None:
        meant = [product for product in products if has_bill_of(recipe, _grain_least(product, on, limits), grains)]
    else:
        names = {filling["material"], f"{filling['material']} whisky"} if filling["material"] else set()
        places = {product.jurisdiction for product in products}
        return [item for name in names for place in places for item in _limits_of_class(name, place, on, limits)]
    return [item for product in meant for item in _limits_of(product, on, limits)]


def _grain_least(product: Product, on: date, limits: Limits) -> Mapping[str, float]:
    category = limits.category(product.category, product.jurisdiction, on)
    return {} if category is None else category.grain_least


def _limits_of(product: Product, on: date | None, limits: Limits) -> list[Maturation]:
    return _limits_of_class(product.category, product.jurisdiction, on, limits)


def _limits_of_class(name: str, jurisdiction: str, on: date | None, limits: Limits) -> list[Maturation]:
    asked = requirements_of(limits, name, jurisdiction, on)
    return [item for item in asked if item.entry_most_proof is not None and item.confirmed]


def _recipes_behind(book: Book, fillings: pl.DataFrame) -> dict[str, str]:
    """The recipe of the mash behind most of each filling's alcohol."""
    steps = book.frame("SELECT * FROM derived.steps WHERE into_rank IS NOT NULL ORDER BY into_rank, run, lot, into_lot")
    mashes = book.frame("SELECT run, recipe FROM derived.runs WHERE stage = 'mash' AND recipe IS NOT NULL")
    if fillings.is_empty() or steps.is_empty() or mashes.is_empty():
        return {}
    behind = traced_back(steps, fillings.select(batch="contents", alcohol_l="alcohol_l"))
    shares = behind.join(mashes, on="run").group_by("batch", "recipe").agg(pl.col("share").sum())
    return dict(shares.filter(pl.col("share") > MOST_OF_IT).select("batch", "recipe").iter_rows())


def _row(filling: dict[str, Any], asked: Maturation, recipe: Recipe | None) -> dict[str, Any]:
    if filling["product"]:
        by = f"product {filling['product']}"
    else:
        by = f"recipe {recipe.name}" if recipe is not None else str(filling["material"])
    return {name: filling[name] for name in SCHEMA.keys() & filling.keys()} | {
        "entry_most_pct_vol": asked.entry_most_pct_vol,
        "meant_for": f"{by}: {asked.category}, at most {asked.entry_most_proof:g} proof",
        "citation": asked.citation,
    }
