"""Published limits: read from checks/limits/*.toml, offered to the subjects' SQL as tables.

What a text leaves unlimited stays NULL, so that a rule can tell "no limit" from "no value". Where law changed, a limit
is in force from one date to before another, and a batch meets the law of the day on which it was bottled.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time
from functools import cache
from pathlib import Path
from typing import Any

import polars as pl

from gaugebook.checks.rulebook.category_names import names_by_jurisdiction, own_name
from gaugebook.checks.rulebook.toml_location import TomlLocation, build_at, tables
from gaugebook.pipeline.engineering.us_proof import strength_from_us_proof
from gaugebook.pipeline.errors import SettingsError

FOLDER = Path(__file__).parents[1] / "limits"


@dataclass(frozen=True)
class AnalyteLimit:
    """Least and most of one analyte in a finished spirit; `below` is a most that itself is too much. A most that is
    not confirmed in the text is told and never stops a release."""

    unit: str
    least: float | None = None
    most: float | None = None
    below: float | None = None
    confirmed: bool = True

    @property
    def columns(self) -> dict[str, Any]:
        """The limit as columns for SQL: what is confirmed, and beside it a most from memory."""
        most, from_memory = (self.most, None) if self.confirmed else (None, self.most)
        return {
            "unit": self.unit, "least": self.least, "most": most, "below": self.below, "most_from_memory": from_memory,
        }  # fmt: skip


ALWAYS = (date(1, 1, 1), date(9999, 12, 31))


class Dated:
    """What is in force from a date (included) until another (not included)."""

    in_force_from: date | None
    in_force_until: date | None

    @property
    def dates(self) -> tuple[date, date]:
        return self.in_force_from or ALWAYS[0], self.in_force_until or ALWAYS[1]

    @property
    def validity(self) -> dict[str, datetime]:
        """The dates as columns for SQL."""
        return {
            name: datetime.combine(day, time())
            for name, day in zip(("valid_from", "valid_until"), self.dates, strict=True)
        }


@dataclass(frozen=True)
class Category(Dated):
    """A spirit category as its text defines it; `of` names the raw materials that share the table, `grain_least` the
    least share of each grain in its mash. Keys as in checks/limits/eu_categories.toml and us_classes.toml."""

    name: str
    jurisdiction: str
    citation: str
    least_strength_pct_vol: float
    most_strength_pct_vol: float | None = None
    of: tuple[str, ...] = ()
    distilled_below_pct_vol: float | None = None
    distilled_most_pct_vol: float | None = None
    distilled_least_pct_vol: float | None = None
    distilled_above_pct_vol: float | None = None
    grain_least: dict[str, float] = field(default_factory=dict)
    sugar_least_pct_mass: float | None = None
    additions: str | None = None
    from_neutral_spirit: bool = False
    is_neutral_spirit: bool = False
    laboratory: dict[str, Any] = field(default_factory=dict)
    also: tuple[str, ...] = ()
    in_force_from: date | None = None
    in_force_until: date | None = None

    @property
    def keys(self) -> tuple[str, ...]:
        """The names by which a product names this category."""
        return tuple(f"{self.name} {kind}" for kind in self.of) or (self.name,)


@dataclass(frozen=True)
class StrengthTolerance:
    """How far the strength may lie from the label's."""

    jurisdiction: str
    spirits_pct_vol: float
    macerated_pct_vol: float
    citation: str


@dataclass(frozen=True)
class NominalVolumes(Dated):
    """The sizes that bottles may have, between two sizes that the list binds; a list that was not read in the law's own
    text is told and never stops a release."""

    jurisdiction: str
    allowed_ml: tuple[float, ...]
    from_ml: float
    to_ml: float
    citation: str
    confirmed: bool = True
    in_force_from: date | None = None
    in_force_until: date | None = None


@dataclass(frozen=True)
class FillVariation:
    """How far any one bottle may lie from its nominal volume, either way, from a size on."""

    jurisdiction: str
    from_ml: float
    most: float
    citation: str


@dataclass(frozen=True)
class MethodLimit:
    """How far two results may lie apart: of one laboratory, and of two instruments or methods."""

    analyte: str
    unit: str
    repeatability: float
    reproducibility: float
    citation: str
    confirmed: bool = True


