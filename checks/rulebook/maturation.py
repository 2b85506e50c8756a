"""What laws ask of the time a spirit spends in wood: kind of wood, size of the cask, strength at entry, least age.

Data for rules that look at casks. `requirements_of` gives what a category asks on a day; several tables of one
category are alternatives, of which one must be met. `for_what` is empty where the category itself asks it, else the use
of a word or an additive that asks it.
"""

from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path

from gaugebook.checks.rulebook.published_limits import FOLDER, Dated, Limits, read_limits
from gaugebook.checks.rulebook.toml_location import TomlLocation, build_at, tables
from gaugebook.pipeline.engineering.us_proof import strength_from_us_proof
from gaugebook.pipeline.errors import SettingsError

# Each wood with those that meet it: what a cask is said to be is one of CASK_WOODS.
CASK_WOODS = ("charred new oak", "uncharred new oak", "used oak", "other wood")
WOODS = {
    "wood": CASK_WOODS,
    "oak": ("charred new oak", "uncharred new oak", "used oak"),
    "charred new oak": ("charred new oak",),
    "used or uncharred new oak": ("uncharred new oak", "used oak"),
    "used oak": ("used oak",),
    "none": (),
}


@dataclass(frozen=True)
class Maturation(Dated):
    """What a category asks of casks.

    Attributes
    ----------
    wood : str
        One of WOODS; "none" where it may not be stored in wood at all
    is_required : bool
        It must be stored so; else only what is stored in wood must be stored so
    least_age_months, age_below_months : float or None
        Age of the youngest spirit in that wood
    cask_least_l, cask_below_l, cask_most_l : float or None
        Capacity of each cask: at least, less than, at most
    entry_most_proof : float or None
        Strength at which it goes into the cask, at most, in degrees of proof at 60 °F
    one_type : str
        The type that all of it must be of, by the category of its name; empty where none is asked
    for_what : str
        The word or additive that asks it; empty where the category itself does
    confirmed : bool
        False where it is from memory and so never stops a release
    """

    category: str
    jurisdiction: str
    wood: str
    citation: str
    is_required: bool = True
    least_age_months: float | None = None
    age_below_months: float | None = None
    cask_least_l: float | None = None
    cask_below_l: float | None = None
    cask_most_l: float | None = None
    entry_most_proof: float | None = None
    one_type: str = ""
    for_what: str = ""
    also: tuple[str, ...] = ()
    confirmed: bool = True
    in_force_from: date | None = None
    in_force_until: date | None = None

    @property
    def cask_woods(self) -> tuple[str, ...]:
        """Woods of a cask that meet it."""
        return WOODS[self.wood]

    @property
    def entry_most_pct_vol(self) -> float | None:
        """Greatest strength at entry, at 20 °C [% vol].

        Examples
        --------
        >>> round(Maturation("bourbon whisky", "US", "oak", "made up", entry_most_proof=125.0).entry_most_pct_vol, 2)
        62.55
        """
        return None if self.entry_most_proof is None else float(strength_from_us_proof(self.entry_most_proof))


@dataclass(frozen=True)
class Claim(Dated):
    """What a claim on the label asks beside the category.

    Attributes
    ----------
    one_distiller, one_season, one_kind : bool
        All of it of one distiller, of one season (January to June, July to December), of one kind
    bottled_proof : float or None
        Strength at bottling, in degrees of proof at 60 °F
    """

    claim: str
    jurisdiction: str
    wood: str
    citation: str
    least_age_months: float | None = None
    bottled_proof: float | None = None
    one_distiller: bool = False
    one_season: bool = False
    one_kind: bool = False
    in_bond: bool = False
    also: tuple[str, ...] = ()
    confirmed: bool = True
    in_force_from: date | None = None
    in_force_until: date | None = None

    @property
    def cask_woods(self) -> tuple[str, ...]:
        """Woods of a cask that meet it."""
        return WOODS[self.wood]


@dataclass(frozen=True)
class Blend(Dated):
    """What a category asks to be in it of straight whisky: a part of its alcohol, at least."""

    category: str
    jurisdiction: str
    citation: str
    least_share: float
    confirmed: bool = True
    in_force_from: date | None = None
    in_force_until: date | None = None


