"""Whether all of a batch is of one type of spirit: straight whiskies and bottled in bond ask it (27 CFR 5.143, 5.88).

Spirit that was bought or stood there is of the type that its material is called by; spirit of the house is of the type
whose mash bill its recipe has. What neither says is not known: not shown, and never passed.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from gaugebook.checks.evaluation.spirit_sources import Source
from gaugebook.checks.rulebook.category_names import folded
from gaugebook.checks.rulebook.materials import Grain, read_grains
from gaugebook.checks.rulebook.maturation import requirements_of
from gaugebook.checks.rulebook.published_limits import Limits
from gaugebook.pipeline.house.recipes import Recipe

NEUTRAL = "neutral spirits"
GENERAL = "whisky"  # the class of all whiskies: a spirit called by it alone may be of any type
MOST_OF_IT = 0.5  # of what a still run made: feints bring a little of other mashes into it
ANY_SPIRIT = "spirit"  # as a house calls what it has not named; "spirit whisky" is a class
US = "US"


@dataclass(frozen=True)
class Answer:
    """Yes, no or None for not shown, and why."""

    shown: str | None
    why: str | None


def type_of(name: str, limits: Limits, on: date) -> str | None:
    """The type of whisky, or the class, that a name of the United States says; None where it says none.

    >>> from gaugebook.checks.rulebook.published_limits import read_limits
    >>> [type_of(name, read_limits(), date(2026, 1, 1)) for name in ("Bourbon", "straight rye whiskey", "new make")]
    ['bourbon whisky', 'rye whisky', None]
    """
    if folded(name) == ANY_SPIRIT:
        return None
    own = limits.category_name(name, US) or limits.category_name(f"{name} whisky", US)
    if own is None:
        return None
    return next((item.one_type for item in requirements_of(limits, own, US, on) if item.one_type), own)


def of_one_type(sources: Sequence[Source], wanted: str, limits: Limits, on: date) -> Answer:
    """Whether every spirit is of the type that is wanted, by its name or its mash bill."""
    category = limits.category(wanted, US, on)
    grain_least = {} if category is None else category.grain_least
    answers = {source.lot: _is_of(source, wanted, grain_least, limits, on) for source in sources}
    others = [source for source in sources if answers[source.lot] is False]
    unknown = [source.lot for source in sources if answers[source.lot] is None]
    if others:
        return Answer("no", "broken by " + _some([f"{source.lot} ({_called(source)})" for source in others]))
    if unknown or not sources:
        return Answer(None, "of which type is not on record of " + (_some(unknown) or "its spirit"))
    return Answer("yes", None)


def of_one_kind(sources: Sequence[Source], limits: Limits, on: date) -> Answer:
    """Whether all spirits are of one kind, whichever: by their names, or of one recipe of the house."""
    named = {source.lot: _named(source, limits, on) for source in sources if source.materials or source.is_neutral}
    kinds = {kind for kind in named.values() if kind is not None}
    if len(kinds) > 1:
        return Answer(
            "no", "; ".join(f"{kind}: {_some([k for k, v in named.items() if v == kind])}" for kind in sorted(kinds))
        )
    recipes = {tuple(recipe.name for recipe, _ in source.recipes) for source in sources if source.lot not in named}
    alike = len(kinds) + len(recipes) == 1 and None not in named.values() and all(len(names) == 1 for names in recipes)
    if alike and kinds != {GENERAL}:
        return Answer("yes", None)
    return Answer(None, "that all of it is of one kind is not on record: " + _some([source.lot for source in sources]))


def has_bill(recipe: Recipe, grain_least: dict[str, float], grains: Iterable[Grain]) -> bool | None:
    """Whether a recipe has the shares of grain that a type asks; None where materials that no list knows decide it.

    >>> from gaugebook.pipeline.house.recipes import Ingredient
    >>> bill = (Ingredient("corn", share=0.6), Ingredient("house blend", share=0.4))
    >>> [has_bill(Recipe("B", "mash", ingredients=bill), {grain: 0.35}, read_grains()) for grain in ("corn", "rye")]
    [True, None]
    """
    words = {grain.grain: [set(folded(name).split()) for name in grain.materials] for grain in grains}
    whole = 1.0 if len(recipe.ingredients) == 1 else 0.0
    shares = [
        (set(folded(item.material).split()), whole if item.share is None else item.share) for item in recipe.ingredients
    ]
    every = [names for of_grain in words.values() for names in of_grain]
    unknown = sum(share for material, share in shares if not any(names <= material for names in every))
    sure = {
        grain: sum(share for material, share in shares if any(names <= material for names in words.get(grain, [])))
        for grain in grain_least
    }
    if all(sure[grain] >= least for grain, least in grain_least.items()):
        return True
    return False if any(sure[grain] + unknown < least for grain, least in grain_least.items()) else None


def _is_of(source: Source, wanted: str, grain_least: dict[str, float], limits: Limits, on: date) -> bool | None:
    if source.materials or source.is_neutral:
        kind = _named(source, limits, on)
        return None if kind in (None, GENERAL) and kind != wanted else kind == wanted
    if not grain_least:
        return None
    grains = read_grains()
    shares = dict.fromkeys((True, False, None), 0.0)
    for recipe, share in source.recipes:
        shares[has_bill(recipe, grain_least, grains)] += share
    return next((answer for answer in (True, False) if shares[answer] > MOST_OF_IT), None)


def _named(source: Source, limits: Limits, on: date) -> str | None:
    """The type that its names say, where they say one."""
    if source.is_neutral:
        return NEUTRAL
    kinds = {type_of(material, limits, on) for material in source.materials}
    return kinds.pop() if len(kinds) == 1 else None


def _called(source: Source) -> str:
    return ", ".join(source.materials or [recipe.name for recipe, _ in source.recipes])


def _some(names: list[str], most: int = 4) -> str:
    return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")