@dataclass(frozen=True)
class Limits:
    """All published limits that the rules compare with."""

    categories: tuple[Category, ...]
    strength_tolerances: tuple[StrengthTolerance, ...]
    nominal_volumes: tuple[NominalVolumes, ...]
    fill_variations: tuple[FillVariation, ...]
    methods: tuple[MethodLimit, ...]
    names: Mapping[tuple[str, str], str]  # jurisdiction and folded name -> name of the category

    def category_name(self, name: str, jurisdiction: str) -> str | None:
        """The category's own name, by any name and spelling that the texts have for it; None where it is not held."""
        return own_name(self.names, name, jurisdiction)

    def category(self, name: str, jurisdiction: str, on: date | None = None) -> Category | None:
        """The category of this name as it is on a day, None where no limits are published for it here.

        Parameters
        ----------
        on : date, optional
            Left out, the law that has no end yet.
        """
        key = self.category_name(name, jurisdiction)
        return next(
            (
                category
                for category in self.categories
                if key in category.keys
                and category.jurisdiction == jurisdiction
                and category.dates[0] <= (on or date(9999, 1, 1)) < category.dates[1]
            ),
            None,
        )

    def tolerance(self, jurisdiction: str) -> StrengthTolerance | None:
        """How far a label's strength may be off here."""
        return next((item for item in self.strength_tolerances if item.jurisdiction == jurisdiction), None)

    def variation(self, jurisdiction: str, nominal_ml: float) -> FillVariation | None:
        """How far any one bottle of this size may lie from its nominal volume here, None where no law says so."""
        fitting = [v for v in self.fill_variations if v.jurisdiction == jurisdiction and v.from_ml <= nominal_ml]
        return max(fitting, key=lambda item: item.from_ml, default=None)

    def frames(self) -> dict[str, pl.DataFrame]:
        """The limits as tables for SQL; their names all begin with limit_."""
        named = [(key, category) for category in self.categories for key in category.keys]
        return {
            "limit_categories": pl.DataFrame(
                [_category_row(key, category) for key, category in named], infer_schema_length=None
            ),
            "limit_analytes": pl.DataFrame(
                [row for key, category in named for row in _analyte_rows(key, category)], schema=ANALYTE_COLUMNS
            ),
            "limit_grain_shares": pl.DataFrame(
                [
                    {"category": key, "jurisdiction": category.jurisdiction, "grain": grain, "least_share": share,
                     "citation": category.citation, **category.validity}
                    for key, category in named for grain, share in category.grain_least.items()
                ]
            ),
            "limit_volumes": pl.DataFrame(
                [
                    {"jurisdiction": sizes.jurisdiction, "allowed_ml": size, "from_ml": sizes.from_ml,
                     "to_ml": sizes.to_ml, "is_confirmed": sizes.confirmed, **sizes.validity}
                    for sizes in self.nominal_volumes for size in sizes.allowed_ml
                ]
            ),
            "limit_variations": pl.DataFrame([vars(item) for item in self.fill_variations]),
            "limit_methods": pl.DataFrame([vars(method) for method in self.methods]),
            "limit_label": pl.DataFrame(
                [
                    {"jurisdiction": item.jurisdiction, "macerated": macerated, "tolerance_pct_vol": tolerance}
                    for item in self.strength_tolerances
                    for macerated, tolerance in ((False, item.spirits_pct_vol), (True, item.macerated_pct_vol))
                ]
            ),
        }  # fmt: skip


ANALYTE_COLUMNS: dict[str, Any] = {
    "category": pl.String, "jurisdiction": pl.String, "analyte": pl.String, "unit": pl.String,
    "least": pl.Float64, "most": pl.Float64, "below": pl.Float64, "most_from_memory": pl.Float64,
    "citation": pl.String,
    "valid_from": pl.Datetime("us"), "valid_until": pl.Datetime("us"),
}  # fmt: skip


