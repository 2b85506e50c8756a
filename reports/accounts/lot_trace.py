"""A lot followed both ways, as lines of a tree and as a document with its mock recall."""

from dataclasses import dataclass
from typing import Any

import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.tracing import Recall, Traced, recall, trace
from gaugebook.pipeline.house.settings import House
from gaugebook.reports.page import figures, pages, wording
from gaugebook.reports.page.provenance import rule_files_sha256, software_version

# A tree shows lots with at least a thousandth of the alcohol, and at most so many lines; the table has all of them.
LEAST_SHOWN = 0.001
MOST_LINES = 400
WASTE = ("foreshots", "heads", "tails", "feints", "spent")


@dataclass(frozen=True)
class Line:
    """A line of a tree: a lot, what it is, how it came into the lot above it."""

    depth: int
    lot: str
    material: str
    run: str
    share: float | None
    quantity: float | None
    basis: str
    seen_above: bool


@dataclass(frozen=True)
class LotTrace:
    """What the command and the document show of a lot."""

    house: House
    traced: Traced
    recall: Recall
    materials: dict[str, str]

    @property
    def lot(self) -> dict[str, Any]:
        return self.traced.lot

    @property
    def bottles(self) -> int:
        return int(self.recall.bottles["bottles"].sum())

    @property
    def customers(self) -> list[str]:
        """Codes of those to whom it was sent, bottles and bulk."""
        sent = self.recall.removals.filter(pl.col("kind") == "dispatched")
        return sorted(sent["to_whom"].drop_nulls().unique().to_list())

    def back_lines(self) -> list[Line]:
        return _lines(self.traced.back, self.lot["lot"], "into_lot", "lot", "consumed", self.materials)

    def forward_lines(self) -> list[Line]:
        return _lines(self.traced.forward, self.lot["lot"], "lot", "into_lot", "quantity", self.materials)


def gather_trace(book: Book, house: House, lot: str) -> LotTrace:
    """Follow a lot both ways and say where it is now."""
    traced = trace(book, lot)
    materials = book.frame("""
        SELECT lot, material || CASE origin WHEN 'opening' THEN ', opening inventory' ELSE '' END FROM derived.lots
    """)
    return LotTrace(house, traced, recall(book, traced), dict(materials.iter_rows()))


def _lines(steps: pl.DataFrame, root: str, near: str, far: str, quantity: str, materials: dict[str, str]) -> list[Line]:
    """Depth-first lines from a lot outwards; what stands behind a lot is shown where it is met first."""
    branches: dict[str, list[dict[str, Any]]] = {}
    for step in steps.iter_rows(named=True):
        branches.setdefault(step[near], []).append(step)
    lines: list[Line] = []
    seen: set[str] = set()
    waiting = [(step, 1) for step in reversed(branches.get(root, []))]
    while waiting and len(lines) < MOST_LINES:
        step, depth = waiting.pop()
        if step["share"] is not None and step["share"] < LEAST_SHOWN:
            continue
        lot = step[far]
        again = lot in seen and lot in branches
        material = materials.get(lot, "not on record")
        lines.append(Line(depth, lot, material, step["run"], step["share"], step[quantity], step["basis"] or "", again))
        if not again:
            seen.add(lot)
            waiting += [(following, depth + 1) for following in reversed(branches.get(lot, []))]
    return lines


def left_out(steps: pl.DataFrame, lines: list[Line], far: str) -> int:
    """Lots that the table has and the tree does not show."""
    return steps[far].n_unique() - len({line.lot for line in lines})


def origin(lot: dict[str, Any]) -> str:
    """How a lot came to be, before the day: "received", "produced", "in the opening inventory of"."""
    return "in the opening inventory of" if lot["origin"] == "opening" else str(lot["origin"])


def trace_table(trace: LotTrace) -> pl.DataFrame:
    """Every step both ways, for spreadsheets."""
    parts = [
        steps.with_columns(pl.lit(direction).alias("direction"))
        for direction, steps in (("back", trace.traced.back), ("forward", trace.traced.forward))
    ]
    table = pl.concat(parts)
    return table.select("direction", *[name for name in table.columns if name != "direction"])


