"""Each batch as bottled: strength against the label, alcohol into bottles, net contents against the nominal.

A label states strength and contents at the temperature of its law: 20 °C, in the United States 60 °F (27 CFR 5.1 and
30.11). What the label is compared with is brought there first; all else of the batch stays at 20 °C.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.derivation import Derivation
from gaugebook.pipeline.engineering.gauging import volume_at_20c
from gaugebook.pipeline.engineering.us_gauging import volume_factor_to_60f
from gaugebook.pipeline.engineering.us_proof import SIXTY_FAHRENHEIT_C, us_proof_from_strength
from gaugebook.pipeline.house.settings import House
from gaugebook.pipeline.statistics.fill import (
    mean_test_allowance,
    numbers_that_decide,
    sampling_plan,
    tolerable_negative_error_ml,
)

HERE = Path(__file__).parent
TWENTY_CELSIUS_F = 68.0
SAME_ML = 5  # decimals in which contents are held to their nominal: a unit's rounding fills no bottle over
SAMPLED = {
    "fills": pl.Int32, "fill_mean_ml": pl.Float64, "fill_sd_ml": pl.Float64, "fill_least_ml": pl.Float64,
    "fill_most_ml": pl.Float64, "fills_asked": pl.Int32, "fills_asked_for_mean": pl.Int32,
    "tolerable_negative_error_ml": pl.Float64, "fills_below_tne": pl.Int32, "fills_below_2tne": pl.Int32,
    "accepted_below_tne": pl.Int32, "rejected_below_tne": pl.Int32, "fill_mean_deficit_ml": pl.Float64,
    "fills_over": pl.Int32, "fills_under": pl.Int32,
}  # fmt: skip


def bottlings(book: Book, house: House) -> None:
    """Make derived.bottlings."""
    rows = _as_stated(book.frame((HERE / "bottled_batches.sql").read_text(encoding="utf-8")))
    contents = _net_contents(book)
    sampled = [
        _sample(row, contents_as_stated(contents.get(row["batch"], ()), row), house.fills_opened)
        for row in rows.iter_rows(named=True)
    ]
    book.append("derived.bottlings", rows.hstack(pl.DataFrame(sampled, schema=SAMPLED)))


BOTTLINGS = Derivation(
    bottlings,
    made_from=(
        "typed.bottling", "typed.fills", "derived.extracts", "derived.gauges", "derived.gauge_errors",
        "derived.house_products", "derived.laboratory",
    ),
    makes=("derived.bottlings",),
)  # fmt: skip


def stated_contents(book: Book, batch: str) -> tuple[float, ...]:
    """Net contents of a batch's sample at the temperature at which its label states them [mL]."""
    rows = book.frame("SELECT * FROM derived.bottlings WHERE batch = ?", [batch]).to_dicts()
    return tuple(contents_as_stated(_net_contents(book).get(batch, ()), rows[0]).tolist()) if rows else ()


def contents_as_stated(contents: Sequence[tuple[float, float]], bottling: Mapping[str, Any]) -> np.ndarray:
    """Net contents, each with its own temperature, at that of the label: by the liquid's strength, else by the label's.

    Examples
    --------
    >>> row = {"laboratory_strength_pct_vol": 40.0, "label_strength_pct_vol": 40.0, "stated_at_c": 20.0}
    >>> contents_as_stated([(750.0, 20.0), (750.0, 140 / 9)], row).round(1).tolist()
    [750.0, 752.3]
    """
    measured_ml, at_c = np.array(contents, dtype=float).reshape(-1, 2).T
    known = bottling["laboratory_strength_pct_vol"]
    strength = bottling["label_strength_pct_vol"] if known is None else known
    of_label = volume_at_20c(1.0, bottling["stated_at_c"], strength)
    return np.asarray(volume_at_20c(measured_ml, at_c, strength)) / of_label


