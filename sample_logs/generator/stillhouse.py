"""The house at work: its book, its cellar, its stores, and the few habits that all workings share."""

import tomllib
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from .cellar import Cellar
from .chance import stream
from .instruments import cellar_temperature_c, gauge_tank
from .mixing import Liquid
from .records import Book, Fault, Gauge, Movement, Run, Working
from .stores import Stores

HOUSE_FILE = Path(__file__).parent.parent / "house.toml"
PEOPLE = ("AQ", "BR", "CM")


class Stillhouse:
    """State that passes from one working to the next."""

    def __init__(self) -> None:
        profile = tomllib.loads(HOUSE_FILE.read_text(encoding="utf-8"))
        self.recipes: dict[str, dict[str, Any]] = {item["name"]: item for item in profile["recipes"]}
        self.products: dict[str, dict[str, Any]] = {item["code"]: item for item in profile["products"]}
        self.book, self.cellar, self.stores = Book(), Cellar(), Stores()
        self.hearts: list[str] = []  # strip hearts that wait for the rectifying still
        self.neutral: dict[int, str] = {}  # neutral spirit lot by cycle
        self.tails: dict[int, str] = {}
        self.recovered: dict[int, str] = {}  # spirit of the feints campaigns
        self.spirits: dict[tuple[int | str, str], list[str]] = {}  # lots on their way to a product
        self.distillates: dict[tuple[int | str, str], str] = {}  # the last distillate of a cycle and product
        self.methanol: dict[str, float] = {}  # by lot [g/hL of pure alcohol]
        self.free: dict[str, datetime] = {}  # when a still is free again
        self._counts: dict[str, int] = {}

    def number(self, prefix: str, day: date) -> str:
        """The next number of a kind in its month, such as MSH-2510-03."""
        key = f"{prefix}-{day:%y%m}"
        self._counts[key] = self._counts.get(key, 0) + 1
        return f"{key}-{self._counts[key]:02d}"

    def batch(self, prefix: str, day: date) -> str:
        """The next batch of a product in its month, such as VOD-2511A."""
        key = f"{prefix}-{day:%y%m}"
        self._counts[key] = self._counts.get(key, 0) + 1
        return f"{key}{'ABCDEFGH'[self._counts[key] - 1]}"

    def run(
        self, run: str, stage: str, equipment: str, started: datetime, ended: datetime,
        product: str | None = None, recipe: str | None = None,
    ) -> Run:  # fmt: skip
        """Enter a run on the sheet."""
        operator = stream(f"operator {run}").choice(PEOPLE)
        entry = Run(run, stage, equipment, product, recipe, started, ended, operator)
        self.book.runs.append(entry)
        return entry

    def move(
        self, run: str, direction: str, lot: str, part: str, vessel: str | None, at: datetime, gauge: Gauge,
        by_balance: bool = False,
    ) -> Movement:  # fmt: skip
        """Enter a movement on the sheet."""
        entry = Movement(run, direction, lot, part, vessel, at, gauge, by_balance=by_balance)
        self.book.movements.append(entry)
        return entry

    def draw(
        self, run: str, lot: str, part: str, at: datetime, meter: str, alcohol_l: float | None = None,
        share: float = 1.0, written_as: str | None = None,
    ) -> Liquid:  # fmt: skip
        """Draw spirit out of a tank into a run, gauged before the run begins."""
        drawn = self.cellar.draw(lot, at, alcohol_l, share)
        rng = stream(f"draw {run} {lot}")
        gauge = gauge_tank(rng, drawn, cellar_temperature_c(rng, at), meter)
        self.move(run, "in", written_as or lot, part, self.cellar.lots[lot].vessel, at, gauge)
        return drawn

    def lay_down(
        self, run: str, lot: str, part: str, liquid: Liquid, vessel: str, at: datetime, meter: str,
        temperature_c: float | None = None,
    ) -> Movement:  # fmt: skip
        """Put what a run made into a tank, and gauge it."""
        self.cellar.put(lot, liquid, vessel, at)
        rng = stream(f"lay down {run} {lot}")
        warm = cellar_temperature_c(rng, at) if temperature_c is None else temperature_c
        return self.move(run, "out", lot, part, vessel, at, gauge_tank(rng, liquid, warm, meter))

    def add_water(self, run: str, mass_kg: float, at: datetime, written_as: str | None = None) -> None:
        """Charge water, gauged by volume in its own tank."""
        rng = stream(f"water {run}")
        gauge = gauge_tank(rng, Liquid(water_kg=mass_kg), 12.0 + rng.uniform(0.0, 4.0), "none")
        store = self.stores.take("water", at.date(), (gauge.volume_l or 0.0) * 1.002)
        self.move(run, "in", written_as or store.lot, "water", "WT1", at, gauge)

    def account(
        self, run: str, into: list[tuple[str, Liquid]], out: list[tuple[str, Liquid]], lost: list[tuple[str, Liquid]],
        gas_kg: float = 0.0, yeast_kg: float = 0.0,
    ) -> None:  # fmt: skip
        """Keep the truth of a run beside what was written of it."""
        self.book.workings.append(Working(run, into, out, lost, gas_kg, yeast_kg))

    def fault(self, fault: str, rule: str, records: list[str], stops: bool, where: str) -> None:
        """Note a planted fault."""
        self.book.faults.append(Fault(fault, rule, records, stops, where))


def near(moment: datetime, name: str, spread_min: int = 15) -> datetime:
    """A planned time as it turned out, in the five minutes that people write."""
    steps = spread_min // 5
    return moment + timedelta(minutes=5 * stream(f"time {name}").randint(-steps, steps))
