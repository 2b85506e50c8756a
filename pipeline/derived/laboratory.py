"""The accepted laboratory value of each lot and analyte, from its replicates."""

import numpy as np
import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.arrays import array, column
from gaugebook.pipeline.derived.derivation import Derivation
from gaugebook.pipeline.derived.instruments import u_of_results
from gaugebook.pipeline.engineering.congeners import g_per_hl_pure_alcohol
from gaugebook.pipeline.engineering.ethanol_water import density
from gaugebook.pipeline.engineering.extract import specific_gravity_from_plato
from gaugebook.pipeline.engineering.strength import mass_fraction_from_volume_strength, strength_from_density
from gaugebook.pipeline.engineering.uncertainty import u_strength_from_density
from gaugebook.pipeline.house.settings import House

# Greatest difference of two results by one analyst with one instrument [% vol], 95 %: Commission Regulation (EC)
# 2870/2000, Annex, method B (electronic densimetry); its r is 0.08 to 0.22 for clear spirits near 40 % vol (figures
# from memory, to be confirmed in OJ L 333 of 29.12.2000, p. 20).
REPEATABILITY_PCT_VOL = 0.2
# Critical range of n results as a multiple of the standard deviation of repeatability: ISO 5725-6 (from memory).
CRITICAL_RANGE_FACTOR = {2: 2.8, 3: 3.3, 4: 3.6, 5: 3.9}


# By what a result is, not by the order in which files came: a mean is then the same to its last digit.
_ORDER = "lot, analyte, unit, sample, replicate, measured_at, value, source_id, line"
_ONE_VALUE = ["lot", "analyte", "unit"]
# Bench density meters hold their cell within this of the temperature they report [°C] (common practice).
U_CELL_TEMPERATURE_C = 0.02


def laboratory(book: Book, house: House) -> None:
    """Make derived.laboratory: the mean of replicates that agree; NULL where they do not."""
    results = _in_common_units(book.frame(f"SELECT * FROM typed.laboratory ORDER BY {_ORDER}"), house)
    distilled = _distilled_where_there_are(results)
    accepted = (
        distilled.group_by(_ONE_VALUE, maintain_order=True)
        .agg(
            pl.col("value").mean(),
            pl.when(pl.col("preparation").is_not_null().all() & (pl.col("preparation").n_unique() == 1))
            .then(pl.col("preparation").first())
            .alias("preparation"),
            pl.col("below_limit").all(),
            pl.len().cast(pl.Int32).alias("replicates"),
            (pl.col("value").max() - pl.col("value").min()).alias("spread"),
            pl.col("sample").unique().sort().str.join(", ").alias("samples"),
            pl.col("method").drop_nulls().unique().sort().str.join(", ").alias("methods"),
            pl.col("instrument").first(),
            pl.col("measured_at").max(),
            pl.col("source_id").first(),
            pl.col("line").first(),
        )
        .with_columns(pl.when(_agrees()).then(pl.col("value")).alias("value"))
    )
    u = _u_of_means(distilled, house.uncertainty.scatter)
    accepted = accepted.join(u, on=_ONE_VALUE, how="left", maintain_order="left")
    book.append("derived.laboratory", _per_alcohol(accepted))


LABORATORY = Derivation(
    laboratory,
    made_from=("typed.laboratory",),
    makes=("derived.laboratory",),
)


def _distilled_where_there_are(results: pl.DataFrame) -> pl.DataFrame:
    """The results without those strengths that were read directly, where the lot has some of its distillate.

    Both are right only where nothing is dissolved, and then either will do.
    """
    is_distilled = (pl.col("analyte") == "strength") & (pl.col("preparation") == "distilled").fill_null(False)
    by_lot = is_distilled.any().over("lot", "analyte", "unit")
    return results.filter((pl.col("analyte") != "strength") | ~by_lot | is_distilled)


def _u_of_means(results: pl.DataFrame, scatter: float) -> pl.DataFrame:
    """Standard uncertainty of each mean, and what part of it (`scatter`) is of the single results.

    Of replicates the own parts are averaged (JCGM 100:2008, 4.2.3); what those of one instrument share is not. NULL
    where the uncertainty of a result is not known.
    """
    u, n = pl.col("u_value"), pl.len()
    by_instrument = results.group_by([*_ONE_VALUE, "instrument"], maintain_order=True).agg(
        pl.when(u.null_count() == 0).then(u.sum()).alias("together"), (u**2).sum().alias("squares"), n.alias("n")
    )
    together = pl.when(pl.col("together").null_count() == 0).then((pl.col("together") ** 2).sum())
    own = (scatter**2 * pl.col("squares").sum()).sqrt() / pl.col("n").sum()
    shared = ((1.0 - scatter**2) * together).sqrt() / pl.col("n").sum()
    return (
        by_instrument.group_by(_ONE_VALUE, maintain_order=True)
        .agg(own.alias("own"), (own**2 + shared**2).sqrt().alias("u_value"))
        .with_columns(pl.when(pl.col("u_value") > 0).then(pl.col("own") / pl.col("u_value")).alias("scatter"))
        .drop("own")
    )


