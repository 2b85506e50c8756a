"""What came to the house: lots by material and delivery, their quantities made to fit what was used."""

import math
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

from . import faults
from .chance import bounded, stream
from .plan import FIRST_DAY
from .records import Receipt


@dataclass(frozen=True)
class Supply:
    """How a material is bought."""

    prefix: str
    kind: str
    supplier: str
    unit: str
    delivered: tuple[date, ...] = ()  # none: a lot for each day of use, delivered the day before
    condition: str = ""
    step: float = 1.0  # pack that quantities are rounded up to
    keeps_days: int = 365


def _months(*months: str) -> tuple[date, ...]:
    return tuple(date(2000 + int(m[:2]), int(m[2:]), 1) for m in months)


_HALF_YEARS = _months("2510", "2603", "2608")
_QUARTERS = _months("2510", "2601", "2604", "2607", "2610")
_EVERY_OTHER_MONTH = _months("2510", "2512", "2602", "2604", "2606", "2608", "2610")
_EVERY_MONTH = tuple(date(2025 + (9 + n) // 12, (9 + n) % 12 + 1, 1) for n in range(13))
RYE_DELIVERIES = (
    date(2025, 10, 1), date(2025, 11, 19), date(2026, 1, 9), date(2026, 1, 30), date(2026, 3, 17),
    date(2026, 5, 5), date(2026, 6, 23), date(2026, 8, 11), date(2026, 9, 29),
)  # fmt: skip
SUPPLIES = {
    "rye malt": Supply("RYE", "malt", "Maltings A", "kg", RYE_DELIVERIES, step=25.0, keeps_days=270),
    "oat malt": Supply("OAT", "malt", "Maltings B", "kg", _EVERY_OTHER_MONTH, step=25.0, keeps_days=270),
    "apples": Supply("APL", "fruit", "Orchard 1", "kg", condition="fresh", step=10.0, keeps_days=10),
    "quince": Supply("QNC", "fruit", "Orchard 2", "kg", condition="fresh", step=5.0, keeps_days=14),
    "yeast": Supply("YST", "yeast", "Yeast merchant", "kg", _EVERY_OTHER_MONTH, step=0.5),
    "juniper berry": Supply("JUN", "botanical", "Herb dealer B", "kg", _HALF_YEARS, "dried"),
    "coriander seed": Supply("COR", "botanical", "Herb dealer B", "kg", _HALF_YEARS, "dried"),
    "angelica root": Supply("ANG", "botanical", "Herb dealer B", "kg", _HALF_YEARS, "dried", step=0.5),
    "orris root": Supply("ORR", "botanical", "Herb dealer B", "kg", _HALF_YEARS, "dried", step=0.25),
    "lemon peel": Supply("LEM", "botanical", "Greengrocer C", "kg", condition="fresh", step=0.1, keeps_days=4),
    "caraway seed": Supply("CAR", "botanical", "Seed grower D", "kg", _HALF_YEARS, "dried"),
    "dill seed": Supply("DIL", "botanical", "Seed grower D", "kg", _HALF_YEARS, "dried", step=0.5),
    "fennel seed": Supply("FEN", "botanical", "Seed grower D", "kg", _HALF_YEARS, "dried", step=0.25),
    "water": Supply("WAT", "water", "Waterworks", "l", _EVERY_MONTH, step=1000.0),
    "bottle 700 mL": Supply("GL7", "packaging", "Glassworks E", "pieces", _QUARTERS, step=500.0, keeps_days=3650),
    "bottle 500 mL": Supply("GL5", "packaging", "Glassworks E", "pieces", _QUARTERS, step=500.0, keeps_days=3650),
}  # fmt: skip
# Extract on dry matter and moisture [% mass]: mean and spread of the certificates.
CERTIFICATES = {
    "rye malt": (80.2, 0.7, 5.0, 0.3),
    "oat malt": (74.0, 0.6, 5.4, 0.3),
    "apples": (84.0, 0.8, 84.5, 0.3),
}


@dataclass
class Store:
    """One lot in the stores."""

    lot: str
    material: str
    received: datetime
    supply: Supply
    used: float = 0.0
    extract_pct: float | None = None
    moisture_pct: float | None = None
    condition: str = ""

    @property
    def true_extract_pct(self) -> float:
        """What the mash finds; the certificate of one lot promises more."""
        short = faults.POOR_MALT_SHORT if self.is_poor else 0.0
        return (self.extract_pct or 0.0) * (1.0 - short)

    @property
    def is_poor(self) -> bool:
        return self.material == "rye malt" and self.received.date() == RYE_DELIVERIES[2]


@dataclass
class Stores:
    lots: dict[str, Store] = field(default_factory=dict)

    def take(self, material: str, day: date, quantity: float, dried_instead: bool = False) -> Store:
        """Use a quantity of the lot that was at hand on a day."""
        supply = SUPPLIES[material]
        received = self._received(supply, day)
        lot = f"{supply.prefix}-{received:%y%m}" if supply.delivered else f"{supply.prefix}-{received:%y%m%d}"
        if material == "rye malt":
            lot += "B" if received == RYE_DELIVERIES[3] else "A"
        if lot not in self.lots:
            self.lots[lot] = self._new(lot, material, received, supply)
            if dried_instead:
                self.lots[lot].condition = "dried"
        self.lots[lot].used += quantity
        return self.lots[lot]

    @staticmethod
    def _received(supply: Supply, day: date) -> date:
        if not supply.delivered:
            return day - timedelta(days=1)
        before = [d for d in supply.delivered if d < day or d == FIRST_DAY]
        return max(before)

    @staticmethod
    def _new(lot: str, material: str, received: date, supply: Supply) -> Store:
        rng = stream(f"store {lot}")
        hour = time(0, 30) if supply.kind == "water" else time(rng.randint(8, 11), rng.choice((0, 15, 30, 45)))
        store = Store(lot, material, datetime.combine(received, hour), supply, condition=supply.condition)
        if material in CERTIFICATES:
            extract, u_extract, moisture, u_moisture = CERTIFICATES[material]
            store.extract_pct = round(bounded(rng, extract, u_extract), 1)
            store.moisture_pct = round(bounded(rng, moisture, u_moisture), 1)
        return store

    def receipts(self) -> list[Receipt]:
        """Deliveries in order of time, a little more than was used of each."""
        return sorted((self._receipt(store) for store in self.lots.values()), key=lambda r: (r.received, r.lot))

    @staticmethod
    def _receipt(store: Store) -> Receipt:
        supply = store.supply
        quantity = math.ceil(store.used * 1.03 / supply.step) * supply.step
        best_before = None
        if supply.kind not in ("water", "packaging"):
            best_before = datetime.combine(store.received.date() + timedelta(days=supply.keeps_days), time())
        return Receipt(
            store.lot, store.material, supply.kind, supply.supplier, store.received, round(quantity, 3), supply.unit,
            store.extract_pct, store.moisture_pct, store.condition, best_before,
        )  # fmt: skip
