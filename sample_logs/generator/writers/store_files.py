"""Files of the stores and the floor: goods received, balance, fills, dips, calibrations, panels."""

from ..chance import stream
from ..records import Book, Dip, Receipt
from .output import Output, Section, by_month, lines, shown
from .run_sheets import READ_AS

UNREADABLE_DIP = 29  # number of the dip whose temperature nobody could read


def intake(book: Book) -> list[Output]:
    """Goods received, with what the certificates say."""
    header = ["Lot", "Material", "Kind", "Supplier", "Received", "Qty kg", "Qty L", "Qty pcs", "Extract % dm",
              "Moisture %", "Condition", "Best before", "Remarks"]  # fmt: skip
    outputs = []
    for month, receipts in by_month(book.receipts, lambda r: r.received).items():
        content = lines([header, *(_receipt(r) for r in receipts)])
        outputs.append(Output(f"{month}/intake_{month}.csv", content, (Section("intake", len(receipts)),)))
    return outputs


def _receipt(r: Receipt) -> list[object]:
    quantities = [f"{r.quantity:g}" if r.unit == unit else None for unit in ("kg", "l", "pieces")]
    remark = stream(f"remark {r.lot}").choice(("", "", "", "bags dry"))
    before = f"{r.best_before:%Y-%m-%d}" if r.best_before else None
    return [
        r.lot, r.material, r.kind, r.supplier, f"{r.received:%Y-%m-%d %H:%M}", *quantities, shown(r.extract_pct, 1),
        shown(r.moisture_pct, 1), r.condition or None, before, remark,
    ]  # fmt: skip


def balance(book: Book) -> list[Output]:
    """Botanicals in grams, with the balance's own total at the foot."""
    outputs = []
    for month, items in by_month((m for m in book.movements if m.by_balance), lambda m: m.gauged).items():
        grams = [1000.0 * (m.gauge.mass_kg or 0.0) for m in items]
        rows: list[list[object]] = [
            [f"{m.gauged:%d.%m.%Y %H:%M}", m.run, m.lot, shown(g, 1), _weigher(m.run)]
            for m, g in zip(items, grams, strict=True)
        ]
        rows.append(["TOTAL", None, None, shown(sum(grams), 1), None])
        content = lines([["Weighed", "Run", "Lot", "Net g", "By"], *rows])
        section = Section("movements", len(rows), passed_over=1)
        outputs.append(Output(f"{month}/balance_{month}.csv", content, (section,)))
    return outputs


def _weigher(run: str) -> str:
    return stream(f"weigher {run}").choice(("aq", "AQ", "br"))


def fills(book: Book) -> list[Output]:
    """Net contents of sampled bottles, at 20 °C."""
    outputs = []
    for month, items in by_month(book.bottlings, lambda b: b.bottled).items():
        rows = [
            [item.batch, number, f"{item.bottled:%Y-%m-%d}", shown(content, 1)]
            for item in items
            for number, content in enumerate(item.fills_ml, start=1)
        ]
        content = lines([["batch", "bottle", "date", "net mL at 20 C"], *rows])
        outputs.append(Output(f"{month}/fills_{month}.csv", content, (Section("fills", len(rows)),)))
    return outputs


def stock(book: Book) -> list[Output]:
    """Dips of the last day of each month."""
    header = ["tank", "lot", "dipped", "volume L", "volume C", "strength", "read as", "strength C", "meter"]
    numbers = {id(dip): number for number, dip in enumerate(book.dips)}
    outputs = []
    for month, dips in by_month(book.dips, lambda d: d.gauged).items():
        refused = sum(numbers[id(dip)] == UNREADABLE_DIP for dip in dips)
        rows = [_dip(dip, numbers[id(dip)] == UNREADABLE_DIP) for dip in dips]
        section = Section("stock", len(rows), refused)
        outputs.append(Output(f"{month}/stock_{month}.csv", lines([header, *rows]), (section,)))
    return outputs


def _dip(dip: Dip, unreadable: bool) -> list[object]:
    gauge = dip.gauge
    return [
        dip.vessel, dip.lot, f"{dip.gauged:%Y-%m-%d %H:%M}", gauge.volume_l,
        "n/a" if unreadable else gauge.volume_temperature_c, gauge.reading, READ_AS[gauge.reading_kind or ""],
        gauge.reading_temperature_c, gauge.instrument,
    ]  # fmt: skip


def calibrations(book: Book) -> list[Output]:
    """Checks of the instruments against references."""
    outputs = []
    for month, items in by_month(book.checks, lambda c: c.checked).items():
        rows = [
            [c.instrument, f"{c.checked:%Y-%m-%d %H:%M}", c.reference, c.reading, c.unit, f"{c.due:%Y-%m-%d}"]
            for c in items
        ]
        content = lines([["instrument", "checked", "reference", "reading", "unit", "next due"], *rows])
        outputs.append(Output(f"{month}/calibrations_{month}.csv", content, (Section("calibrations", len(rows)),)))
    return outputs


def panels(book: Book) -> list[Output]:
    """Tasting sessions."""
    outputs = []
    for month, items in by_month(book.panels, lambda p: p.held).items():
        rows = [
            [p.session, p.lot, p.reference_lot, f"{p.held:%Y-%m-%d %H:%M}", "triangle", p.assessors, p.correct]
            for p in items
        ]
        content = lines([["session", "lot", "reference", "held", "test", "assessors", "correct"], *rows])
        outputs.append(Output(f"{month}/panel_{month}.csv", content, (Section("panel", len(rows)),)))
    return outputs
