"""Of which type a spirit is, by its name or by the mash bill of its recipe; recipes and lots are made up."""

from datetime import date

import pytest

from gaugebook.checks.evaluation.spirit_kinds import Answer, of_one_kind, of_one_type
from gaugebook.checks.evaluation.spirit_sources import Source
from gaugebook.checks.rulebook.published_limits import read_limits
from gaugebook.pipeline.house.recipes import Ingredient, Recipe

ON = date(2026, 3, 1)


def recipe(name, **shares):
    return Recipe(name, "mash", ingredients=tuple(Ingredient(grain, share=share) for grain, share in shares.items()))


CORN = recipe("CORN", corn=0.72, rye=0.28)
WHEATED = recipe("WHEATED", corn=0.7, wheat=0.3)
RYE = recipe("RYE", corn=0.2, rye=0.8)
BLIND = recipe("BLIND", **{"house blend": 1.0})


def of_recipes(lot, *recipes):
    return Source(lot, 1.0, recipes=recipes)


@pytest.mark.parametrize(
    ("source", "shown"),
    [
        (of_recipes("N", (CORN, 1.0)), "yes"),
        (of_recipes("N", (CORN, 0.4), (WHEATED, 0.6)), "yes"),  # both at least 51 % corn: 27 CFR 5.143(c)(2)
        (of_recipes("N", (CORN, 0.8), (RYE, 0.2)), "yes"),  # feints of the run before
        (of_recipes("N", (CORN, 0.2), (RYE, 0.8)), "no"),
        (of_recipes("N", (CORN, 0.5), (RYE, 0.5)), None),
        (of_recipes("N", (BLIND, 1.0)), None),
        (of_recipes("N"), None),
        (Source("N", 1.0, ("bourbon",)), "yes"),
        (Source("N", 1.0, ("bourbon", "rye")), None),
        (Source("N", 1.0, ("whisky distilled from bourbon mash",)), "no"),
        (Source("N", 1.0, ("whisky",)), None),
        (Source("N", 1.0, ("grain",), is_neutral=True), "no"),
    ],
)
def test_each_spirit_is_of_the_type_or_is_not_or_the_record_does_not_say(source, shown):
    """Of a straight bourbon, beside a spirit that is one."""
    answer = of_one_type([of_recipes("GOOD", (CORN, 1.0)), source], "bourbon whisky", read_limits(), ON)

    assert answer.shown == shown
    assert shown == "yes" or "N" in (answer.why or "").split(" by ")[-1].split(" of ")[-1]


def test_nothing_behind_it_shows_nothing():
    """A batch without any spirit on record."""
    assert of_one_type([], "bourbon whisky", read_limits(), ON).shown is None
    assert of_one_kind([], read_limits(), ON).shown is None


@pytest.mark.parametrize(
    ("sources", "shown"),
    [
        ([Source("A", 0.5, ("rum",)), Source("B", 0.5, ("Rum",))], "yes"),
        ([Source("A", 0.5, ("rum",)), Source("B", 0.5, ("brandy",))], "no"),
        ([Source("A", 0.5, ("rum",)), Source("B", 0.5, ("old spirit",))], None),
        ([Source("A", 0.5, ("whisky",))], None),
        ([of_recipes("A", (CORN, 1.0)), of_recipes("B", (CORN, 1.0))], "yes"),
        ([of_recipes("A", (CORN, 1.0)), of_recipes("B", (WHEATED, 1.0))], None),
        ([of_recipes("A", (CORN, 1.0)), Source("B", 0.5, ("rum",))], None),
        ([of_recipes("A")], None),
    ],
)
def test_one_kind_of_whichever_is_shown_by_one_name_or_one_recipe(sources, shown):
    """27 CFR 5.88(a)(1), of a class without a mash bill."""
    assert of_one_kind(sources, read_limits(), ON).shown == shown


def test_the_lots_of_each_kind_are_named():
    """What to look at first."""
    sources = [Source("A", 0.5, ("rum",)), Source("B", 0.5, ("brandy",))]

    assert of_one_kind(sources, read_limits(), ON) == Answer("no", "brandy: B; rum: A")