def _net_contents(book: Book) -> dict[str, list[tuple[float, float]]]:
    """Sampled net contents of each lot with their temperatures, in the order of the sample."""
    sql = (
        "SELECT lot, net_content_ml, coalesce(content_temperature_c, 20) FROM typed.fills "
        "ORDER BY lot, sample_no, net_content_ml"
    )
    contents: dict[str, list[tuple[float, float]]] = {}
    for lot, net_content_ml, at_c in book.frame(sql).iter_rows():
        contents.setdefault(lot, []).append((net_content_ml, at_c))
    return contents


def _as_stated(rows: pl.DataFrame) -> pl.DataFrame:
    """With the laboratory's strength, and a factor for contents, at the temperature at which the law states them."""
    is_us = pl.col("jurisdiction") == "US"
    strength = rows["laboratory_strength_pct_vol"].cast(pl.Float64)
    known = strength.fill_null(np.nan).to_numpy()
    at_60f = pl.Series(np.asarray(us_proof_from_strength(known)) / 2, nan_to_null=True)
    proof = pl.Series(np.where(np.isnan(known), 2 * rows["label_strength_pct_vol"].to_numpy(), 2 * at_60f))
    factor = pl.Series(np.asarray(volume_factor_to_60f(proof.to_numpy(), TWENTY_CELSIUS_F)))
    return rows.with_columns(
        stated_at_c=pl.when(is_us).then(SIXTY_FAHRENHEIT_C).otherwise(20.0),
        stated_strength_pct_vol=pl.when(is_us).then(at_60f).otherwise(strength),
        fill_factor=pl.when(is_us).then(factor).otherwise(1.0),
    ).with_columns(label_deviation_pct_vol=pl.col("stated_strength_pct_vol") - pl.col("label_strength_pct_vol"))


def _sample(row: dict[str, Any], contents_ml: Sequence[float] | np.ndarray, is_destructive: bool) -> dict[str, Any]:
    """The figures of a batch's sample as its label states contents, in the columns of `SAMPLED`; what its law does not
    ask stays NULL."""
    fills = np.array(contents_ml, dtype=float)
    asked = _asked(row, fills, is_destructive)
    if not len(fills):
        return dict.fromkeys(SAMPLED) | asked
    over = np.round(fills - row["nominal_ml"], SAME_ML)
    return dict.fromkeys(SAMPLED) | {
        "fills": len(fills),
        "fill_mean_ml": float(fills.mean()),
        "fill_sd_ml": float(fills.std(ddof=1)) if len(fills) > 1 else None,
        "fill_least_ml": float(fills.min()),
        "fill_most_ml": float(fills.max()),
        "fills_over": int((over > 0).sum()),
        "fills_under": int((over < 0).sum()),
    } | asked  # fmt: skip


def _asked(row: dict[str, Any], fills: np.ndarray, is_destructive: bool) -> dict[str, Any]:
    """What the reference test of the European Union says of a sample; nothing of a batch under another law."""
    if row["jurisdiction"] != "EU" or row["bottles_filled"] < 1:
        return {}
    plan = sampling_plan(row["bottles_filled"], is_destructive)
    tne = tolerable_negative_error_ml(row["nominal_ml"])
    asked = {"fills_asked": plan.first, "fills_asked_for_mean": plan.mean, "tolerable_negative_error_ml": tne}
    if not len(fills):
        return asked
    short = np.round(row["nominal_ml"] - fills, SAME_ML)
    accept, reject = numbers_that_decide(plan, (short > tne).tolist())
    return asked | {
        "fills_below_tne": int((short > tne).sum()),
        "fills_below_2tne": int((short > 2 * tne).sum()),
        "accepted_below_tne": accept,
        "rejected_below_tne": reject,
        "fill_mean_deficit_ml": _mean_deficit(short, plan.mean, row["bottles_filled"]),
    }


def _mean_deficit(short_ml: np.ndarray, asked: int, batch_size: int) -> float | None:
    """By how much the mean falls short beyond what sampling explains; a sample that is too small can only fail."""
    measured = len(short_ml)
    if measured < min(2, batch_size):
        return None
    scatter = float(short_ml.std(ddof=1)) if measured > 1 else 0.0
    deficit = float(short_ml.mean()) - mean_test_allowance(measured, batch_size) * scatter
    return deficit if measured >= asked or deficit > 0 else None