def _category_row(key: str, category: Category) -> dict[str, Any]:
    """A category as columns. Least strength stays as a label states it; a distillate's is brought to 20 °C, as gauges
    are."""
    columns = (
        "jurisdiction", "least_strength_pct_vol", "most_strength_pct_vol", "sugar_least_pct_mass",
        "from_neutral_spirit", "is_neutral_spirit", "citation",
    )  # fmt: skip
    distilled = {
        f"distilled_{bound}_pct_vol": getattr(category, f"distilled_{bound}_pct_vol")
        for bound in ("below", "most", "least", "above")
    }
    if category.jurisdiction == "US":  # per cent by volume at 60 °F, half the proof: 27 CFR 30.11
        distilled = {name: at and label_at_20c(at, "US") for name, at in distilled.items()}
    return {"category": key, **{name: getattr(category, name) for name in columns}, **distilled, **category.validity}


def _analyte_rows(key: str, category: Category) -> list[dict[str, Any]]:
    named: dict[str, Any] = {"category": key, "jurisdiction": category.jurisdiction, "citation": category.citation}
    named |= category.validity
    return [{**named, "analyte": analyte, **limit.columns} for analyte, limit in category.laboratory.items()]


@cache
def read_limits(folder: Path = FOLDER) -> Limits:
    """Every published limit.

    Raises
    ------
    SettingsError
        If a file says something that cannot be (an unknown key, no citation, a name twice at a time, least above most);
        the sentence names file and line.
    """

    def all_of(file: str, key: str, record: type, named_by: str) -> tuple[Any, ...]:
        entries = tables(folder / f"{file}.toml", f"limits/{file}.toml", key, named_by)
        return tuple(build_at(record, table, place) for table, place in entries)

    categories = _categories(folder, "eu_categories") + _categories(folder, "us_classes")
    return Limits(
        categories=categories,
        strength_tolerances=all_of("label", "strength_tolerance", StrengthTolerance, "jurisdiction"),
        nominal_volumes=all_of("label", "nominal_volumes", NominalVolumes, "jurisdiction"),
        fill_variations=all_of("fill", "variations", FillVariation, "from_ml"),
        methods=all_of("methods", "methods", MethodLimit, "analyte"),
        names=names_by_jurisdiction(folder, [(c.jurisdiction, key) for c in categories for key in c.keys]),
    )


def _categories(folder: Path, file: str) -> tuple[Category, ...]:
    """The categories of a file; one of a name at any time."""
    categories: list[Category] = []
    for table, place in tables(folder / f"{file}.toml", f"limits/{file}.toml", "categories", "name"):
        category = _category(table, place)
        for other in categories:
            if set(other.keys) & set(category.keys) and _overlap(other.dates, category.dates):
                raise SettingsError(f'{place.at("name")}: the category "{category.name}" stands there twice.')
        categories.append(category)
    return tuple(categories)


def _overlap(first: tuple[date, date], other: tuple[date, date]) -> bool:
    return first[0] < other[1] and other[0] < first[1]


def _category(row: dict[str, Any], place: TomlLocation) -> Category:
    category: Category = build_at(Category, row, place)
    if not category.citation.strip():
        raise SettingsError(f"{place.at('citation')}: the citation is empty; name the article or annex.")
    if category.dates[0] >= category.dates[1]:
        raise SettingsError(f"{place.at('in_force_until')}: it was never in force.")
    analytes = {}
    for name, given in category.laboratory.items():
        where = TomlLocation(place.file, f"{place.name}: laboratory.{name}", place.keys.get(name, place.line), {})
        limit = build_at(AnalyteLimit, given, where)
        if limit.least is None and limit.most is None and limit.below is None:
            raise SettingsError(f"{where.at()} gives none of least, most and below.")
        if limit.least is not None and limit.most is not None and limit.least > limit.most:
            raise SettingsError(f"{where.at()}: least {limit.least:g} is above most {limit.most:g}.")
        if not limit.confirmed and (limit.most is None or limit.least is not None):
            raise SettingsError(f"{where.at()}: only a most may be from memory; read the text for the rest.")
        analytes[name] = limit
    return replace(category, laboratory=analytes)


def label_at_20c(label_pct_vol: float, jurisdiction: str) -> float:
    """What a label states, in % vol at 20 °C: in the United States it is half the proof at 60 °F (27 CFR 30.11).

    Examples
    --------
    >>> label_at_20c(40.0, "EU"), round(label_at_20c(40.0, "US"), 3)
    (40.0, 40.069)
    """
    return float(strength_from_us_proof(2 * label_pct_vol)) if jurisdiction == "US" else label_pct_vol