def _agrees() -> pl.Expr:
    """Whether the replicates of a strength lie within the critical range; other analytes are not judged here."""
    factor = pl.col("replicates").replace_strict(CRITICAL_RANGE_FACTOR, default=3.9, return_dtype=pl.Float64)
    critical_range = REPEATABILITY_PCT_VOL / CRITICAL_RANGE_FACTOR[2] * factor
    return (pl.col("analyte") != "strength") | (pl.col("replicates") == 1) | (pl.col("spread") <= critical_range)


def _in_common_units(results: pl.DataFrame, house: House) -> pl.DataFrame:
    """Densities as strengths, gravities as SG, each with the standard uncertainty of its instrument in its own unit."""
    results = _strength_of_densities(results, house)
    plato = (results["analyte"] == "specific_gravity") & (results["unit"] == "plato")
    sg = column(specific_gravity_from_plato(array(results["value"]))) if plato.any() else results["value"]
    results = results.with_columns(
        pl.when(plato).then(sg).otherwise("value").alias("value"),
        pl.when(plato).then(pl.lit("sg")).otherwise("unit").alias("unit"),
    )
    is_strength = pl.col("analyte") == "strength"
    of_lot = pl.when(is_strength).then("value").mean().over("lot")  # relates congeners to the alcohol of their lot
    results = _per_litre(results.with_columns(of_lot.alias("lot_strength_pct_vol")))
    return results.with_columns(
        pl.coalesce(
            "u_value",
            column(u_of_results(results, house)),
            pl.when(is_strength).then(pl.lit(house.uncertainty.strength_pct_vol)),
        ).alias("u_value")
    )


def _per_litre(results: pl.DataFrame) -> pl.DataFrame:
    """What is told per kilogram of sample as what a litre of it holds, by the density of the strength of its lot."""
    strength = array(results["lot_strength_pct_vol"])
    kg_per_l = column(np.asarray(density(mass_fraction_from_volume_strength(strength), 20.0)) / 1000.0)
    chosen = ((pl.col("unit") == "mg/kg") & pl.Series(kg_per_l).is_not_null()).fill_null(False)
    return results.with_columns(
        pl.when(chosen).then(pl.col("value") * kg_per_l).otherwise("value").alias("value"),
        pl.when(chosen).then(pl.lit("mg/L")).otherwise("unit").alias("unit"),
    )


def _strength_of_densities(results: pl.DataFrame, house: House) -> pl.DataFrame:
    """A density at a temperature becomes the strength that an ethanol-water mixture of that density has."""
    is_density = ((results["analyte"] == "density") & (results["unit"] == "kg/m3")).fill_null(False)
    measured, t = array(results["value"]), array(results["temperature_c"])
    chosen = is_density.to_numpy()
    own = u_of_results(results.with_columns(lot_strength_pct_vol=pl.lit(None, pl.Float64)), house)
    u_density = np.where(np.isfinite(own), own, house.uncertainty.density_kg_m3)
    strength, u = np.full(len(results), np.nan), np.full(len(results), np.nan)
    strength[chosen] = strength_from_density(measured[chosen], t[chosen])
    u[chosen] = u_strength_from_density(measured[chosen], u_density[chosen], t[chosen], U_CELL_TEMPERATURE_C)
    return results.with_columns(
        pl.when(is_density).then(pl.lit("strength")).otherwise("analyte").alias("analyte"),
        pl.when(is_density).then(pl.lit("pct_vol")).otherwise("unit").alias("unit"),
        pl.when(is_density).then(column(strength)).otherwise("value").alias("value"),
        pl.when(is_density)
        .then(pl.col("preparation").fill_null("direct"))
        .otherwise("preparation")
        .alias("preparation"),
        u_value=column(u),
    )


def _per_alcohol(accepted: pl.DataFrame) -> pl.DataFrame:
    """Congeners in grams per hectolitre of pure alcohol; where reported per litre, by the lot's own strength."""
    strengths = accepted.filter(pl.col("analyte") == "strength").select("lot", pl.col("value").alias("lot_strength"))
    frame = accepted.join(strengths, on="lot", how="left", maintain_order="left")
    value, strength = array(frame["value"]), array(frame["lot_strength"])
    per_litre = (frame["unit"] == "mg/L") & (frame["lot_strength"] > 0)
    converted = g_per_hl_pure_alcohol(value, np.where(strength > 0, strength, np.nan))
    frame = frame.with_columns(
        pl.when(pl.col("unit") == "g/hL pa")
        .then("value")
        .when(per_litre)
        .then(column(converted))
        .alias("per_alcohol_g_hl")
    )
    return frame.drop("lot_strength")
