"""One lot followed through the graph of steps: back to what it was made from, forward to what was made of it.

Every lot is followed, however small its share. The steps stand in an order in which a lot comes after all that it was
made from, so each direction is one pass.
"""

from dataclasses import dataclass
from pathlib import Path

import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.errors import UnknownRecord

HERE = Path(__file__).parent
COLUMNS = ["lot", "run", "stage", "into_lot", "depth", "share", "quantity", "basis", "consumed"]


@dataclass(frozen=True)
class Traced:
    """A lot with the steps behind it and the steps after it.

    Attributes
    ----------
    lot : dict
        Its row of derived.lots
    back : DataFrame
        Steps behind it, the nearest first: lot, run, stage, into_lot, depth, share (of the traced lot's alcohol that
        came this way; NULL where the lot carries none), quantity and basis (drawn by the run in all), consumed (what
        of it stands behind the traced lot)
    forward : DataFrame
        Steps after it, the nearest first, with the same columns; share is the share of into_lot's alcohol that came
        from the traced lot this way, consumed what of the traced lot stands behind each unit of into_lot
    """

    lot: dict
    back: pl.DataFrame
    forward: pl.DataFrame


def trace(book: Book, lot: str) -> Traced:
    """Follow a lot both ways.

    Raises
    ------
    UnknownRecord
        If the book holds no lot of this name.
    """
    rows = book.frame("SELECT * FROM derived.lots WHERE lot = ?", [lot]).to_dicts()
    if not rows:
        near = book.frame(
            "SELECT lot FROM derived.lots ORDER BY levenshtein(lower(lot), lower(?)), lot LIMIT 3", [lot]
        )["lot"].to_list()
        hint = f" Lots with similar names: {', '.join(near)}." if near else ""
        raise UnknownRecord(f'The book holds no lot "{lot}".{hint}')
    return Traced(rows[0], back(book, lot, rows[0]["quantity_in"] or 0.0), forward(book, lot))


def back(book: Book, lot: str, quantity: float) -> pl.DataFrame:
    """Steps behind a lot of which there was so much."""
    rows = book.frame(
        """
        SELECT lot, run, stage, into_lot, share, quantity, basis, per_unit FROM derived.steps
        WHERE into_rank <= (SELECT max(into_rank) FROM derived.steps WHERE into_lot = ?)
        ORDER BY into_rank DESC, rowid
        """,
        [lot],
    )
    return _follow(rows, "into_lot", "lot", lot, quantity)


def forward(book: Book, lot: str) -> pl.DataFrame:
    """Steps after a lot."""
    rows = book.frame(
        """
        SELECT lot, run, stage, into_lot, share, quantity, basis, per_unit FROM derived.steps
        WHERE lot_rank >= (SELECT min(lot_rank) FROM derived.steps WHERE lot = ?) AND into_rank IS NOT NULL
        ORDER BY lot_rank, rowid
        """,
        [lot],
    )
    return _follow(rows, "lot", "into_lot", lot, 1.0)


def _follow(rows: pl.DataFrame, near: str, far: str, lot: str, quantity: float) -> pl.DataFrame:
    """The steps that lead on from a lot, in one pass: each lot's near steps stand after all its far ones.

    The share of a far lot is the sum over its steps of step's share times near lot's share; likewise the quantity.
    A lot's share is None as long as no alcohol has come on the way to it.
    """
    names = pl.concat([rows[near], rows[far], pl.Series([lot])]).cast(pl.Categorical).to_physical()
    ends = names[: rows.height].to_list(), names[rows.height : 2 * rows.height].to_list()
    start, lots = int(names[-1]), int(names.to_numpy().max()) + 1
    depth_of: list[int] = [-1] * lots
    share_of: list[float | None] = [None] * lots
    taken_of = [0.0] * lots
    depth_of[start], share_of[start], taken_of[start] = 0, 1.0, quantity
    places, depths, shares, quantities = [], [], [], []
    columns = zip(*ends, rows["share"].to_list(), rows["per_unit"].to_list(), strict=True)
    for place, (upper, lower, share, per_unit) in enumerate(columns):
        depth = depth_of[upper] + 1
        if depth == 0:
            continue
        so_far = share_of[upper]
        part = None if share is None or so_far is None else share * so_far
        if part is not None:
            share_of[lower] = (share_of[lower] or 0.0) + part
        taken = None if per_unit is None else per_unit * taken_of[upper]
        taken_of[lower] += taken or 0.0
        if depth_of[lower] < 0 or depth < depth_of[lower]:
            depth_of[lower] = depth
        places.append(place)
        depths.append(depth)
        shares.append(part)
        quantities.append(taken)
    followed = rows[places].with_columns(
        pl.Series("depth", depths, dtype=pl.Int32),
        pl.Series("share", shares, dtype=pl.Float64),
        pl.Series("consumed", quantities, dtype=pl.Float64),
    )
    return followed.select(COLUMNS).sort("depth", maintain_order=True)


