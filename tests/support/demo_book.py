"""A small invented book, written straight into the tables, for tests of the documents.

Three batches: VOD-3105A (rye and oat vodka, clear), GIN-3105A (distilled gin, stopped) and EMP-3105A (a bottling
record and nothing else). Numbers are made up but agree with each other: what one run makes the next one draws.
"""

import math
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import polars as pl

from gaugebook import checks, pipeline
from gaugebook.checks.flags.freshness import note_checked
from gaugebook.pipeline.book.database import Book, open_book
from gaugebook.pipeline.derived.build_state import note_made
from gaugebook.pipeline.derived.curves.run_curves import run_curves
from gaugebook.pipeline.derived.house_tables import house_tables
from gaugebook.pipeline.house.settings import House, parse_house
from gaugebook.pipeline.typed.log_store import LogFile, log_path, show_readings

HOUSE = """
[house]
name = "Quillmere Stillhouse"
note = "An invented house: its people, lots and figures are made up."
time_zone = "Europe/Copenhagen"
site_altitude_m = 60.0

[[stills]]
code = "S1"
name = "Strip still 1"
capacity_l = 2800.0
plates = 8
log_interval_s = 60

[[recipes]]
name = "juniper and peel"
stage = "botanical"
charge_strength_pct_vol = 50.0
ingredients = [
    { material = "juniper berry", g_per_lpa = 28.0, condition = "dried" },
    { material = "lemon peel", g_per_lpa = 4.0, condition = "fresh" },
]

[[products]]
code = "VODKA"
name = "Rye and oat vodka"
category = "vodka"
jurisdiction = "EU"
label_strength_pct_vol = 40.0
nominal_ml = 700.0
laboratory = ["strength", "methanol"]

[[products]]
code = "GIN"
name = "Marsh gin"
category = "distilled gin"
jurisdiction = "EU"
label_strength_pct_vol = 44.0
nominal_ml = 500.0
laboratory = ["strength", "methanol"]
"""

START = datetime(2031, 3, 3, 7, 0)
VODKA, GIN, EMPTY = "VOD-3105A", "GIN-3105A", "EMP-3105A"


def demo_house() -> House:
    return parse_house(HOUSE, "house.toml of the tests")


def write_demo_book(folder: Path, strips: int = 12) -> Path:
    """The book in this folder, made anew; returns the folder."""
    with open_book(folder, writing=True) as book, book.transaction():
        root = Path(pipeline.__file__).parent
        for stage in ("received", "landed", "typed", "derived/casks", "derived/goods", "derived"):
            book.run_file(root / stage / "schema.sql")
        for file in ("schema.sql", "history.sql"):
            book.run_file(Path(checks.__file__).parent / file)
        _Pen(book, strips).write()
        note_made(book, "by hand")
        note_checked(book, (), START + timedelta(days=90))
    return folder


