"""The house profile: what the site is, as frozen records. Unknown or contradictory keys are refused.

The profile is a TOML file (house.toml). Its text is kept in the book when files are received, so that later
readings of the book rest on the profile that was in force, not on a file that may have changed since.
"""

import dataclasses
import math
import tomllib
import types
import typing
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from gaugebook.pipeline.engineering.unit_words import why_not
from gaugebook.pipeline.engineering.units import UNITS, fitting, house_unit
from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.house.products import Product, product_faults
from gaugebook.pipeline.house.recipes import STAGES, Ingredient, Recipe, contradictions

__all__ = ["STAGES", "House", "Ingredient", "Product", "Recipe", "parse_house", "read_house"]

STILL_KINDS = ("batch", "continuous")  # charged and emptied, or fed while it runs
PAPERS = ("a4", "letter")
ACCOUNTS = ("production", "storage", "processing")  # of 27 CFR part 19 subpart V
LANGUAGES = ("en", "de")  # of the dossier; reports/page/languages has a catalogue for each
ROLES = ("head distiller", "distiller", "laboratory analyst", "qa lead", "warehouse", "compliance", "owner")

# Volume expansion of vessel walls per kelvin. Steel measures 36e-6: OIML R 22, Table XI; austenitic stainless
# steel 3 x 17e-6 and copper 3 x 17e-6: handbook linear expansion, from memory; glass 25e-6: OIML R 22.
WALL_EXPANSION_PER_K = {
    "steel": 36e-6,
    "stainless steel": 51e-6,
    "copper": 51e-6,
    "glass": 25e-6,
    "oak": 0.0,
    "plastic": 0.0,
}


# Units that the uncertainty of an instrument of each kind can be stated in, by the house's unit of the same quantity;
# what reads a density can be known by the strength that it stands for. Other kinds take any unit.
INSTRUMENTS_MEASURE = {
    "alcoholmeter": ("pct_vol", "kg/m3"),
    "hydrometer": ("kg/m3", "plato", "pct_vol"),
    "density meter": ("kg/m3", "plato", "pct_vol"),
    "refractometer": ("plato",),
    "balance": ("kg",),
    "chromatograph": ("g/hL pa", "mg/L"),
    "thermometer": ("degC",),
    "pressure gauge": ("kPa",),
    "flow meter": ("pct",),  # of the flow
}


@dataclass(frozen=True)
class Uncertainty:
    """Standard uncertainties where no instrument or vessel says otherwise.

    `scatter` is the part of each that differs from reading to reading; the rest is the instrument's own error, the same
    in all its readings. Three tenths: common practice for instruments read with care.
    """

    volume_pct: float = 0.5
    mass_pct: float = 0.1
    temperature_c: float = 0.5
    alcoholmeter_pct_vol: float = 0.2
    density_kg_m3: float = 0.1
    strength_pct_vol: float = 0.1
    scatter: float = 0.3


@dataclass(frozen=True)
class Still:
    code: str
    name: str
    capacity_l: float
    plates: int = 0
    log_interval_s: float | None = None
    kind: str = "batch"


@dataclass(frozen=True)
class Vessel:
    code: str
    name: str
    capacity_l: float
    material: str = "stainless steel"
    u_volume_pct: float | None = None
    account: str | None = None  # that it belongs to where the law asks for several: see ACCOUNTS

    @property
    def expansion_per_k(self) -> float:
        return WALL_EXPANSION_PER_K[self.material]


@dataclass(frozen=True)
class Instrument:
    """An instrument with the standard uncertainty of what it reads: u, in its unit, and a part of the reading.

    Both are independent: u(x)^2 = u^2 + (u_relative_pct / 100 x)^2 (EURACHEM/CITAC CG 4, Appendix E.5). Near the limit
    of quantification u rules, far above it the relative part.
    """

    code: str
    kind: str
    name: str
    u: float
    unit: str
    u_relative_pct: float = 0.0


@dataclass(frozen=True)
class Person:
    code: str
    role: str


@dataclass(frozen=True)
class Decisions:
    """Who decides on a batch: the roles that may, and the people who may release what a flag stops."""

    may_decide: tuple[str, ...] = ("qa lead",)
    may_overrule: tuple[str, ...] = ()


@dataclass(frozen=True)
class Documents:
    """How the house's documents are printed where a command says nothing else."""

    paper: str = "a4"
    language: str = "en"


@dataclass(frozen=True)
class Baseline:
    """Runs of one chart of the trends that somebody has reviewed as ordinary; its limits rest on them from then on."""

    measure: str
    first_day: date
    last_day: date
    reviewed_by: str
    reviewed_at: date
    reason: str
    group: str = ""