@dataclass(frozen=True)
class Recall:
    """Where a lot is now, as a mock recall asks.

    Attributes
    ----------
    bottles : DataFrame
        batch, product, bottled_at, bottles, share (of the batch's alcohol), consumed (of the lot, losses included)
    stock : DataFrame
        lot, vessel, held_l (LPA in all), share, consumed; what is set aside and has no further use has no consumed
    left : float or None
        What the lot itself still holds or has not been drawn, in its own basis
    goods : DataFrame
        batch, product, share, bottles that came, were dispatched, returned, sampled, destroyed, used (by a run), are
        in_the_house by the book, and unaccounted by the last count (counted_at, counted)
    removals : DataFrame
        kind, lot, removed_at, to_whom, document, duty_status, pieces, alcohol_l, ...: what left, and what casks lost;
        consumed is NULL where its litres are not known, and nothing for bottles, which have theirs above
    accounted : float or None
        Share of the lot that stands behind bottles and what left in bulk, in vessels, was lost in casks or is left
    """

    bottles: pl.DataFrame
    stock: pl.DataFrame
    left: float | None
    goods: pl.DataFrame
    removals: pl.DataFrame
    accounted: float | None


def recall(book: Book, traced: Traced) -> Recall:
    """Bottles that hold the lot, vessels that hold it, and how much of it is accounted for."""
    lot = traced.lot["lot"]
    reached = traced.forward.group_by("into_lot").agg(
        pl.col("share").sum().alias("share"),
        pl.col("share").count().alias("with_share"),
        pl.col("consumed").sum().alias("per_unit"),
    )
    reached = reached.select(
        pl.col("into_lot").alias("lot"),
        pl.when(pl.col("with_share") > 0).then("share").alias("share"),
        "per_unit",
    )
    itself = pl.DataFrame({"lot": [lot], "share": [1.0], "per_unit": [1.0]})
    with book.with_temp_view("reached", pl.concat([reached, itself])):
        bottles = book.frame((HERE / "recall_bottles.sql").read_text(encoding="utf-8"))
        stock = book.frame((HERE / "recall_stock.sql").read_text(encoding="utf-8"), [lot])
        goods = book.frame((HERE / "recall_goods.sql").read_text(encoding="utf-8"))
        removals = book.frame((HERE / "recall_removals.sql").read_text(encoding="utf-8"))
    left = book.value(
        """
        SELECT CASE WHEN u.lot IS NULL THEN greatest(0, l.remaining - coalesce(
                   (SELECT sum(loss_l) FROM derived.cask_losses AS c WHERE c.contents = l.lot), 0)) ELSE 0 END
        FROM derived.lots AS l LEFT JOIN derived.used_up_lots AS u USING (lot)
        WHERE l.lot = ? AND l.quantity_in IS NOT NULL AND l.lot NOT IN (SELECT batch FROM derived.goods_entries)
        """,
        [lot],
    )
    whole = traced.lot["quantity_in"]
    accounted_for = sum(float(part["consumed"].sum() or 0.0) for part in (bottles, stock, removals)) + (left or 0.0)
    return Recall(bottles, stock, left, goods, removals, accounted_for / whole if whole else None)
