"""Volume at 20 °C, strength at 20 °C and litres of pure alcohol of every gauge, from what was actually read."""

from pathlib import Path

import numpy as np
import polars as pl

from pipeline.database import Book
from pipeline.derived.arrays import Array, array, column
from pipeline.derived.instruments import u_of_readings
from pipeline.derived.true_strength import Booked, booked_strengths
from pipeline.engineering.gauging import mass_from_volume, volume_at_20c, volume_from_mass
from pipeline.engineering.pure_alcohol import litres_of_pure_alcohol
from pipeline.engineering.strength import strength_from_alcoholmeter, strength_from_density, strength_from_us_proof
from pipeline.engineering.uncertainty import (
    u_alcohol,
    u_strength_from_alcoholmeter,
    u_strength_from_density,
    u_volume_at_20c,
)
from pipeline.settings import House

HERE = Path(__file__).parent

# Parts that carry no alcohol: their volume is that of water, near enough, and their LPA is zero.
WITHOUT_ALCOHOL = ("grain", "fruit", "yeast", "water", "wort", "botanical", "sweetening", "packaging")


def gauges(book: Book, house: House) -> None:
    """Make derived.gauges from typed.movements."""
    movements = book.frame((HERE / "movements_to_gauge.sql").read_text(encoding="utf-8"))
    computed = _with_none_in_what_carries_none(_gauge(movements, house))
    columns = [
        "run", "direction", "lot", "part", "vessel", "gauged_at", "stage", "equipment", "mass_kg", "pieces", "volume_l",
        "u_volume_l", "strength_reading", "reading_kind", "reading_temperature_c", "strength_pct_vol",
        "u_strength_pct_vol", "strength_from", "strength_is", "alcohol_l", "u_alcohol_l", "not_computed",
        "source_id", "line",
    ]  # fmt: skip
    book.append("derived.gauges", computed.select(columns))


def stock_gauges(book: Book, house: House) -> None:
    """Make derived.stock_gauges from typed.stock."""
    dips = book.frame((HERE / "dips_to_gauge.sql").read_text(encoding="utf-8"))
    columns = [
        "vessel", "lot", "gauged_at", "volume_l", "u_volume_l", "strength_pct_vol", "u_strength_pct_vol",
        "strength_is", "alcohol_l", "u_alcohol_l", "not_computed", "source_id", "line",
    ]  # fmt: skip
    book.append("derived.stock_gauges", _gauge(dips, house).select(columns))


def openings(book: Book, house: House) -> None:
    """Make derived.openings from typed.intake and typed.opening_stock: what each lot began with."""
    came = book.frame((HERE / "openings_to_gauge.sql").read_text(encoding="utf-8"))
    computed = _with_none_in_what_carries_none(_gauge(came, house))
    stated = pl.col("stated_alcohol_l")
    computed = computed.with_columns(
        # pure alcohol as stated came of a volume and a strength that are not told: as uncertain as both by the house
        pl.when(stated.is_not_null())
        .then(stated * (house.uncertainty.volume_pct / 100))
        .otherwise("u_alcohol_l")
        .alias("u_alcohol_l"),
        pl.coalesce(stated, "alcohol_l").alias("alcohol_l"),
        pl.when(stated.is_null()).then("not_computed").alias("not_computed"),
    )
    columns = [
        "lot", "origin", "kind", "material", "vessel", "came_at", "carries_alcohol", "mass_kg", "volume_l",
        "u_volume_l", "pieces", "strength_reading", "strength_from", "strength_pct_vol", "u_strength_pct_vol",
        "strength_is", "alcohol_l", "u_alcohol_l", "not_computed", "extract_pct", "moisture_pct", "condition",
        "source_id", "line",
    ]  # fmt: skip
    book.append("derived.openings", computed.select(columns))


def _with_none_in_what_carries_none(computed: pl.DataFrame) -> pl.DataFrame:
    """Parts without alcohol hold 0 LPA, whatever could not be computed of them."""
    without = pl.col("part").is_in(WITHOUT_ALCOHOL)
    return computed.with_columns(
        pl.when(without).then(None).otherwise("strength_is").alias("strength_is"),
        pl.when(without).then(None).otherwise("strength_pct_vol").alias("strength_pct_vol"),
        pl.when(without).then(None).otherwise("u_strength_pct_vol").alias("u_strength_pct_vol"),
        pl.when(without).then(0.0).otherwise("alcohol_l").alias("alcohol_l"),
        pl.when(without).then(0.0).otherwise("u_alcohol_l").alias("u_alcohol_l"),
        pl.when(without).then(None).otherwise("not_computed").alias("not_computed"),
    )


