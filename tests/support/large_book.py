"""A book of many years, written straight into typed.*: all of it made up, to see how tracing and accounting grow.

A cycle of 27 runs: six mashes, ferments and strip runs; one rectifying run that draws the six hearts, and the heads and
tails of the cycle before it, so that every batch has all cycles before it behind it; two botanical runs; three
reductions and three bottlings. 740 cycles in ten years are 19,980 runs and some 57,000 lots.
"""

import hashlib
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import polars as pl
from small_house import HOUSE

from gaugebook import pipeline
from gaugebook.pipeline.book.database import Book, open_book
from gaugebook.pipeline.derived.rebuild import rebuild
from gaugebook.pipeline.intake.flow import SCHEMAS, profile_in_force
from gaugebook.pipeline.typed.log_store import show_readings

CYCLES_A_YEAR = 74
SCATTER = 0.3  # of a standard uncertainty, as house profiles have it where they say nothing else
SHARED = (1 - SCATTER**2) ** 0.5
START = datetime(2020, 1, 1, 6)
RUN_SCHEMA = {"run": pl.String, "stage": pl.String, "equipment": pl.String, "product": pl.String,
              "started_at": pl.Datetime("us"), "ended_at": pl.Datetime("us")}  # fmt: skip
MOVE_SCHEMA = {
    "run": pl.String, "direction": pl.String, "lot": pl.String, "part": pl.String, "vessel": pl.String,
    "gauged_at": pl.Datetime("us"), "volume_at_t_l": pl.Float64, "volume_temperature_c": pl.Float64,
    "strength_reading": pl.Float64, "reading_kind": pl.String, "mass_kg": pl.Float64,
}  # fmt: skip


