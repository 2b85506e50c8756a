"""Published limits: read from checks/limits/*.toml, offered to the subjects' SQL as tables.

What a text leaves unlimited stays NULL, so that a rule can tell "no limit" from "no value".
"""

import tomllib
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.errors import SettingsError
from pipeline.settings import build

FOLDER = Path(__file__).parent / "limits"


@dataclass(frozen=True)
class AnalyteLimit:
    """Least and most of one analyte in a finished spirit; `below` is a most that itself is too much."""

    unit: str
    least: float | None = None
    most: float | None = None
    below: float | None = None


@dataclass(frozen=True)
class Category:
    """A spirit category as its text defines it; `of` names the raw materials that share the table."""

    name: str
    jurisdiction: str
    citation: str
    least_strength_pct_vol: float
    of: tuple[str, ...] = ()
    distilled_below_pct_vol: float | None = None
    distilled_least_pct_vol: float | None = None
    from_neutral_spirit: bool = False
    laboratory: dict[str, Any] = field(default_factory=dict)
    also: tuple[str, ...] = ()
    confirmed: bool = True

    @property
    def keys(self) -> tuple[str, ...]:
        """The names by which a product names this category."""
        return tuple(f"{self.name} {kind}" for kind in self.of) or (self.name,)


@dataclass(frozen=True)
class StrengthTolerance:
    spirits_pct_vol: float
    macerated_pct_vol: float
    citation: str


@dataclass(frozen=True)
class NominalVolumes:
    allowed_ml: tuple[float, ...]
    from_ml: float
    to_ml: float
    citation: str
    confirmed: bool = True


@dataclass(frozen=True)
class FillPlan:
    """Of this many sampled fills, so many may lie beyond the tolerable negative error."""

    fills: int
    accept: int


@dataclass(frozen=True)
class MethodLimit:
    analyte: str
    unit: str
    repeatability: float
    citation: str
    confirmed: bool = True


@dataclass(frozen=True)
class Limits:
    """All published limits that the rules compare with."""

    categories: tuple[Category, ...]
    strength_tolerance: StrengthTolerance
    nominal_volumes: NominalVolumes
    fill_plans: tuple[FillPlan, ...]
    methods: tuple[MethodLimit, ...]

    def category(self, name: str, jurisdiction: str) -> Category | None:
        """The category of this name, None where no limits are published for it here."""
        return next((c for c in self.categories if name in c.keys and c.jurisdiction == jurisdiction), None)

    def frames(self) -> dict[str, pl.DataFrame]:
        """The limits as tables for SQL: limit_categories, limit_analytes, limit_volumes, limit_fills, limit_methods."""
        named = [(key, category) for category in self.categories for key in category.keys]
        tolerance, volumes = self.strength_tolerance, self.nominal_volumes
        return {
            "limit_categories": pl.DataFrame(
                [_category_row(key, category) for key, category in named], infer_schema_length=None
            ),
            "limit_analytes": pl.DataFrame(
                [row for key, category in named for row in _analyte_rows(key, category)], schema=ANALYTE_COLUMNS
            ),
            "limit_volumes": pl.DataFrame({"allowed_ml": volumes.allowed_ml}).with_columns(
                from_ml=volumes.from_ml, to_ml=volumes.to_ml
            ),
            "limit_fills": pl.DataFrame([vars(plan) for plan in self.fill_plans]),
            "limit_methods": pl.DataFrame([vars(method) for method in self.methods]),
            "limit_label": pl.DataFrame(
                {
                    "macerated": [False, True],
                    "tolerance_pct_vol": [tolerance.spirits_pct_vol, tolerance.macerated_pct_vol],
                }
            ),
        }


ANALYTE_COLUMNS = {
    "category": pl.String, "jurisdiction": pl.String, "analyte": pl.String, "unit": pl.String,
    "least": pl.Float64, "most": pl.Float64, "below": pl.Float64, "citation": pl.String,
}  # fmt: skip


def _category_row(key: str, category: Category) -> dict[str, Any]:
    return {
        "category": key,
        "jurisdiction": category.jurisdiction,
        "least_strength_pct_vol": category.least_strength_pct_vol,
        "distilled_below_pct_vol": category.distilled_below_pct_vol,
        "distilled_least_pct_vol": category.distilled_least_pct_vol,
        "from_neutral_spirit": category.from_neutral_spirit,
        "citation": category.citation,
    }


def _analyte_rows(key: str, category: Category) -> list[dict[str, Any]]:
    named = {"category": key, "jurisdiction": category.jurisdiction, "citation": category.citation}
    return [{**named, "analyte": analyte, **vars(limit)} for analyte, limit in category.laboratory.items()]


@cache
def read_limits(folder: Path = FOLDER) -> Limits:
    """Every published limit.

    Raises
    ------
    SettingsError
        If a file says something that cannot be: an unknown key, no citation, a name twice, least above most.
    """
    label, fill = _table(folder / "label.toml"), _table(folder / "fill.toml")
    categories, methods = _rows(folder, "eu_categories", "categories"), _rows(folder, "methods", "methods")
    limits = Limits(
        categories=tuple(_category(row, "limits/eu_categories.toml") for row in categories),
        strength_tolerance=build(StrengthTolerance, label.get("strength_tolerance"), "limits/label.toml"),
        nominal_volumes=build(NominalVolumes, label.get("nominal_volumes"), "limits/label.toml"),
        fill_plans=tuple(build(FillPlan, row, "limits/fill.toml") for row in fill.get("plans", [])),
        methods=tuple(build(MethodLimit, row, "limits/methods.toml") for row in methods),
    )
    keys = [(key, category.jurisdiction) for category in limits.categories for key in category.keys]
    twice = next((key for key in keys if keys.count(key) > 1), None)
    if twice:
        raise SettingsError(f'limits/eu_categories.toml: the category "{twice[0]}" stands there twice.')
    return limits


def _category(row: dict[str, Any], where: str) -> Category:
    where = f"{where}: {row.get('name', 'a category without a name')}"
    category: Category = build(Category, row, where)
    if not category.citation.strip():
        raise SettingsError(f"{where}: the citation is empty; name the article or annex.")
    analytes = {
        name: build(AnalyteLimit, limit, f"{where}: laboratory.{name}") for name, limit in category.laboratory.items()
    }
    for name, limit in analytes.items():
        if limit.least is None and limit.most is None and limit.below is None:
            raise SettingsError(f"{where}: laboratory.{name} gives none of least, most and below.")
        if limit.least is not None and limit.most is not None and limit.least > limit.most:
            raise SettingsError(f"{where}: laboratory.{name}: least {limit.least:g} is above most {limit.most:g}.")
    return replace(category, laboratory=analytes)


def _rows(folder: Path, file: str, key: str) -> list[dict[str, Any]]:
    rows = _table(folder / f"{file}.toml").get(key, [])
    if not isinstance(rows, list) or not rows:
        raise SettingsError(f"limits/{file}.toml: [[{key}]] is missing.")
    return rows


def _table(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise SettingsError(f"limits/{path.name}: cannot be read: {error}.") from error
