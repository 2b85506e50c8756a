"""The lots that stand in tanks, as true masses, and what changed them when."""

from dataclasses import dataclass, field
from datetime import datetime

from .mixing import Liquid


@dataclass
class Lot:
    name: str
    vessel: str
    made: datetime
    holds: Liquid
    changes: list[tuple[datetime, Liquid]] = field(default_factory=list)

    def held_at(self, moment: datetime) -> Liquid:
        """What it held at a moment."""
        total = Liquid()
        for when, change in self.changes:
            if when <= moment:
                total = total + change
        return total


class Cellar:
    """All lots by name."""

    def __init__(self) -> None:
        self.lots: dict[str, Lot] = {}

    def put(self, name: str, liquid: Liquid, vessel: str, at: datetime) -> Lot:
        """Lay down a new lot in a vessel."""
        if name in self.lots:
            raise ValueError(f"lot {name} exists already")
        self.lots[name] = Lot(name, vessel, at, liquid, [(at, liquid)])
        return self.lots[name]

    def draw(self, name: str, at: datetime, alcohol_l: float | None = None, share: float = 1.0) -> Liquid:
        """Take litres of pure alcohol, or a share, out of a lot."""
        lot = self.lots[name]
        if at < lot.made:
            raise ValueError(f"lot {name} is drawn at {at}, made at {lot.made}")
        drawn = lot.holds.times(share) if alcohol_l is None else lot.holds.holding(alcohol_l)
        if drawn.mass_kg > lot.holds.mass_kg * (1.0 + 1e-12):
            raise ValueError(f"lot {name} holds {lot.holds.alcohol_l:.1f} LPA, not {drawn.alcohol_l:.1f}")
        lot.holds = lot.holds - drawn
        lot.changes.append((at, drawn.times(-1.0)))
        return drawn