def _gauge(rows: pl.DataFrame, house: House) -> pl.DataFrame:
    """Strength, volume and alcohol of each row, with uncertainties and the reason where one is missing.

    Rows need: part, vessel, volume_at_t_l, volume_temperature_c, mass_kg, strength_reading, reading_kind,
    reading_temperature_c, instrument, and what `booked_strengths` asks for.
    """
    booked = _strengths(rows, house)
    strength, u_strength = booked.strength, booked.u_strength
    carries_none = rows["part"].is_in(WITHOUT_ALCOHOL).to_numpy()
    strength_for_volume = np.where(carries_none, 0.0, strength)
    volume, u_volume = _volumes(rows, strength_for_volume, booked.times_denser, house)
    alcohol = litres_of_pure_alcohol(volume, strength_for_volume)
    u = u_alcohol(volume, u_volume, strength_for_volume, np.nan_to_num(u_strength))
    weighed = array(rows["mass_kg"])
    mass = np.where(np.isfinite(weighed), weighed, mass_from_volume(volume, strength_for_volume) * booked.times_denser)
    return rows.with_columns(
        strength_pct_vol=column(strength),
        u_strength_pct_vol=column(u_strength),
        strength_from=booked.strength_from,
        strength_is=booked.strength_is,
        volume_l=column(volume),
        u_volume_l=column(u_volume),
        alcohol_l=column(alcohol),
        u_alcohol_l=column(np.where(np.isfinite(alcohol), u, np.nan)),
        mass_kg=column(mass),
        not_computed=_reasons(rows, strength, volume),
    )


def _strengths(rows: pl.DataFrame, house: House) -> Booked:
    """Strength at 20 °C by what the reading is; where nothing was read, or it is apparent, what is known of the lot."""
    reading, t = array(rows["strength_reading"]), array(rows["reading_temperature_c"])
    u_instrument = u_of_readings(rows, house)
    u_t = house.uncertainty.temperature_c
    kind = np.asarray(rows["reading_kind"].fill_null("").to_list(), dtype=str)
    strength, u = np.full(len(rows), np.nan), np.full(len(rows), np.nan)

    chosen = kind == "alcoholmeter"
    u_reading = np.where(np.isfinite(u_instrument), u_instrument, house.uncertainty.alcoholmeter_pct_vol)
    strength[chosen] = strength_from_alcoholmeter(reading[chosen], t[chosen])
    u[chosen] = u_strength_from_alcoholmeter(reading[chosen], u_reading[chosen], t[chosen], u_t)

    chosen = kind == "density"
    u_density = np.where(np.isfinite(u_instrument), u_instrument, house.uncertainty.density_kg_m3)
    strength[chosen] = strength_from_density(reading[chosen], t[chosen])
    u[chosen] = u_strength_from_density(reading[chosen], u_density[chosen], t[chosen], u_t)

    u_stated = np.where(np.isfinite(u_instrument), u_instrument, house.uncertainty.strength_pct_vol)
    chosen = kind == "pct_vol_20c"
    strength[chosen], u[chosen] = reading[chosen], u_stated[chosen]
    chosen = kind == "us_proof_60f"
    strength[chosen], u[chosen] = strength_from_us_proof(reading[chosen]), u_stated[chosen]

    return booked_strengths(rows, strength, u, house)


def _volumes(rows: pl.DataFrame, strength: Array, times_denser: Array, house: House) -> tuple[Array, Array]:
    """Volume at 20 °C from the vessel's reading, else from the mass weighed in air."""
    expansion = {vessel.code: vessel.expansion_per_k for vessel in house.vessels}
    u_pct = {v.code: v.u_volume_pct for v in house.vessels if v.u_volume_pct is not None}
    per_k = array(rows["vessel"].replace_strict(expansion, default=0.0, return_dtype=pl.Float64))
    volume_pct = array(
        rows["vessel"].replace_strict(u_pct, default=house.uncertainty.volume_pct, return_dtype=pl.Float64)
    )
    at_t, t, mass = (array(rows[name]) for name in ("volume_at_t_l", "volume_temperature_c", "mass_kg"))
    # Water and wort are seldom gauged with a temperature; 20 °C is assumed for them and for nothing else.
    t = np.where(~np.isfinite(t) & (strength == 0.0), 20.0, t)
    u_at_t = at_t * np.where(np.isfinite(volume_pct), volume_pct, house.uncertainty.volume_pct) / 100
    u_t = house.uncertainty.temperature_c
    gauged = volume_at_20c(at_t, t, strength, per_k)
    u_gauged = u_volume_at_20c(at_t, u_at_t, t, u_t, strength, 0.0, per_k)
    # A weighing beats a dip where both were made: mass needs no temperature.
    weighed = volume_from_mass(mass / times_denser, strength)
    u_weighed = weighed * house.uncertainty.mass_pct / 100
    has_mass = np.isfinite(weighed) & (strength > 0)
    return np.where(has_mass, weighed, gauged), np.where(has_mass, u_weighed, u_gauged)


def _reasons(rows: pl.DataFrame, strength: Array, volume: Array) -> pl.Series:
    """Why the alcohol of a row is not known, in words; NULL where it is."""
    return rows.select(
        pl.when(pl.col("strength_reading").is_null() & pl.Series(~np.isfinite(strength)))
        .then(pl.lit("no strength was read and none is known of the lot"))
        .when(pl.Series(~np.isfinite(strength)))
        .then(pl.lit("no mixture of ethanol and water gives this strength reading at this temperature"))
        .when(pl.col("volume_at_t_l").is_null() & pl.col("mass_kg").is_null())
        .then(pl.lit("neither volume nor mass was gauged"))
        .when(pl.col("volume_temperature_c").is_null() & pl.col("mass_kg").is_null())
        .then(pl.lit("the volume has no temperature"))
        .when(pl.Series(~np.isfinite(volume)))
        .then(pl.lit("the volume cannot be brought to 20 °C from this temperature"))
    ).to_series()
