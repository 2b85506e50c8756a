"""The monthly workbook of the still house: runs, gauges and bottling, as three people fill it in."""

from datetime import datetime

from ..chance import stream
from ..records import Book, Bottling, Movement, Run
from .output import Output, Section, by_month
from .workbook import Cell, workbook

TITLE = "Quillmere Stillhouse (invented) - run sheets"
RUNS = ("Run", "Stage", "Equipment", "Product", "Recipe", "Start", "End", "Op", "Hearts from", "Hearts to", "Notes")
GAUGES = (
    "Run", "In/Out", "Lot", "Part", "Vessel", "Gauged", "Volume L", "Volume °C", "Strength", "Read as", "Strength °C",
    "Mass kg", "Meter", "Notes",
)  # fmt: skip
BOTTLING = ("Batch", "Run", "Product", "Bottled", "Nominal mL", "Label % vol", "Filled", "Rejected", "Op")
READ_AS = {"alcoholmeter": "hydrometer", "density": "kg/m3", "pct_vol_20c": "lab % vol"}
REMARKS = ("", "", "", "", "", "", "steady", "slow to heat ", "tank rinsed", "see log", "ok", "checked twice")


def run_sheets(book: Book) -> list[Output]:
    """One workbook a month."""
    runs = by_month(book.runs, lambda r: r.started)
    gauges = by_month((m for m in book.movements if not m.by_balance), lambda m: m.gauged)
    bottlings = by_month(book.bottlings, lambda b: b.bottled)
    outputs = []
    for month in runs:
        sheets: dict[str, list[list[Cell]]] = {
            "Runs": [*_title("Runs", month), list(RUNS), *(_run(r) for r in runs[month])],
            "Gauges": [*_title("Gauges", month), list(GAUGES), *(_gauge(m) for m in gauges[month])],
            "Bottling": [*_title("Bottling", month), list(BOTTLING), *(_bottling(b) for b in bottlings.get(month, []))],
        }
        kinds = {"Runs": "runs", "Gauges": "movements", "Bottling": "bottling"}
        sections = tuple(Section(kinds[name], len(rows) - 3) for name, rows in sheets.items())
        outputs.append(Output(f"{month}/runs_{month}.xlsx", workbook(sheets), sections))
    return outputs


def _title(sheet: str, month: str) -> list[list[Cell]]:
    return [[TITLE], [f"{sheet} of {month}, local time"]]


def _habit(name: str, word: str | None) -> str | None:
    """A word as hands write it: now and then in capitals, or with a blank behind it."""
    if word is None:
        return None
    chance = stream(f"habit {name}").random()
    if chance < 0.06:
        return word.upper()
    if chance < 0.14:
        return word.capitalize()
    return f"{word} " if chance < 0.18 else word


def _run(run: Run) -> list[Cell]:
    rng = stream(f"remark {run.run}")
    remark = run.note or rng.choice(REMARKS)
    operator: str | None = run.operator if rng.random() > 0.03 else None
    return [
        run.run, _habit(f"stage {run.run}", run.stage), run.equipment, run.product, run.recipe, run.started, run.ended,
        _habit(f"operator {run.run}", operator), run.hearts_from, run.hearts_to, remark or None,
    ]  # fmt: skip


def _gauge(movement: Movement) -> list[Cell]:
    gauge = movement.gauge
    name = f"{movement.run} {movement.direction} {movement.lot}"
    read_as = READ_AS[gauge.reading_kind] if gauge.reading_kind else None
    return [
        movement.run, _habit(f"direction {name}", movement.direction), movement.lot,
        _habit(f"part {name}", movement.part), movement.vessel, _minute(movement.gauged), gauge.volume_l,
        gauge.volume_temperature_c, gauge.reading, read_as, gauge.reading_temperature_c, gauge.mass_kg,
        gauge.instrument, movement.note or None,
    ]  # fmt: skip


def _bottling(item: Bottling) -> list[Cell]:
    return [
        item.batch, item.run, item.product, item.bottled, item.nominal_ml, item.label_pct_vol, item.filled,
        item.rejected, item.operator,
    ]  # fmt: skip


def _minute(at: datetime) -> datetime:
    return at.replace(second=0, microsecond=0)