@cache
def read_maturations(folder: Path = FOLDER) -> tuple[Maturation, ...]:
    """What every category asks of casks.

    Raises
    ------
    SettingsError
        If a table names an unknown wood or category, or bounds that hold nothing; the sentence names file and line.
    """
    limits, maturations = read_limits(folder), []
    for table, place in tables(folder / "maturation.toml", "limits/maturation.toml", "maturations", "category"):
        maturation: Maturation = build_at(Maturation, table, place)
        _check(maturation, place)
        _require_category(limits, maturation.category, maturation.jurisdiction, place.at("category"))
        if maturation.one_type:
            _require_category(limits, maturation.one_type, maturation.jurisdiction, place.at("one_type"))
        maturations.append(maturation)
    return tuple(maturations)


@cache
def read_claims(folder: Path = FOLDER) -> tuple[Claim, ...]:
    """What claims on labels ask of casks.

    Raises
    ------
    SettingsError
        If a table names an unknown wood; the sentence names file and line.
    """
    claims = []
    for table, place in tables(folder / "maturation.toml", "limits/maturation.toml", "claims", "claim"):
        claim: Claim = build_at(Claim, table, place)
        _check(claim, place)
        claims.append(claim)
    return tuple(claims)


@cache
def read_blends(folder: Path = FOLDER) -> tuple[Blend, ...]:
    """What blends ask of straight whisky.

    Raises
    ------
    SettingsError
        If a table names an unknown category or a share that is none; the sentence names file and line.
    """
    limits, blends = read_limits(folder), []
    for table, place in tables(folder / "maturation.toml", "limits/maturation.toml", "blends", "category"):
        blend: Blend = build_at(Blend, table, place)
        _require_category(limits, blend.category, blend.jurisdiction, place.at("category"))
        if not 0 < blend.least_share <= 1:
            raise SettingsError(f"{place.at('least_share')}: {blend.least_share:g} is no part; expected 0 to 1.")
        blends.append(blend)
    return tuple(blends)


def blend_of(limits: Limits, name: str, jurisdiction: str, on: date, folder: Path = FOLDER) -> Blend | None:
    """What a category asks of straight whisky on a day; None where it asks no share.

    >>> blend_of(read_limits(), "Blended Whiskey", "US", date(2026, 1, 1)).least_share
    0.2
    """
    key = limits.category_name(name, jurisdiction)
    for blend in read_blends(folder):
        if (blend.category, blend.jurisdiction) == (key, jurisdiction) and blend.dates[0] <= on < blend.dates[1]:
            return blend
    return None


def requirements_of(
    limits: Limits, name: str, jurisdiction: str, on: date | None = None, folder: Path = FOLDER
) -> tuple[Maturation, ...]:
    """What a category asks of casks on a day, alternatives side by side; empty where its text asks nothing of wood.

    Parameters
    ----------
    name : str
        Any name of the category.
    on : date, optional
        Left out, the law that has no end yet.

    Examples
    --------
    >>> [(item.least_age_months, item.cask_most_l) for item in requirements_of(read_limits(), "Whiskey", "EU")]
    [(36.0, 700.0)]
    """
    key = limits.category_name(name, jurisdiction)
    day = on or date(9999, 1, 1)
    return tuple(
        item
        for item in read_maturations(folder)
        if (item.category, item.jurisdiction) == (key, jurisdiction) and item.dates[0] <= day < item.dates[1]
    )


def _check(item: Maturation | Claim, place: TomlLocation) -> None:
    if item.wood not in WOODS:
        raise SettingsError(f'{place.at("wood")}: wood "{item.wood}" is none of {", ".join(WOODS)}.')
    if not item.citation.strip():
        raise SettingsError(f"{place.at('citation')}: the citation is empty; name the article.")
    if item.dates[0] >= item.dates[1]:
        raise SettingsError(f"{place.at('in_force_until')}: it was never in force.")


def _require_category(limits: Limits, name: str, jurisdiction: str, where: str) -> None:
    """By the very name under which the limits hold it."""
    if limits.category_name(name, jurisdiction) != name:
        raise SettingsError(f'{where}: no category "{name}" is held for {jurisdiction}.')
