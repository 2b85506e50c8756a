"""The house in time: places, casks, records and the account as it is booked."""

import math
import tomllib
from collections import defaultdict
from datetime import date, datetime, time, timedelta
from pathlib import Path

from . import house
from .cask import Cask, Leak
from .ledger import Ledger
from .measure import Chance, noise, to_step
from .records import Records, Row, Truth

STORAGE, PROCESSING, PRODUCTION = "storage", "processing", "production"


def at(day: date | str, clock: str = "8:00") -> datetime:
    hour, minute = clock.split(":")
    day = date.fromisoformat(day) if isinstance(day, str) else day
    return datetime.combine(day, time(int(hour), int(minute)))


class Sim:
    def __init__(self, plan_path: Path) -> None:
        self.plan = tomllib.loads(plan_path.read_text(encoding="utf-8"))
        self.chance = Chance(self.plan["seed"])
        self.begin, self.end = at(self.plan["begin"], "0:00"), at(self.plan["end"], "23:59")
        self.ledger, self.records, self.truth = Ledger(), Records(), Truth()
        self.casks: dict[str, Cask] = {}
        self.groups: dict[str, list[Cask]] = defaultdict(list)
        self.bottles: dict[str, dict] = {}  # batch: product, bottles left ...
        self.lots: dict[str, dict] = {}  # tank lots of spirit: tank, spirit, account
        self.booked: dict[tuple[str, str, str], float] = defaultdict(float)  # month, account, line: kg of ethanol
        self.counter: dict[str, int] = defaultdict(int)
        self.materials: dict[str, str] = {}  # material: lot in use
        self.slots: dict[str, int] = defaultdict(int)
        self.queue: list[tuple[datetime, int, object, tuple]] = []

    # names, chance and time

    def number(self, prefix: str, when: datetime) -> str:
        key = f"{prefix}-{when:%y}"
        self.counter[key] += 1
        return f"{key}-{self.counter[key]:03d}"

    def rng(self, name: str):
        return self.chance.of(name)

    def later(self, when: datetime, action, *arguments) -> None:
        self.queue.append((when, len(self.queue), action, arguments))

    def run(self) -> None:
        """Do all that is planned, in order of time; what is done may plan more."""
        while self.queue:
            self.queue.sort(key=lambda item: item[:2])
            when, _, action, arguments = self.queue.pop(0)
            if when <= self.end:
                action(self, when, *arguments)

    def room_f(self, when: datetime, base: float = 66.0, swing: float = 9.0) -> float:
        """Temperature of a room: a yearly swing and the day's own."""
        angle = 2.0 * math.pi * (when.timetuple().tm_yday - 25) / 365.0
        return base - swing * math.cos(angle) + noise(self.rng(f"room {when:%Y-%m-%d}"), 2.5)

    # account

    def book(self, when: datetime, account: str, line: str, ethanol: float) -> None:
        self.booked[(f"{when:%Y-%m}", account, line)] += ethanol

    def pass_on(self, when: datetime, source: str, target: str, ethanol: float) -> None:
        """From one account to another."""
        self.book(when, source, f"to {target}", -ethanol)
        self.book(when, target, f"from {source}", ethanol)

    # casks

    def select(self, wanted: str) -> list[Cask]:
        """Casks named as 'B20[0:4] R21[3]'."""
        found: list[Cask] = []
        for part in wanted.split():
            group, _, index = part.partition("[")
            members = self.groups[group]
            if not index:
                found += members
            elif ":" in index:
                low, high = index.rstrip("]").split(":")
                found += members[int(low or 0) : int(high) if high else None]
            else:
                found.append(members[int(index.rstrip("]"))])
        return found

    def new_cask(self, group: str, size: int, spec: dict, received: datetime) -> Cask:
        number = f"C-{len(self.casks) + 1:04d}"
        rng = self.rng(f"cask {number}")
        building = spec.get("building", "W1")
        slot = self.slots[building]
        self.slots[building] += 1
        tiers = house.TIERS[building]
        tare = house.TARE_LB[size] * (1.0 + 0.035 * float(rng.uniform(-1.0, 1.0)))
        cask = Cask(
            number=number, group=group, size=size, wood=spec.get("wood", "American oak"),
            char=spec.get("char", "char 4"), former=spec.get("former", "new"),
            tare_register=to_step(tare + noise(rng, 0.5), 0.5), tare_true=tare, building=building,
            row=1 + slot // (4 * tiers), tier=1 + slot % tiers,
            scatter=float(min(1.45, max(0.65, rng.lognormal(0.0, 0.11)))), received=received,
        )  # fmt: skip
        self.casks[number] = cask
        self.groups[group].append(cask)
        return cask

    def register(self, cask: Cask, kind: str = "cooperage", fault: str | None = None) -> Row:
        return self.records.add(kind, cask.received, {
            "Cask No": cask.number, "Cooperage": "K-7" if cask.wood == "American oak" else "K-9",
            "Recvd": cask.received, "Wood": cask.wood, "Size Gal": cask.size, "Char/Toast": cask.char,
            "Former Contents": cask.former.upper() if cask.former == "new" else cask.former,
            "Tare Lb": cask.tare_register, "Bldg": cask.building, "Row": cask.row, "Tier": cask.tier, "Remarks": None,
        }, fault)  # fmt: skip

    def leak(self, cask: Cask, item: dict) -> None:
        cask.leaks.append(Leak(at(item["from"]), at(item["to"]), item["per_year"]))

    def held_in_casks(self, when: datetime) -> dict[str, tuple[float, float]]:
        """True ethanol and water of every full cask at an instant, without letting time pass."""
        held = {}
        for cask in self.casks.values():
            place = self.ledger[cask.place]
            if place.ethanol > 0.0 and cask.at and cask.at <= when:
                held[cask.number] = cask.state(place, when)[:2]
        return held


def days(count: float) -> timedelta:
    return timedelta(days=count)
