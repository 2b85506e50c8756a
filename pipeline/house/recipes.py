"""Recipes of the house profile: what a run of a stage is charged with, and how much of it."""

from collections.abc import Iterable
from dataclasses import dataclass

STAGES = (
    "mash", "ferment", "strip", "rectify", "botanical", "steep", "filter", "fill", "dump", "blend", "reduce", "bottle",
)  # fmt: skip
BEFORE_ALCOHOL = ("mash", "ferment")
WITH_SHARES = ("mash", "blend")
QUANTITIES = ("g_per_lpa", "g_per_l", "share")
# What else a recipe may ask, and the stages in which something looks at it.
ASKED_IN = {
    "fermentability": BEFORE_ALCOHOL,
    "charge_strength_pct_vol": ("botanical", "steep"),
    "steep_days": ("steep",),
}
SHARES_TOGETHER = 0.005  # shares are written with two or three decimals


@dataclass(frozen=True)
class Ingredient:
    """What a recipe lists; it must be charged, in its quantity where one is given.

    Attributes
    ----------
    material : str
        Material as it was received; of a lot made in the house the recipe or product it was made as, or its part
    g_per_lpa : float or None
        Grams for each litre of pure alcohol charged
    g_per_l : float or None
        Grams for each litre of what the run makes, at 20 °C, such as sugar in a liqueur
    share : float or None
        In a mash of the mass of all grain, fruit and sugar charged, in a blend of the litres of pure alcohol; 0 to 1
    condition : str or None
        Fresh, dried or frozen
    fermentability : float or None
        Share of the extract or sugar of this material that ferments, where it is not that of the recipe; 0 to 1
    """

    material: str
    g_per_lpa: float | None = None
    g_per_l: float | None = None
    share: float | None = None
    condition: str | None = None
    fermentability: float | None = None

    @property
    def quantities(self) -> list[str]:
        return [name for name in QUANTITIES if getattr(self, name) is not None]


@dataclass(frozen=True)
class Recipe:
    """A recipe as the profile has it.

    Attributes
    ----------
    fermentability : float or None
        Share of what may ferment that does in this house: of extract and soluble solids, and of the sugar or starch
        of a certificate; 0 to 1. Where it is not given, nothing is predicted
    """

    name: str
    stage: str
    fermentability: float | None = None
    charge_strength_pct_vol: float | None = None
    steep_days: float | None = None
    ingredients: tuple[Ingredient, ...] = ()


def contradictions(recipes: Iterable[Recipe]) -> list[str]:
    """What cannot be of each recipe, or what no rule would look at, a sentence each without its full stop.

    >>> contradictions([Recipe("gin", "botanical", steep_days=7.0, ingredients=(Ingredient("juniper berry"),))])
    ['recipe "gin": no rule looks at steep_days in the stage "botanical"; it belongs to steep']
    """
    return [
        f'recipe "{recipe.name}": {fault}' for recipe in recipes for fault in (*_of_recipe(recipe), *_of_shares(recipe))
    ]


def _of_recipe(recipe: Recipe) -> Iterable[str]:
    if recipe.stage not in STAGES:
        yield f'stage "{recipe.stage}" is none of {", ".join(STAGES)}'
        return
    for key, stages in ASKED_IN.items():
        if getattr(recipe, key) is not None and recipe.stage not in stages:
            yield f'no rule looks at {key} in the stage "{recipe.stage}"; it belongs to {", ".join(stages)}'
    if not recipe.ingredients and all(getattr(recipe, key) is None for key in ASKED_IN):
        yield "it lists no ingredients, so no rule would look at it; list what is charged"
    materials = [item.material for item in recipe.ingredients]
    for material in sorted({name for name in materials if materials.count(name) > 1}):
        yield f'"{material}" is listed twice; give it one line'
    for item in recipe.ingredients:
        yield from _of_ingredient(item, recipe.stage)


def _of_ingredient(item: Ingredient, stage: str) -> Iterable[str]:
    if len(item.quantities) > 1:
        yield f'"{item.material}" has {" and ".join(item.quantities)}; give one of them'
    for name in item.quantities:
        if not getattr(item, name) > 0:
            yield f'"{item.material}": {name} must be above 0; leave it out where any quantity will do'
    if item.g_per_lpa is not None and stage in BEFORE_ALCOHOL:
        yield f'"{item.material}": g_per_lpa needs alcohol, and a {stage} is charged with none; give g_per_l or a share'
    if item.fermentability is not None and not (stage in BEFORE_ALCOHOL and 0 < item.fermentability <= 1):
        yield f'"{item.material}": fermentability is a share, above 0 to 1, of what a mash or a ferment is fed'
    if item.share is not None and stage not in WITH_SHARES:
        yield f'"{item.material}": a share is of a mash or a blend; in the stage "{stage}" give g_per_lpa or g_per_l'


def _of_shares(recipe: Recipe) -> Iterable[str]:
    shares = [item.share for item in recipe.ingredients if item.share is not None]
    total = sum(shares)
    if total > 1.0 + SHARES_TOGETHER:
        yield f"its shares are {total:g} together, more than 1"
    elif shares and len(shares) == len(recipe.ingredients) and total < 1.0 - SHARES_TOGETHER:
        yield f"its shares are {total:g} together; give shares of 1, or leave out one"
