"""What materials of intake are by law, by the words of their names: grains of a mash bill, and allergens.

A name holds another where it has all its words: "organic rye malt" is a rye malt. A name under which a house keeps a
material of its own ("house blend") says neither, and then the record does not show it.
"""

from dataclasses import dataclass
from pathlib import Path

import polars as pl

from gaugebook.checks.rulebook.category_names import folded
from gaugebook.checks.rulebook.published_limits import FOLDER
from gaugebook.checks.rulebook.toml_location import build_at, tables
from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.house.products import ALLERGENS


@dataclass(frozen=True)
class Grain:
    """A grain that mash bills are asked for, and the names of materials that are it."""

    grain: str
    materials: tuple[str, ...]


@dataclass(frozen=True)
class Allergen:
    """Materials with a substance that the label must name. Keys as in checks/limits/allergens.toml."""

    allergen: str
    jurisdiction: str
    materials: tuple[str, ...]
    citation: str
    unless: tuple[str, ...] = ()
    distillates_exempt: bool = False
    by_amount: bool = False


def read_grains(folder: Path = FOLDER) -> tuple[Grain, ...]:
    """The grains of mash bills."""
    grains = tables(folder / "grains.toml", "limits/grains.toml", "grains", "grain")
    return tuple(build_at(Grain, table, place) for table, place in grains)


def read_allergens(folder: Path = FOLDER) -> tuple[Allergen, ...]:
    """Allergens by material.

    Raises
    ------
    SettingsError
        If one is none of the fourteen; the sentence names file and line.
    """
    allergens = []
    for table, place in tables(folder / "allergens.toml", "limits/allergens.toml", "allergens", "allergen"):
        allergen: Allergen = build_at(Allergen, table, place)
        if allergen.allergen not in ALLERGENS:
            raise SettingsError(f'{place.at("allergen")}: "{allergen.allergen}" is none of {", ".join(ALLERGENS)}.')
        allergens.append(allergen)
    return tuple(allergens)


def material_frames(folder: Path = FOLDER) -> dict[str, pl.DataFrame]:
    """Grains and allergens as tables for SQL, one row a name of a material, its words as a list."""
    return {
        "limit_grains": pl.DataFrame(
            [
                {"grain": grain.grain, "words": folded(name).split()}
                for grain in read_grains(folder)
                for name in grain.materials
            ]
        ),
        "limit_allergens": pl.DataFrame(
            [
                {"allergen": item.allergen, "jurisdiction": item.jurisdiction, "words": folded(name).split(),
                 "unless": list(item.unless), "distillates_exempt": item.distillates_exempt,
                 "by_amount": item.by_amount}
                for item in read_allergens(folder)
                for name in item.materials
            ]
        ),
    }  # fmt: skip
