"""Where the alcohol truly is: every place, and every movement between places.

Ethanol and water are masses [kg] and only ever move; what ferments, is bought or was there when the book begins
comes from a source, whose contents fall below nothing by as much. All places together therefore hold nothing.
"""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import NamedTuple

from . import alcohol


class Parcel(NamedTuple):
    """Spirit of one cask filling: the cask it was dumped from, the cask it was filled into, and when."""

    dumped_from: str
    filled_into: str
    filled_on: str
    dumped_on: str


@dataclass
class Place:
    name: str
    ethanol: float = 0.0
    water: float = 0.0
    parts: dict[Parcel, float] = field(default_factory=lambda: defaultdict(float))  # kg of ethanol by parcel

    @property
    def mass(self) -> float:
        return self.ethanol + self.water

    @property
    def p(self) -> float:
        return self.ethanol / self.mass if self.mass > 0.0 else 0.0

    @property
    def lpa(self) -> float:
        return alcohol.lpa(self.ethanol)

    @property
    def proof(self) -> float:
        return alcohol.proof(self.p)

    def gallons(self, temp_f: float = 60.0) -> float:
        return alcohol.gallons(self.mass, self.p, alcohol.celsius(temp_f)) if self.mass > 0.0 else 0.0

    def share_of_gallons(self, gal: float) -> float:
        return gal / self.gallons()


@dataclass(frozen=True)
class Movement:
    when: datetime
    source: str
    target: str
    ethanol: float
    water: float
    why: str


class Ledger:
    def __init__(self) -> None:
        self.places: dict[str, Place] = {}
        self.movements: list[Movement] = []

    def __getitem__(self, name: str) -> Place:
        if name not in self.places:
            self.places[name] = Place(name)
        return self.places[name]

    def move(self, when: datetime, source: str, target: str, ethanol: float, water: float, why: str) -> None:
        """Move masses; the parcels of the source go along in proportion to the ethanol."""
        a, b = self[source], self[target]
        share = ethanol / a.ethanol if a.ethanol > 0.0 else 0.0
        for parcel, held in list(a.parts.items()):
            b.parts[parcel] += held * share
            a.parts[parcel] = held * (1.0 - share)
        a.ethanol, a.water = a.ethanol - ethanol, a.water - water
        b.ethanol, b.water = b.ethanol + ethanol, b.water + water
        if a.ethanol < 1e-12 and not source.startswith("source:"):
            a.parts.clear()
        self.movements.append(Movement(when, source, target, ethanol, water, why))

    def share(self, when: datetime, source: str, target: str, share: float, why: str) -> float:
        """Move a share of all that a place holds; kg of ethanol moved."""
        a = self[source]
        ethanol, water = a.ethanol * share, a.water * share
        if share == 1.0:
            ethanol, water = a.ethanol, a.water
        self.move(when, source, target, ethanol, water, why)
        return ethanol

    def rename(self, place: str, change) -> None:
        """Give the parcels of a place new names, as when a cask is filled or dumped."""
        parts: dict[Parcel, float] = defaultdict(float)
        for parcel, held in self[place].parts.items():
            parts[change(parcel)] += held
        self[place].parts = parts

    def as_one(self, place: str, parcel: Parcel) -> None:
        """All that a place holds is one parcel from here on."""
        self[place].parts = defaultdict(float, {parcel: self[place].ethanol})


def age(filled: date, until: date) -> tuple[int, int, int]:
    """Completed years, months and days in wood."""
    months = (until.year - filled.year) * 12 + until.month - filled.month
    if until.day < filled.day:
        months -= 1
    year, month = divmod(filled.month - 1 + months, 12)
    start_year = filled.year + year
    last = [31, 29 if start_year % 4 == 0 else 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31][month]
    anniversary = date(start_year, month + 1, min(filled.day, last))
    return months // 12, months % 12, (until - anniversary).days


def youngest(parts: dict[Parcel, float], until: date) -> tuple[str, tuple[int, int, int]] | None:
    """Cask and age of the youngest spirit in wood; nothing where some of it never saw wood."""
    aged = [(p, age(date.fromisoformat(p.filled_on), date.fromisoformat(p.dumped_on) if p.dumped_on else until))
            for p, held in parts.items() if held > 1e-9 and p.filled_on]  # fmt: skip
    if not aged or any(held > 1e-9 and not p.filled_on for p, held in parts.items()):
        return None
    parcel, least = min(aged, key=lambda item: item[1])
    return parcel.filled_into, least
