"""Contaminants: what a spirit may hold where it is sold. A limit is law; a target asks for effort and stops nothing."""

from collections.abc import Container, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import polars as pl

from gaugebook.checks.rulebook.published_limits import FOLDER, Limits
from gaugebook.checks.rulebook.toml_location import build_at, tables
from gaugebook.pipeline.errors import SettingsError

STANDINGS = ("limit", "target")


@dataclass(frozen=True)
class ContaminantLimit:
    """Most of a contaminant in the finished spirit; `of` names categories, none of them where it is of all others."""

    analyte: str
    jurisdiction: str
    most_ug_kg: float
    standing: str
    citation: str
    of: tuple[str, ...] = ()
    confirmed: bool = True


def read_contaminants(folder: Path = FOLDER) -> tuple[ContaminantLimit, ...]:
    """Every limit and target of a contaminant.

    Raises
    ------
    SettingsError
        If one is neither limit nor target; the sentence names file and line.
    """
    limits = []
    for table, place in tables(folder / "contaminants.toml", "limits/contaminants.toml", "contaminants", "analyte"):
        limit: ContaminantLimit = build_at(ContaminantLimit, table, place)
        if limit.standing not in STANDINGS:
            raise SettingsError(f'{place.at("standing")}: "{limit.standing}" is none of {", ".join(STANDINGS)}.')
        limits.append(limit)
    return tuple(limits)


def limits_of(
    contaminants: Iterable[ContaminantLimit], names: Container[str], market: str
) -> dict[str, ContaminantLimit]:
    """What a market asks of a category, by its names: of each analyte the limit that names it, else that of all others.

    Examples
    --------
    >>> contaminants = read_contaminants()
    >>> limits_of(contaminants, {"fruit spirit", "fruit spirit pear"}, "CA")["ethyl_carbamate"].most_ug_kg
    400.0
    >>> limits_of(contaminants, {"gin"}, "CA")["ethyl_carbamate"].most_ug_kg
    150.0
    """
    of_all = {limit.analyte: limit for limit in contaminants if limit.jurisdiction == market and not limit.of}
    named = {
        limit.analyte: limit
        for limit in contaminants
        if limit.jurisdiction == market and any(name in names for name in limit.of)
    }
    return of_all | named


def contaminant_frame(limits: Limits, folder: Path = FOLDER) -> pl.DataFrame:
    """The limits as a table for SQL: one row a category of any jurisdiction, market and analyte."""
    contaminants = read_contaminants(folder)
    markets = sorted({limit.jurisdiction for limit in contaminants})
    named = {(key, category.jurisdiction): category for category in limits.categories for key in category.keys}
    return pl.DataFrame(
        [
            {"category": key, "jurisdiction": jurisdiction, "market": market, **_columns(limit)}
            for (key, jurisdiction), category in named.items()
            for market in markets
            for limit in limits_of(contaminants, {key, category.name}, market).values()
        ]
    )


def _columns(limit: ContaminantLimit) -> dict[str, Any]:
    standing = limit.standing if limit.confirmed else "from memory"
    return {"analyte": limit.analyte, "most_ug_kg": limit.most_ug_kg, "standing": standing}
