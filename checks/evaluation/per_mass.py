"""What laws ask by mass of the finished product, from results by volume and the density by strength and extract."""

import numpy as np
import polars as pl

from gaugebook.pipeline.engineering.obscuration import EXTRACT_RANGE_G_L, density_with_extract


def sugar_by_mass(liqueurs: pl.DataFrame) -> pl.DataFrame:
    """Sugar of each product by mass, with its uncertainty; NULL where sugar or strength is not on record.

    Parameters
    ----------
    liqueurs : DataFrame
        sugar_g_l, u_sugar_g_l, laboratory_strength_pct_vol, laboratory_strength_is, extract_g_l. A strength that is
        apparent is the one that the density itself shows; of a true one the extract, else the sugar, is added.
    """
    sugar, extract = (_numbers(liqueurs, name) for name in ("sugar_g_l", "extract_g_l"))
    dissolved = np.where(np.isnan(extract), sugar, extract)
    apparent = (liqueurs["laboratory_strength_is"] == "apparent").fill_null(False).to_numpy()
    return _per_mass(liqueurs, np.where(apparent, 0.0, dissolved), "sugar_g_l", "sugar_pct_mass", 100.0)


def contaminants_per_kg(contaminants: pl.DataFrame) -> pl.DataFrame:
    """Each contaminant per kilogram, with its uncertainty; NULL where it was not measured, and where a method that
    cannot see as little as the limit did not find it. Extract is left out: a sweet product comes out too high, not low.

    Parameters
    ----------
    contaminants : DataFrame
        value_mg_l, u_value_mg_l, laboratory_strength_pct_vol, below_limit, most_ug_kg.
    """
    per_kg = _per_mass(contaminants, np.zeros(contaminants.height), "value_mg_l", "value_ug_kg", 1e6)
    unseen = pl.col("below_limit").fill_null(False) & (pl.col("value_ug_kg") > pl.col("most_ug_kg"))
    return per_kg.with_columns(value_ug_kg=pl.when(~unseen).then(pl.col("value_ug_kg")))


def _per_mass(rows: pl.DataFrame, dissolved_g_l: np.ndarray, given: str, result: str, factor: float) -> pl.DataFrame:
    """A column by volume and its `u_` as columns by mass: value x factor / density."""
    strength = _numbers(rows, "laboratory_strength_pct_vol")
    low, high = EXTRACT_RANGE_G_L
    known = np.where((dissolved_g_l >= low) & (dissolved_g_l <= high), dissolved_g_l, np.nan)
    density_kg_m3 = pl.Series(np.asarray(density_with_extract(strength, known)), dtype=pl.Float64, nan_to_null=True)
    return rows.with_columns(
        pl.Series(f"{u}{result}", rows[f"{u}{given}"].cast(pl.Float64) * factor / density_kg_m3) for u in ("", "u_")
    )


def _numbers(rows: pl.DataFrame, column: str) -> np.ndarray:
    return rows[column].cast(pl.Float64).fill_null(np.nan).to_numpy()