@dataclass(frozen=True)
class House:
    """The whole profile; `rules` holds the house's own changes to the rule book, by rule id."""

    name: str
    time_zone: str
    note: str = ""
    site_altitude_m: float | None = None
    site_pressure_kpa: float | None = None
    maps: str = "maps"
    proof_gallons: bool = False
    fills_opened: bool = False  # sampled bottles are opened to be measured: a destructive test
    timestamp_service: str | None = None  # address of a service (RFC 3161) that stamps signatures
    uncertainty: Uncertainty = field(default_factory=Uncertainty)
    stills: tuple[Still, ...] = ()
    vessels: tuple[Vessel, ...] = ()
    instruments: tuple[Instrument, ...] = ()
    people: tuple[Person, ...] = ()
    recipes: tuple[Recipe, ...] = ()
    products: tuple[Product, ...] = ()
    baselines: tuple[Baseline, ...] = ()
    decisions: Decisions = field(default_factory=Decisions)
    documents: Documents = field(default_factory=Documents)
    rules: dict[str, dict[str, Any]] = field(default_factory=dict)

    @property
    def pressure_kpa(self) -> float:
        """Air pressure at the site [kPa]: as stated, else from the altitude by the standard atmosphere (ISO 2533)."""
        if self.site_pressure_kpa is not None:
            return self.site_pressure_kpa
        return 101.325 * (1 - 2.25577e-5 * (self.site_altitude_m or 0.0)) ** 5.25588

    def vessel(self, code: str | None) -> Vessel | None:
        return next((vessel for vessel in self.vessels if vessel.code == code), None)

    def product(self, code: str | None) -> Product | None:
        return next((product for product in self.products if product.code == code), None)

    def recipe(self, name: str | None) -> Recipe | None:
        return next((recipe for recipe in self.recipes if recipe.name == name), None)