class _Cycles:
    """The records of the cycles, gathered."""

    def __init__(self, seed: int) -> None:
        self.rng = np.random.default_rng(seed)
        self.runs: list[tuple] = []
        self.moves: list[tuple] = []
        self.intake: list[tuple] = []
        self.bottling: list[tuple] = []
        self.stock: list[tuple] = []
        self.feints: list[tuple[str, float, str]] = []  # lot, LPA, vessel
        self.of_vessel: dict[str, float] = {}
        self.of_strength = SHARED * self.rng.standard_normal()

    def run(self, name: str, stage: str, equipment: str, at: datetime, hours: float) -> datetime:
        end = at + timedelta(hours=hours)
        self.runs.append((name, stage, equipment, None, at, end))
        return end

    def spirit(
        self, run: str, direction: str, lot: str, part: str, vessel: str, at: datetime, lpa: float, strength: float
    ):
        """A gauge of spirit, as far from the truth as its uncertainty allows: most of that is the error of the vessel's
        scale or of the house's strength instrument, the rest scatter."""
        if vessel not in self.of_vessel:
            self.of_vessel[vessel] = SHARED * self.rng.standard_normal()
        of_vessel = self.of_vessel[vessel] + SCATTER * self.rng.standard_normal()
        of_strength = self.of_strength + SCATTER * self.rng.standard_normal()
        volume = 100 * lpa / strength * (1 + 0.003 * of_vessel)
        read = min(strength + 0.08 * of_strength, 97.0)
        self.moves.append((run, direction, lot, part, vessel, at, volume, 20.0, max(read, 0.01), "pct_vol_20c", None))

    def goods(self, run: str, lot: str, part: str, at: datetime, kg: float | None = None, litres: float | None = None):
        kind = {"grain": "malt", "yeast": "yeast", "water": "water", "botanical": "botanical"}[part]
        self.intake.append((lot, part, kind, at - timedelta(days=1), kg, litres))
        self.moves.append((run, "in", lot, part, None, at, litres, 20.0 if litres else None, None, None, kg))

    def still(
        self, run: str, lot: str, end: datetime, charge: float, kept: float, vessel: str, strength: float
    ) -> float:
        """The four parts of a still run; heads and tails wait for the next cycle. Returns the LPA of the hearts."""
        lost = charge * (0.013 + 0.003 * self.rng.standard_normal())
        hearts, heads, spent = charge * kept, charge * 0.02, charge * 0.005
        tails = charge - hearts - heads - spent - lost
        self.spirit(run, "out", lot, "hearts", vessel, end, hearts, strength)
        self.spirit(run, "out", f"{run}-H", "heads", "FE1", end, heads, 80.0)
        self.spirit(run, "out", f"{run}-T", "tails", "FE2", end, tails, 20.0)
        self.spirit(run, "out", f"{run}-S", "spent", "SP", end, spent, 0.2)
        self.feints += [(f"{run}-H", heads, "FE1"), (f"{run}-T", tails, "FE2")]
        return hearts

    def cycle(self, n: int) -> None:
        at = START + timedelta(days=n * 365.25 / CYCLES_A_YEAR)
        feints, self.feints = self.feints, []
        hearts = []
        for k in range(6):
            key = f"{n:04d}-{k}"
            began = at + timedelta(hours=2 * k)
            end = self.run(f"MSH-{key}", "mash", "MT", began, 6)
            self.goods(f"MSH-{key}", f"RYE-{key}", "grain", began, kg=500.0)
            self.goods(f"MSH-{key}", f"OAT-{key}", "grain", began, kg=150.0)
            volume = 2600 * (1 + 0.003 * self.rng.standard_normal())
            self.moves.append(
                (f"MSH-{key}", "out", f"WORT-{key}", "wort", f"F{k}", end, volume, 20.0, None, None, None)
            )
            end = self.run(f"FER-{key}", "ferment", f"F{k}", end, 60)
            self.moves.append(
                (f"FER-{key}", "in", f"WORT-{key}", "wort", f"F{k}", began, volume, 20.0, None, None, None)
            )
            self.goods(f"FER-{key}", f"YST-{key}", "yeast", began, kg=1.0)
            alcohol = 245 * (1 + 0.02 * self.rng.standard_normal())
            self.spirit(f"FER-{key}", "out", f"WASH-{key}", "wash", f"F{k}", end, alcohol, 9.5)
            self.spirit(f"STR-{key}", "in", f"WASH-{key}", "wash", f"F{k}", end, alcohol, 9.5)
            end = self.run(f"STR-{key}", "strip", f"S{k % 2}", end, 8)
            hearts.append(
                (f"HRT-{key}", self.still(f"STR-{key}", f"HRT-{key}", end, alcohol, 0.93, f"H{k}", 91.0), f"H{k}")
            )
        end = end + timedelta(hours=4)
        charge = 0.0
        for lot, alcohol, vessel in hearts:
            self.spirit(f"REC-{n:04d}", "in", lot, "hearts", vessel, end, alcohol, 91.0)
            charge += alcohol
        for lot, alcohol, vessel in feints:
            self.spirit(f"REC-{n:04d}", "in", lot, "feints", vessel, end, alcohol, 80.0 if vessel == "FE1" else 20.0)
            charge += alcohol
        end = self.run(f"REC-{n:04d}", "rectify", "R", end, 10)
        neutral = self.still(f"REC-{n:04d}", f"NS-{n:04d}", end, charge, 0.88, f"N{n % 2}", 96.0)
        if n % 3 == 0:
            dip = (end + timedelta(minutes=30), 100 * neutral / 96.0, 20.0, 96.0, "pct_vol_20c")
            self.stock.append((f"N{n % 2}", f"NS-{n:04d}", *dip))
        self.bottle(n, "V", f"NS-{n:04d}", neutral * 0.6, f"N{n % 2}", 96.0, end + timedelta(hours=1))
        for k in range(2):
            began = end + timedelta(hours=2 + k)
            self.spirit(f"BOT-{n:04d}-{k}", "in", f"NS-{n:04d}", "spirit", f"N{n % 2}", began, neutral * 0.198, 96.0)
            self.goods(f"BOT-{n:04d}-{k}", f"JUN-{n:04d}-{k}", "botanical", began, kg=7.0)
            after = self.run(f"BOT-{n:04d}-{k}", "botanical", "G", began, 8)
            distilled = self.still(f"BOT-{n:04d}-{k}", f"DIST-{n:04d}-{k}", after, neutral * 0.198, 0.86, f"D{k}", 75.0)
            self.bottle(n, f"G{k}", f"DIST-{n:04d}-{k}", distilled, f"D{k}", 75.0, after + timedelta(hours=1))

    def bottle(self, n: int, kind: str, lot: str, lpa: float, vessel: str, strength: float, at: datetime) -> None:
        key = f"{kind}-{n:04d}"
        end = self.run(f"RED-{key}", "reduce", f"P{kind}", at, 1)
        self.spirit(f"RED-{key}", "in", lot, "spirit", vessel, at, lpa, strength)
        self.goods(f"RED-{key}", f"WAT-{key}", "water", at, litres=lpa)
        self.spirit(f"RED-{key}", "out", f"PRF-{key}", "spirit", f"P{kind}", end, lpa * 0.998, 40.0)
        self.spirit(f"PAK-{key}", "in", f"PRF-{key}", "spirit", f"P{kind}", end, lpa * 0.998, 40.0)
        end = self.run(f"PAK-{key}", "bottle", "BL", end, 3)
        self.spirit(f"PAK-{key}", "out", f"B-{key}", "bottles", "BL", end, lpa * 0.99, 40.0)
        bottles = int(lpa * 0.99 / 0.40 / 0.7)
        self.bottling.append((f"B-{key}", f"PAK-{key}", "RYE", end, 700.0, 40.0, bottles, 0))


