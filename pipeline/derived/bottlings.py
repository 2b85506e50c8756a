"""Each batch as bottled: strength against the label, alcohol into bottles, net contents against the nominal."""

from pathlib import Path

import numpy as np
import polars as pl

from pipeline.database import Book
from pipeline.statistics.fill import mean_test_factor, tolerable_negative_error_ml

HERE = Path(__file__).parent


def bottlings(book: Book) -> None:
    """Make derived.bottlings."""
    rows = book.frame((HERE / "bottled_batches.sql").read_text(encoding="utf-8"))
    fills = book.frame("SELECT lot AS batch, net_content_ml FROM typed.fills ORDER BY lot, sample_no, net_content_ml")
    tne = [tolerable_negative_error_ml(nominal) for nominal in rows["nominal_ml"]]
    rows = rows.with_columns(tolerable_negative_error_ml=pl.Series(tne, dtype=pl.Float64))
    fills = fills.join(
        rows.select("batch", "nominal_ml", "tolerable_negative_error_ml"), on="batch", maintain_order="left"
    )
    short = pl.col("nominal_ml") - pl.col("net_content_ml")
    sampled = fills.group_by("batch", maintain_order=True).agg(
        pl.len().cast(pl.Int32).alias("fills"),
        pl.col("net_content_ml").mean().alias("fill_mean_ml"),
        pl.col("net_content_ml").std().alias("fill_sd_ml"),
        pl.col("net_content_ml").min().alias("fill_least_ml"),
        (short > pl.col("tolerable_negative_error_ml")).sum().cast(pl.Int32).alias("fills_below_tne"),
        (short > 2 * pl.col("tolerable_negative_error_ml")).sum().cast(pl.Int32).alias("fills_below_2tne"),
    )
    rows = rows.join(sampled, on="batch", how="left", maintain_order="left")
    factors = pl.Series([mean_test_factor(n) if n and n > 1 else np.nan for n in rows["fills"]], dtype=pl.Float64)
    rows = rows.with_columns(
        fill_mean_deficit_ml=(
            pl.col("nominal_ml") - pl.col("fill_mean_ml") - factors.fill_nan(None) * pl.col("fill_sd_ml")
        )
    )
    book.append("derived.bottlings", rows)