def verdict(trace: LotTrace) -> str:
    """The mock recall in a sentence."""
    lot, accounted = trace.lot, trace.recall.accounted
    batches = trace.recall.bottles.height
    vessels = trace.recall.stock["vessel"].n_unique()
    sentence = (
        f"{wording.plural(trace.bottles, 'bottle')} of {wording.plural(batches, 'batch', 'batches')} hold it, and "
        f"{wording.plural(vessels, 'vessel') + ' may' if vessels else 'no vessel does'}. "
    )
    sentence += _where_they_are(trace)
    if accounted is None:
        return sentence + "How much of it there was is not on record, so nothing can be said of what is accounted for."
    whole = figures.stated(lot["quantity_in"], lot["u_quantity_in"], lot["basis"])
    sentence += f"Of {whole}, {figures.percent(accounted)} is accounted for."
    u = (lot["u_quantity_in"] or 0.0) / lot["quantity_in"]
    if accounted > 1 + max(0.02, 4 * u):
        sentence += " That is more than there was: a draw is booked on the wrong lot, or a quantity is wrong."
    return sentence


def _where_they_are(trace: LotTrace) -> str:
    """Bottles that left, that are in the house, and that the last count did not find."""
    goods = trace.recall.goods
    sums = {name: int(goods[name].sum()) for name in ("dispatched", "returned", "in_the_house", "unaccounted")}
    if not goods.height:
        return ""
    out = sums["dispatched"] - sums["returned"]
    sentence = (
        f"{wording.plural(out, 'bottle')} are with {wording.plural(len(trace.customers), 'customer')}, "
        f"{sums['in_the_house']:,} in the house by the book"
    )
    lost = sums["unaccounted"]
    if not lost:
        return f"{sentence}. "
    which = "were not found" if lost > 0 else "were found too many"
    return f"{sentence}, of which {abs(lost):,} {which} at the last count. "


def removals_table(trace: LotTrace) -> pl.DataFrame:
    """What left the house or came back, for letters to customers."""
    return trace.recall.removals.select(
        "kind", "lot", "removed_at", "to_whom", "document", "duty_status", "pieces", "alcohol_l", "reason", "person",
        "witness", "share",
    )  # fmt: skip


def trace_pdf(trace: LotTrace) -> bytes:
    """The trace as PDF, dated by the lot, so the same book gives the same bytes."""
    back, forward = trace.back_lines(), trace.forward_lines()
    page = pages.html(
        "trace.html.jinja",
        trace.house.time_zone,
        found=trace,
        house=trace.house,
        lot=trace.lot,
        origin=origin(trace.lot),
        back=back,
        forward=forward,
        left_out_back=left_out(trace.traced.back, back, "lot"),
        left_out_forward=left_out(trace.traced.forward, forward, "into_lot"),
        bottles=trace.recall.bottles.to_dicts(),
        stock=trace.recall.stock.filter(~pl.col("material").is_in(WASTE)).to_dicts(),
        set_aside=set_aside(trace),
        goods=trace.recall.goods.to_dicts(),
        removals=trace.recall.removals.to_dicts(),
        verdict=wording.unbroken(verdict(trace)),
        software=software_version(),
        rule_book=rule_files_sha256(),
    )
    last = trace.recall.bottles["bottled_at"].max() or trace.lot["made_at"]
    return pages.pdf(page, last, trace.house.documents.paper)  # type: ignore[arg-type]


def set_aside(trace: LotTrace) -> list[dict[str, Any]]:
    """Heads, tails and spent liquor that hold the lot, by vessel."""
    waste = trace.recall.stock.filter(pl.col("material").is_in(WASTE))
    by_vessel = waste.group_by("vessel").agg(pl.len().alias("lots"), pl.col("held_l").sum()).sort("vessel")
    return by_vessel.to_dicts()