def make_large_book(folder: Path, years: int, seed: int = 7) -> None:
    """Write a book of so many years and derive everything from it."""
    cycles = _Cycles(seed)
    for n in range(years * CYCLES_A_YEAR):
        cycles.cycle(n)
    with open_book(folder, writing=True) as book:
        for schema in SCHEMAS:
            book.run_file(Path(pipeline.__file__).parent / schema)
        show_readings(book)
        digest = hashlib.sha256(HOUSE.encode()).hexdigest()
        book.execute("INSERT INTO received.houses VALUES (1, ?, 'house.toml', ?)", [digest, HOUSE])
        with book.transaction():
            _write(book, cycles)
            rebuild(book, profile_in_force(book))


def _write(book: Book, cycles: _Cycles) -> None:
    tables = {
        "runs": pl.DataFrame(cycles.runs, schema=RUN_SCHEMA, orient="row"),
        "movements": pl.DataFrame(cycles.moves, schema=MOVE_SCHEMA, orient="row", infer_schema_length=None),
        "intake": pl.DataFrame(
            cycles.intake, orient="row",
            schema={"lot": pl.String, "material": pl.String, "kind": pl.String, "received_at": pl.Datetime("us"),
                    "quantity_kg": pl.Float64, "quantity_l": pl.Float64},
        ),
        "bottling": pl.DataFrame(
            cycles.bottling, orient="row",
            schema=["lot", "run", "product", "bottled_at", "nominal_ml", "label_strength_pct_vol", "bottles_filled",
                    "bottles_rejected"],
        ),
        "stock": pl.DataFrame(
            cycles.stock, orient="row",
            schema=["vessel", "lot", "gauged_at", "volume_at_t_l", "volume_temperature_c", "strength_reading",
                    "reading_kind"],
        ),
    }  # fmt: skip
    for number, (name, frame) in enumerate(tables.items(), start=1):
        lines = pl.Series("line", np.arange(frame.height), dtype=pl.Int32)
        book.append(f"typed.{name}", frame.with_columns(lines, pl.lit(number, pl.Int32).alias("source_id")))
