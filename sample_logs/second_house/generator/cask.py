"""A cask: wood, place, and what the years take."""

import math
from dataclasses import dataclass, field
from datetime import datetime

from . import alcohol, house
from .ledger import Ledger, Place

YEAR_S = 365.25 * 86400.0


@dataclass
class Leak:
    start: datetime
    end: datetime
    per_year: float  # share of the contents


@dataclass
class Cask:
    number: str
    group: str
    size: int
    wood: str
    char: str
    former: str
    tare_register: float
    tare_true: float
    building: str
    row: int
    tier: int
    scatter: float  # this cask's evaporation against that of its size and tier
    received: datetime
    filled: datetime | None = None
    lot: str = ""
    spirit: str = ""
    at: datetime | None = None  # the true state is of this instant
    book_ethanol: float = 0.0  # what the last gauge left in the book [kg]
    fill_ethanol: float = 0.0
    dumped: datetime | None = None
    gone: bool = False
    leaks: list[Leak] = field(default_factory=list)
    lost: dict[str, float] = field(default_factory=lambda: {"evaporation": 0.0, "leak": 0.0})

    @property
    def place(self) -> str:
        return f"cask:{self.number}"

    @property
    def location(self) -> str:
        return f"{self.building}/{self.row:02d}/{self.tier}"

    @property
    def alcohol_rate(self) -> float:
        """Share of the alcohol that evaporates a year, as a rate."""
        return house.LOSS_PER_YEAR[self.size] * house.TIER_LOSS[self.building][self.tier - 1] * self.scatter

    @property
    def water_rate(self) -> float:
        return self.alcohol_rate * house.TIER_WATER[self.building][self.tier - 1]

    def state(self, held: Place, until: datetime) -> tuple[float, float, float]:
        """Ethanol, water [kg] at an instant if nothing is done to it, and the ethanol that leaks until then."""
        assert self.at is not None
        years = (until - self.at).total_seconds() / YEAR_S
        leaking = sum(
            leak.per_year * max(0.0, (min(until, leak.end) - max(self.at, leak.start)).total_seconds()) / YEAR_S
            for leak in self.leaks
        )
        ethanol = held.ethanol * math.exp(-self.alcohol_rate * years - leaking)
        water = held.water * math.exp(-self.water_rate * years - leaking)
        gone = held.ethanol - ethanol
        leaked = gone * leaking / (leaking + self.alcohol_rate * years) if leaking else 0.0
        return ethanol, water, leaked

    def age_to(self, ledger: Ledger, until: datetime) -> None:
        """Let the cask lie until an instant."""
        held = ledger[self.place]
        if self.at is None or until <= self.at or held.ethanol <= 0.0:
            self.at = until
            return
        ethanol, water, leaked = self.state(held, until)
        lost, lost_water = held.ethanol - ethanol, held.water - water
        share = leaked / lost if lost else 0.0
        if leaked:
            ledger.move(until, self.place, "loss:leak", leaked, lost_water * share, "leak")
        ledger.move(until, self.place, "loss:evaporation", lost - leaked, lost_water * (1.0 - share), "evaporation")
        self.lost["evaporation"] += lost - leaked
        self.lost["leak"] += leaked
        self.at = until

    def capacity_kg(self, p: float) -> float:
        return alcohol.mass_of_gallons(house.SIZES[self.size], p, alcohol.T60)