class _Pen:
    """Collects rows by table and appends them at the end."""

    def __init__(self, book: Book, strips: int) -> None:
        self.book, self.strips = book, strips
        self.rows: dict[str, list[dict[str, Any]]] = {}
        self.line = 3

    def add(self, table: str, **row: Any) -> None:
        self.rows.setdefault(table, []).append(row)

    def write(self) -> None:
        self._files()
        self._vodka()
        self._gin()
        self._empty()
        self._months()
        self._flags()
        log = LogFile(log_path(self.book.folder, "0" * 64, 1, 1))
        log.add(pl.DataFrame(self.rows.pop("typed.readings")), 2)
        log.close(self.book, 2)
        show_readings(self.book)
        for table, rows in self.rows.items():
            self.book.append(table, pl.DataFrame(rows, infer_schema_length=None))
        house_tables(self.book, demo_house())
        for name in ("log_blocks", "log_summaries"):
            self.book.run_file(Path(pipeline.__file__).parent / "derived" / f"{name}.sql")
        run_curves(self.book, demo_house())

    def _files(self) -> None:
        names = ("run_sheet.xlsx", "S1_log.csv", "laboratory.csv", "balance.csv")
        for number, name in enumerate(names, start=1):
            self.add("received.files", file_id=number, sha256=f"{number:064x}", name=name, origin="sample_logs",
                     size_bytes=1000 * number, map=name.split(".")[0], map_sha256="0" * 64, received_at=START,
                     received_by="nobody", times_read=1)  # fmt: skip
            self.add("landed.sources", source_id=number, file_id=number, sheet="Runs" if number == 1 else None,
                     header_line=2, header=["a"])  # fmt: skip
            self.add("typed.row_counts", source_id=number, section=1, kind="runs", rows_in=101, kept=100, held=0,
                     refused=int(number == 3), passed_over=0)  # fmt: skip

    def run(self, run: str, stage: str, equipment: str, day: float, hours: float, **more: Any) -> None:
        start = START + timedelta(days=day)
        self.line += 1
        self.add("typed.runs", run=run, stage=stage, equipment=equipment, started_at=start,
                 ended_at=start + timedelta(hours=hours), operator="AQ", source_id=1, line=self.line,
                 **more)  # fmt: skip

    def moved(self, run: str, direction: str, lot: str, part: str, **more: Any) -> None:
        self.line += 1
        row = dict(run=run, direction=direction, lot=lot, part=part, source_id=1, line=self.line, **more)
        self.add("derived.gauges", gauge=self.line, **row)
        # all volumes by one vessel's scale, all strengths by one alcoholmeter
        volume, alcohol = more.get("u_volume_l", 0.0), more.get("alcohol_l", 0.0)
        self.add("derived.gauge_errors", gauge=self.line, error="vessel W1", volume_l=volume, alcohol_l=0.003 * alcohol)
        if strength := more.get("strength_pct_vol"):
            self.add("derived.gauge_errors", gauge=self.line, error="any alcoholmeter", volume_l=0.0,
                     alcohol_l=alcohol * 0.15 / strength)  # fmt: skip
        typed = {"volume_at_t_l": more.get("volume_l"), "mass_kg": more.get("mass_kg")}
        self.add(
            "typed.movements", run=run, direction=direction, lot=lot, part=part, source_id=1, line=self.line, **typed
        )

    def spirit(self, run: str, direction: str, lot: str, part: str, volume_l: float, strength: float) -> float:
        alcohol = volume_l * strength / 100
        self.moved(run, direction, lot, part, vessel="W1", volume_l=volume_l, u_volume_l=0.003 * volume_l,
                   strength_reading=strength - 0.6, reading_kind="alcoholmeter", reading_temperature_c=17.9,
                   strength_pct_vol=strength, u_strength_pct_vol=0.15, alcohol_l=alcohol,
                   u_alcohol_l=alcohol * math.hypot(0.003, 0.15 / strength))  # fmt: skip
        return alcohol

    def balance(self, run: str, stage: str, day: float, hours: float, **lpa: float) -> None:
        start = START + timedelta(days=day)
        gone_in, out = lpa.pop("charge"), sum(lpa.values())
        u_in, u_out = 0.0035 * gone_in, 0.0035 * out
        self.add("derived.run_balances", run=run, stage=stage, equipment="S1" if stage == "strip" else "S2",
                 started_at=start, ended_at=start + timedelta(hours=hours), alcohol_in_l=gone_in, u_alcohol_in_l=u_in,
                 alcohol_out_l=out, u_alcohol_out_l=u_out, heads_l=lpa.get("heads", 0.0), hearts_l=lpa["hearts"],
                 tails_l=lpa.get("tails", 0.0), spent_l=lpa.get("spent", 0.0), loss_l=gone_in - out,
                 u_loss_l=math.hypot(u_in, u_out), recovery=lpa["hearts"] / gone_in, u_recovery=0.005,
                 closure=out / gone_in, u_closure=0.005, hearts_strength_pct_vol=90.1,
                 parts_not_computed=0)  # fmt: skip

    def edge(self, batch: str, run: str, stage: str, lot: str, into: str, depth: int, quantity: float, basis: str,
             share: float | None = None) -> None:  # fmt: skip
        self.add("derived.lineage", batch=batch, run=run, stage=stage, lot=lot, into_lot=into, depth=depth, share=share,
                 quantity=quantity, basis=basis)  # fmt: skip

    def lot(self, lot: str, material: str, made_by: str | None = None) -> None:
        self.add(
            "derived.lots",
            lot=lot,
            origin="produced" if made_by else "received",
            material=material,
            made_by_run=made_by,
        )

    def log(self, day: float, hours: float, equipment: str, wobble: int = 0) -> None:
        start = START + timedelta(days=day)
        for minute in range(0, int(hours * 60), 2):
            part = minute / (hours * 60)
            tags = {
                "pot_temperature_c": 92 + 7 * part + 0.1 * ((minute * 7 + wobble) % 5),
                "vapour_temperature_c": 78.4 + max(0.0, part - 0.8) * 60,
                "parrot_strength_pct_vol": 92 - 3 * part - max(0.0, part - 0.8) * 250 + 0.2 * ((minute + wobble) % 3),
                "distillate_flow_l_h": 45 - 6 * part,
            }
            for tag, value in tags.items():
                self.add("typed.readings", equipment=equipment, read_at=start + timedelta(minutes=minute), tag=tag,
                         value=round(value, 2), line=10 + minute)  # fmt: skip

    def cuts(self, day: float, hours: float) -> dict[str, datetime]:
        start = START + timedelta(days=day)
        return {"hearts_from": start + timedelta(hours=0.1 * hours), "hearts_to": start + timedelta(hours=0.82 * hours)}

    def _vodka(self) -> None:
        self.lot("MALT-1", "rye malt")
        self.lot("OAT-1", "oat flakes")
        for n in range(1, self.strips + 1):
            mash, ferment, strip = f"MSH-{n:02}", f"FER-{n:02}", f"STR-{n:02}"
            self.run(mash, "mash", "MT1", n, 6, product="VODKA", recipe="rye-oat mash")
            self.moved(mash, "in", "MALT-1", "grain", mass_kg=520.0)
            self.moved(mash, "in", "OAT-1", "grain", mass_kg=130.0)
            self.moved(mash, "out", f"WORT-{n:02}", "wort", volume_l=2400.0, u_volume_l=7.2)
            self.edge(VODKA, mash, "mash", "MALT-1", f"WORT-{n:02}", 8, 520.0, "kg")
            self.edge(VODKA, mash, "mash", "OAT-1", f"WORT-{n:02}", 8, 130.0, "kg")
            self.lot(f"WORT-{n:02}", "wort", mash)
            self.run(ferment, "ferment", f"F{n % 4 + 1}", n + 0.4, 150, product="VODKA")
            self.moved(ferment, "in", f"WORT-{n:02}", "wort", volume_l=2400.0, u_volume_l=7.2)
            wash = self.spirit(ferment, "out", f"WASH-{n:02}", "wash", 2400.0, 9.9)
            self.edge(VODKA, ferment, "ferment", f"WORT-{n:02}", f"WASH-{n:02}", 7, 2400.0, "L")
            self.lot(f"WASH-{n:02}", "wash", ferment)
            self.add("derived.ferment_yields", run=ferment, mash_run=mash, wash_lot=f"WASH-{n:02}", equipment="F1",
                     started_at=START + timedelta(days=n + 0.4), ended_at=START + timedelta(days=n + 6.6),
                     grain_kg=650.0,
                     original_gravity=1.0752, final_gravity=1.0021, apparent_attenuation=0.972, wash_volume_l=2400.0,
                     wash_strength_pct_vol=9.9, alcohol_l=wash, u_alcohol_l=2.2, predicted_alcohol_l=240.0,
                     yield_l_per_t=wash / 0.65, u_yield_l_per_t=3.4, predicted_yield_l_per_t=240 / 0.65,
                     yield_ratio=wash / 240, malt_lots=["MALT-1", "OAT-1"])  # fmt: skip
            self.run(strip, "strip", "S1", n + 7, 6, product="VODKA", **self.cuts(n + 7, 6))
            self.spirit(strip, "in", f"WASH-{n:02}", "wash", 2400.0, 9.9)
            hearts = self.spirit(strip, "out", f"LW-{n:02}", "hearts", 250.0, 90.1 - 0.02 * n)
            tails = self.spirit(strip, "out", f"TL-{n:02}", "tails", 20.0, 30.0)
            self.balance(strip, "strip", n + 7, 6, charge=wash, hearts=hearts, tails=tails)
            self.edge(VODKA, strip, "strip", f"WASH-{n:02}", f"LW-{n:02}", 6, wash, "LPA", 1 / self.strips)
            self.lot(f"LW-{n:02}", "hearts", strip)
            self.log(n + 7, 6, "S1", n)
        for half, rectify in enumerate(("REC-01", "REC-02")):
            drawn = range(half * self.strips // 2 + 1, (half + 1) * self.strips // 2 + 1)
            day = 22.0 + half
            self.run(rectify, "rectify", "S2", day, 9, product="VODKA", **self.cuts(day, 9))
            charge = sum(self.spirit(rectify, "in", f"LW-{n:02}", "hearts", 250.0, 90.1 - 0.02 * n) for n in drawn)
            heads = self.spirit(rectify, "out", f"HD-{half}", "heads", 40.0, 96.0)
            hearts = self.spirit(rectify, "out", f"NS-{half}", "hearts", 0.93 * charge / 0.964, 96.4)
            self.balance(rectify, "rectify", day, 9, charge=charge, heads=heads, hearts=hearts)
            for n in drawn:
                self.edge(VODKA, rectify, "rectify", f"LW-{n:02}", f"NS-{half}", 5, 225.0, "LPA", 1 / self.strips)
            self.lot(f"NS-{half}", "hearts", rectify)
            self.log(day, 9, "S2", half)
        self._finish(VODKA, "VODKA", ["NS-0", "NS-1"], 900.0, 96.4, 40.0, 700.0, 25.0, label="40.0")
        for analyte, value, unit in (("strength", 40.05, "pct_vol"), ("methanol", 3.1, "g/hL pa"), ("ph", 7.1, "pH")):
            self.result(f"RED-{VODKA}", analyte, value, unit)
        self.add("typed.panel", session="PAN-1", lot=VODKA, reference_lot="VOD-3102A", held_at=START, test="triangle",
                 assessors=18, correct_answers=7, source_id=3, line=40)  # fmt: skip

    def _finish(self, batch: str, product: str, spirits: list[str], volume_l: float, strength: float, label_pct: float,
                nominal_ml: float, day: float, label: str) -> None:  # fmt: skip
        reduce_, bottle, lot = f"RDC-{batch}", f"BTL-{batch}", f"RED-{batch}"
        self.run(reduce_, "reduce", "T4", day, 5, product=product)
        alcohol = 0.0
        for spirit in spirits:
            alcohol += self.spirit(reduce_, "in", spirit, "spirit", volume_l / len(spirits), strength)
            self.edge(batch, reduce_, "reduce", spirit, lot, 2, alcohol, "LPA", 1 / len(spirits))
        final = alcohol / (label_pct + 0.05) * 100
        self.moved(reduce_, "in", "WATER-1", "water", volume_l=1.03 * (final - volume_l), u_volume_l=2.0, alcohol_l=0.0)
        self.spirit(reduce_, "out", lot, "spirit", final, label_pct + 0.05)
        self.edge(batch, reduce_, "reduce", "WATER-1", lot, 2, 1.03 * (final - volume_l), "L")
        self.lot("WATER-1", "water")
        self.lot(lot, "spirit", reduce_)
        self.balance(reduce_, "reduce", day, 5, charge=alcohol, hearts=alcohol)
        self.run(bottle, "bottle", "B1", day + 2, 6, product=product)
        self.spirit(bottle, "in", lot, "spirit", final, label_pct + 0.05)
        bottles = int(final * 1000 / nominal_ml) - 9
        bottled = self.spirit(bottle, "out", batch, "bottles", bottles * nominal_ml / 1000, label_pct + 0.05)
        self.balance(bottle, "bottle", day + 2, 6, charge=alcohol, hearts=bottled)
        self.edge(batch, bottle, "bottle", lot, batch, 1, alcohol, "LPA", 1.0)
        self.lot(batch, "bottles", bottle)
        self.bottling(batch, bottle, product, day + 2.2, nominal_ml, label_pct, bottles, alcohol, bottled)

    def bottling(self, batch: str, run: str, product: str, day: float, nominal_ml: float, label_pct: float,
    bottles: int,
                 alcohol_in: float | None, bottled: float | None) -> None:  # fmt: skip
        at = START + timedelta(days=day)
        self.add("typed.bottling", lot=batch, run=run, product=product, bottled_at=at, nominal_ml=nominal_ml,
                 label_strength_pct_vol=label_pct, bottles_filled=bottles, bottles_rejected=4, operator="BN",
                 source_id=1,
                 line=90)  # fmt: skip
        fills = [nominal_ml + 0.4 + 0.9 * math.sin(2.1 * n) for n in range(20)] if alcohol_in else []
        for n, fill in enumerate(fills):
            self.add("typed.fills", lot=batch, sample_no=n + 1, net_content_ml=round(fill, 1), source_id=4, line=n + 2)
        self.add("derived.bottlings", batch=batch, run=run, product=product, jurisdiction="EU", bottled_at=at,
                 stated_at_c=20.0, fill_factor=1.0, fills_asked=50, fill_most_ml=max(fills, default=None),
                 stated_strength_pct_vol=label_pct + 0.05 if fills else None, nominal_ml=nominal_ml,
                 label_strength_pct_vol=label_pct, bottles_filled=bottles, bottles_rejected=4,
                 laboratory_strength_pct_vol=label_pct + 0.05 if fills else None,
                 u_laboratory_strength_pct_vol=0.05 if fills else None, label_deviation_pct_vol=0.05 if fills else None,
                 alcohol_in_l=alcohol_in, u_alcohol_in_l=4.0 if fills else None, alcohol_bottled_l=bottled,
                 u_alcohol_bottled_l=1.6 if fills else None, u_bottling_loss=0.004 if fills else None,
                 bottling_loss=1 - bottled / alcohol_in if fills else None, fills=len(fills),
                 fill_mean_ml=sum(fills) / len(fills) if fills else None, fill_sd_ml=0.65 if fills else None,
                 fill_least_ml=min(fills) if fills else None, tolerable_negative_error_ml=15.0 if fills else None,
                 fills_below_tne=0 if fills else None, fills_below_2tne=0 if fills else None)  # fmt: skip
        self.add("derived.batch_yields", batch=batch, grain_kg=7800.0 if fills else None, alcohol_bottled_l=bottled,
                 predicted_alcohol_l=2900.0 if fills else None, yield_l_per_t=331.0 if fills else None,
                 own_share=0.82 if fills else None, bought_share=0.11 if fills else None,
                 opening_share=0.07 if fills else None, own_alcohol_l=0.82 * bottled if fills else None,
                 grain_to_bottle=0.89 if fills else None, days_grain_to_bottle=27.0 if fills else None)  # fmt: skip
        if fills:
            self._materials(batch)

    def _materials(self, batch: str) -> None:
        """Every way in which a certificate may speak, what it may lack, and spirit of both origins."""
        ways = [
            ("rye malt", "extract", None), ("molasses", "total sugars", None), ("cane juice", "sugars", None),
            ("apples", "juice", None), ("grape must", "must", None), ("syrup", "solids", "no fermentability"),
            ("honey", None, "no certificate"), ("wheat", None, "extract without moisture"),
            ("treacle", None, "more sugar than solids"), ("whey", "sugars", "no mass"),
        ]  # fmt: skip
        for number, (material, basis, why) in enumerate(ways):
            self.add("derived.batch_bill", batch=batch, lot=f"MAT-{number}", material=material, origin="fermented",
                     basis=basis, not_known=why, mass_kg=None if why == "no mass" else 780.0,
                     predicted_alcohol_l=None if why else 290.0)  # fmt: skip
        for number in range(6):
            self.add("derived.batch_bill", batch=batch, lot=f"NS-{number}", material="neutral spirit", origin="bought",
                     alcohol_share=0.02, strength_pct_vol=96.2)  # fmt: skip
        self.add("derived.batch_bill", batch=batch, lot="OLD-9", material="old spirit", origin="opening",
                 alcohol_share=0.07)  # fmt: skip

    def result(self, lot: str, analyte: str, value: float, unit: str) -> None:
        self.line += 1
        self.add("typed.laboratory", sample=f"L-{self.line}", lot=lot, analyte=analyte, value=value, below_limit=False,
                 unit=unit, replicate=1, source_id=3, line=self.line)  # fmt: skip
        self.add("derived.laboratory", lot=lot, analyte=analyte, value=value, unit=unit, u_value=0.02 * value,
                 below_limit=False, replicates=2, spread=0.01 * value, per_alcohol_g_hl=None, samples=f"L-{self.line}",
                 methods="densitometry", measured_at=START, source_id=3, line=self.line)  # fmt: skip

    def _gin(self) -> None:
        self.lot("JUN-1", "juniper berry")
        self.lot("PEEL-1", "lemon peel")
        self.run("BOT-01", "botanical", "S2", 30, 7, product="GIN", recipe="juniper and peel", **self.cuts(30, 7))
        charge = self.spirit("BOT-01", "in", "NS-0", "spirit", 300.0, 96.4)
        for lot, grams in (("JUN-1", 14.0), ("PEEL-1", 4.0)):
            self.moved("BOT-01", "in", lot, "botanical", mass_kg=grams * charge / 1000)
            self.edge(GIN, "BOT-01", "botanical", lot, "GD-1", 3, grams * charge / 1000, "kg")
        hearts = self.spirit("BOT-01", "out", "GD-1", "hearts", 340.0, 78.5)
        self.balance("BOT-01", "botanical", 30, 7, charge=charge, heads=3.0, hearts=hearts, tails=14.0)
        self.edge(GIN, "BOT-01", "botanical", "NS-0", "GD-1", 3, charge, "LPA", 1.0)
        self.lot("GD-1", "hearts", "BOT-01")
        self.log(30, 7, "S2")
        for name, lot, charged, recipe, have, want in (
            ("juniper berry", "JUN-1", 14.0, 28.0, "dried", "dried"),
            ("lemon peel", "PEEL-1", 4.0, 4.0, "dried", "fresh"),
        ):
            self.add("derived.botanical_bill", run="BOT-01", stage="botanical", recipe="juniper and peel",
                     botanical=name,
                     lots=[lot], charged_kg=charged * charge / 1000, alcohol_l=charge, charged_g_per_lpa=charged,
                     recipe_g_per_lpa=recipe, ratio=charged / recipe, condition=have,
                     recipe_condition=want)  # fmt: skip
        self._finish(GIN, "GIN", ["GD-1"], 340.0, 78.5, 44.0, 500.0, 33.0, label="44.0")
        self.result(f"RED-{GIN}", "strength", 44.55, "pct_vol")

    def _empty(self) -> None:
        self.bottling(EMPTY, "BTL-EMP", "NOBODY", 40.0, 700.0, 40.0, 12, None, None)

    def _months(self) -> None:
        for month, ratio in ((3, 0.95), (4, 0.94)):
            for measure, equipment in (("strip_recovery", None), ("strip_recovery", "S1"), ("rectify_recovery", None)):
                self.add("derived.monthly", month=datetime(2031, month, 1).date(), measure=measure, equipment=equipment,
                         numerator=1000 * ratio, denominator=1000.0, ratio=ratio, u_ratio=0.004, runs=6,
                         runs_left_out=1 if month == 4 else 0)  # fmt: skip

    def _flags(self) -> None:
        shared = {"subject": "botanicals", "answer": "out", "source_id": 1, "line": 7, "batch": GIN, "run": "BOT-01"}
        self.add("flagged.flags", flag="f1", rule="botanical-quantity", record="run BOT-01, juniper berry",
                 severity="stops release", quantity="juniper berry against its recipe", value="14.0",
                 limits="25.2 to 30.8", unit="g/LPA",
                 message="run BOT-01, juniper berry: Juniper berry was charged at half of what the recipe asks.",
                 reason="The quantity of a botanical is what makes the spirit what its label says.",
                 citation="House limit", **shared)  # fmt: skip
        self.add("flagged.flags", flag="f2", rule="botanical-condition", record="run BOT-01, lemon peel",
                 severity="needs explanation", quantity="condition of lemon peel", value="dried", limits="fresh",
                 unit=None,
                 message="run BOT-01, lemon peel: Dried lemon peel was charged where the recipe asks for fresh.",
                 reason="Dried and fresh peel give different oils.", citation="Common practice", **shared)  # fmt: skip
        for flag in ("f1", "f2"):
            self.add("flagged.batch_flags", batch=GIN, flag=flag)
        self.add("flagged.rules", rule="botanical-quantity", subject="botanicals", quantity="against the recipe",
                 compared="possible 0.9 to 1.1", unit="g per g", severity="stops release", citation="House limit",
                 by_house=True, of_law=False)  # fmt: skip
        self.add("flagged.rule_counts", rule="botanical-quantity", subject="botanicals", records=2, within=1,
                 doubtful=0,
                 out=1, not_evaluated=0)  # fmt: skip
        at = START + timedelta(days=27)
        for batch, product, standing, stops, explain in (
            (VODKA, "VODKA", "clear", 0, 0),
            (GIN, "GIN", "stopped", 1, 1),
        ):
            self.add("flagged.standings", batch=batch, product=product, bottled_at=at, standing=standing,
                     stops_release=stops, needs_explanation=explain, for_information=0)  # fmt: skip