def read_house(path: Path) -> House:
    """House profile from its file.

    Raises
    ------
    SettingsError
        If the file cannot be read or says something that cannot be.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        raise SettingsError(f'The house profile "{path}" cannot be read: {error.strerror}.') from error
    except UnicodeDecodeError as error:
        raise SettingsError(f'The house profile "{path}" is not UTF-8 text; save it as UTF-8.') from error
    return parse_house(text, str(path))


def parse_house(text: str, where: str) -> House:
    """House profile from its text; `where` names it in messages."""
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"{where}: not valid TOML: {error}.") from error
    if not isinstance(table.get("house"), dict):
        raise SettingsError(f"{where}: the table [house] is missing; it needs at least name and time_zone.")
    site = table.pop("house")
    twice = sorted(site.keys() & table.keys())
    if twice:
        raise SettingsError(f'{where}: "{twice[0]}" stands both inside and outside [house]; keep it outside.')
    house = build(House, {**site, **table}, where)
    _check(house, where)
    return house


def build(record: type, table: Any, where: str) -> Any:
    """A frozen record from a TOML table; a missing, unknown or mistyped key is an error that names it."""
    if not isinstance(table, dict):
        raise SettingsError(f"{where}: expected a table, found {table!r}.")
    known = typing.get_type_hints(record)
    unknown = sorted(table.keys() - known.keys())
    if unknown:
        raise SettingsError(f'{where}: unknown key "{unknown[0]}"; known here: {", ".join(known)}.', unknown[0])
    missing = [f.name for f in dataclasses.fields(record) if f.name not in table and _is_required(f)]
    if missing:
        raise SettingsError(f'{where}: the key "{missing[0]}" is missing.')
    values = {}
    for key, value in table.items():
        try:
            values[key] = _convert(value, known[key], f"{where}: {key}")
        except SettingsError as error:
            raise SettingsError(str(error), key) from error  # of a record within a record, the key of the outer one
    return record(**values)


def _is_required(item: dataclasses.Field) -> bool:
    return item.default is dataclasses.MISSING and item.default_factory is dataclasses.MISSING


def _convert(value: Any, wanted: Any, where: str) -> Any:
    """The value as the type wanted: numbers, texts, records and tuples of them."""
    if isinstance(wanted, types.UnionType):
        wanted = next(option for option in typing.get_args(wanted) if option is not type(None))
    if typing.get_origin(wanted) is tuple:
        if not isinstance(value, list):
            raise SettingsError(f"{where}: expected a list, found {value!r}.")
        inner = typing.get_args(wanted)[0]
        return tuple(_convert(item, inner, f"{where}[{number}]") for number, item in enumerate(value, start=1))
    if typing.get_origin(wanted) is dict or wanted is dict:
        if not isinstance(value, dict):
            raise SettingsError(f"{where}: expected a table, found {value!r}.")
        return value
    if dataclasses.is_dataclass(wanted):
        return build(typing.cast(type, wanted), value, where)
    if wanted is float and isinstance(value, int) and not isinstance(value, bool):
        return float(value)
    if wanted is Any or (isinstance(value, wanted) and not (wanted is not bool and isinstance(value, bool))):
        return value
    raise SettingsError(f"{where}: expected {wanted.__name__}, found {value!r}.")


def _check_instrument(instrument: Instrument, where: str) -> None:
    """An uncertainty that has a unit, and one of what such an instrument reads."""
    unit, parts = instrument.unit, (instrument.u, instrument.u_relative_pct)
    if unit not in UNITS:
        raise SettingsError(f'{where}: the unit "{unit}" {why_not(unit)}; known: {", ".join(UNITS)}.')
    measures = INSTRUMENTS_MEASURE.get(instrument.kind)
    if measures and house_unit(unit) not in measures:
        known = ", ".join(name for own in measures for name in fitting(own))
        raise SettingsError(
            f'{where}: the uncertainty of a {instrument.kind} is not stated in "{unit}"; expected one of {known}.'
        )
    if not all(math.isfinite(part) and part >= 0.0 for part in parts) or not any(parts):
        raise SettingsError(
            f"{where}: u = {parts[0]:g} and u_relative_pct = {parts[1]:g}; expected standard uncertainties of 0 or "
            "more, and one of them above 0."
        )


def _check(house: House, where: str) -> None:
    """Contradictions that types cannot see."""
    if (house.site_altitude_m is None) == (house.site_pressure_kpa is None):
        raise SettingsError(f"{where}: give one of site_altitude_m and site_pressure_kpa in [house].")
    if not 0.0 <= house.uncertainty.scatter <= 1.0:
        raise SettingsError(
            f"{where}: [uncertainty] scatter is {house.uncertainty.scatter:g}; expected the part of a standard "
            "uncertainty that differs from reading to reading, from 0 to 1."
        )
    if house.timestamp_service is not None and not house.timestamp_service.startswith(("http://", "https://")):
        raise SettingsError(f'{where}: timestamp_service: "{house.timestamp_service}" is no address of a service.')
    try:
        ZoneInfo(house.time_zone)
    except (KeyError, ValueError, OSError) as error:
        raise SettingsError(
            f'{where}: "{house.time_zone}" is no time zone; expected one such as "Europe/Copenhagen".'
        ) from error
    for kind, items, key in (
        ("stills", house.stills, "code"), ("vessels", house.vessels, "code"), ("people", house.people, "code"),
        ("instruments", house.instruments, "code"), ("products", house.products, "code"),
        ("recipes", house.recipes, "name"),
    ):  # fmt: skip
        names = [getattr(item, key) for item in items]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice:
            raise SettingsError(f'{where}: [[{kind}]] "{twice}" stands there twice; give each its own {key}.')
    for instrument in house.instruments:
        _check_instrument(instrument, f'{where}: instrument "{instrument.code}"')
    for still in house.stills:
        if still.kind not in STILL_KINDS:
            raise SettingsError(
                f'{where}: still "{still.code}": kind "{still.kind}" is none of {", ".join(STILL_KINDS)}.'
            )
    for vessel in house.vessels:
        if vessel.material not in WALL_EXPANSION_PER_K:
            known = ", ".join(WALL_EXPANSION_PER_K)
            raise SettingsError(f'{where}: vessel "{vessel.code}": material "{vessel.material}" is none of {known}.')
        if vessel.account not in (None, *ACCOUNTS):
            raise SettingsError(
                f'{where}: vessel "{vessel.code}": account "{vessel.account}" is none of {", ".join(ACCOUNTS)}.'
            )
    for person in house.people:
        if person.role not in ROLES:
            raise SettingsError(f'{where}: person "{person.code}": role "{person.role}" is none of {", ".join(ROLES)}.')
    allowed = {"may_decide": ROLES, "may_overrule": tuple(person.code for person in house.people)}
    for key, may in allowed.items():
        wrong = next((name for name in getattr(house.decisions, key) if name not in may), None)
        if wrong is not None:
            raise SettingsError(f'{where}: [decisions] {key}: "{wrong}" is none of {", ".join(may)}.')
    for key, choices in (("paper", PAPERS), ("language", LANGUAGES)):
        value = getattr(house.documents, key)
        if value not in choices:
            raise SettingsError(f'{where}: [documents] {key}: "{value}" is none of {", ".join(choices)}.')
    for fault in (*product_faults(house.products), *contradictions(house.recipes)):
        raise SettingsError(f"{where}: {fault}.")
