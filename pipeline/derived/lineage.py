"""The ancestry of each bottled lot: which lots it came through, with what share, and how much of each it took."""

from collections import defaultdict
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.database import Book

HERE = Path(__file__).parent


def lineage(book: Book) -> None:
    """Make derived.lineage; the ancestry is found by SQL, shares and quantities are handed back lot by lot."""
    ancestry = book.frame((HERE / "ancestry.sql").read_text(encoding="utf-8"))
    parts = [traced_back(of_batch) for _, of_batch in ancestry.group_by("batch", maintain_order=True)]
    if parts:
        book.append("derived.lineage", pl.concat(parts).drop("weight", "useful_output", "batch_alcohol_l"))


def traced_back(ancestry: pl.DataFrame) -> pl.DataFrame:
    """Add `share` and `consumed` to the steps of one batch.

    A run's output is shared out among its inputs by the litres of pure alcohol that each brought (before there is
    alcohol: by volume of wort, by mass of grain), so the shares of the inputs of one lot sum to the share of that lot.
    What a batch consumed of a lot is what the run drew, times the part of the run's useful output that the batch took.

    Parameters
    ----------
    ancestry : DataFrame
        Rows of one batch: lot, into_lot, weight (NULL for what carries no alcohol), quantity, useful_output,
        batch_alcohol_l.

    Returns
    -------
    DataFrame
        The same rows with share (0..1; NULL where the weight is NULL) and consumed (in the basis of the quantity).
    """
    batch = ancestry["batch"][0]
    steps_into: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for step in ancestry.iter_rows(named=True):
        steps_into[step["into_lot"]].append(step)
    share_of = {batch: 1.0}
    taken_of = {batch: ancestry["batch_alcohol_l"][0]}
    share: dict[tuple[str, str], float | None] = {}
    consumed: dict[tuple[str, str], float | None] = {}
    for into_lot in _downstream_first(batch, steps_into):
        total = sum(step["weight"] or 0.0 for step in steps_into[into_lot])
        for step in steps_into[into_lot]:
            lot, place = step["lot"], (step["lot"], into_lot)
            share[place] = _part(share_of.get(into_lot), step["weight"], total)
            consumed[place] = _part(taken_of.get(into_lot), step["quantity"], step["useful_output"])
            share_of[lot] = share_of.get(lot, 0.0) + (share[place] or 0.0)
            taken_of[lot] = (taken_of.get(lot) or 0.0) + (consumed[place] or 0.0)
    places = list(ancestry.select("lot", "into_lot").iter_rows())
    return ancestry.with_columns(
        share=pl.Series([share.get(place) for place in places], dtype=pl.Float64),
        consumed=pl.Series([consumed.get(place) for place in places], dtype=pl.Float64),
    )


def _part(whole: float | None, portion: float | None, total: float | None) -> float | None:
    if whole is None or portion is None or not total:
        return None
    return whole * portion / total


def _downstream_first(batch: str, steps_into: dict[str, list[dict[str, Any]]]) -> list[str]:
    """Lots in an order in which each stands before all that it was made from."""
    order: list[str] = []
    seen: set[str] = set()
    stack = [(batch, False)]
    while stack:
        lot, is_return = stack.pop()
        if is_return:
            order.append(lot)
        elif lot not in seen:
            seen.add(lot)
            stack.append((lot, True))
            stack += [(step["lot"], False) for step in steps_into.get(lot, [])]
    return [lot for lot in reversed(order) if lot in steps_into]
