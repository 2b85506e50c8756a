"""Volume at 20 °C, strength at 20 °C and litres of pure alcohol of every gauge, from what was actually read."""

from pathlib import Path

import numpy as np
import polars as pl
from numpy.typing import NDArray

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.arrays import Array, array, column
from gaugebook.pipeline.derived.derivation import Derivation
from gaugebook.pipeline.derived.gauge_errors import BALANCE, Parts, gauge_errors, in_squares
from gaugebook.pipeline.derived.instruments import u_of_readings
from gaugebook.pipeline.derived.mass_errors import mass_errors
from gaugebook.pipeline.derived.true_strength import booked_strengths
from gaugebook.pipeline.engineering.gauging import mass_from_volume, volume_at_20c, volume_from_mass
from gaugebook.pipeline.engineering.hot_liquid import (
    HOT_FROM_C,
    HOT_TO_C,
    MOST_STRENGTH_PCT_VOL,
    hot_volume_at_20c,
    u_of_expansion,
)
from gaugebook.pipeline.engineering.pure_alcohol import litres_of_pure_alcohol
from gaugebook.pipeline.engineering.strength import (
    strength_from_alcoholmeter,
    strength_from_density,
    strength_from_us_proof,
)
from gaugebook.pipeline.engineering.uncertainty import contributions
from gaugebook.pipeline.engineering.us_gauging import strength_from_proof_hydrometer
from gaugebook.pipeline.house.settings import House

HERE = Path(__file__).parent

# Parts that carry no alcohol: their volume is that of water, near enough, and their LPA is zero.
WITHOUT_ALCOHOL = ("grain", "fruit", "sugar", "yeast", "water", "wort", "botanical", "sweetening", "packaging")

FERMENTED = ("grain", "fruit", "sugar")


def gauges(book: Book, house: House) -> None:
    """Make derived.gauges and their errors from derived.movements."""
    movements = book.frame((HERE / "movements_to_gauge.sql").read_text(encoding="utf-8"))
    computed, errors = _gauge(movements.with_row_index("gauge"), house)
    computed = _with_none_in_what_carries_none(_with_mass_of_juice(computed, movements["mass_kg"]))
    columns = [
        "gauge", "run", "direction", "lot", "part", "vessel", "gauged_at", "stage", "equipment", "mass_kg", "pieces",
        "volume_l", "u_volume_l", "strength_reading", "reading_kind", "reading_temperature_c", "strength_pct_vol",
        "u_strength_pct_vol", "strength_from", "strength_is", "alcohol_l", "u_alcohol_l", "not_computed",
        "source_id", "line",
    ]  # fmt: skip
    book.append("derived.gauges", computed.select(columns))
    book.append("derived.gauge_errors", errors)
    book.append("derived.mass_errors", _of_goods(computed, movements["mass_kg"], house, is_own=True))


GAUGES = Derivation(
    gauges,
    made_from=(
        "typed.bottling", "typed.fills", "typed.intake", "derived.movements", "typed.opening_stock",
        "derived.runs", "derived.contents", "derived.extracts", "derived.house_products",
        "derived.laboratory",
    ),
    makes=("derived.gauges", "derived.gauge_errors", "derived.mass_errors"),
)  # fmt: skip


def stock_gauges(book: Book, house: House) -> None:
    """Make derived.stock_gauges and their errors from derived.dips; their numbers follow those of the movements."""
    dips = book.frame((HERE / "dips_to_gauge.sql").read_text(encoding="utf-8"))
    first = book.value("SELECT count(*) FROM derived.gauges")
    computed, errors = _gauge(dips.with_row_index("gauge", first), house)
    columns = [
        "gauge", "vessel", "lot", "gauged_at", "volume_l", "u_volume_l", "strength_pct_vol", "u_strength_pct_vol",
        "strength_is", "alcohol_l", "u_alcohol_l", "not_computed", "source_id", "line",
    ]  # fmt: skip
    book.append("derived.stock_gauges", computed.select(columns))
    book.append("derived.gauge_errors", errors)


STOCK_GAUGES = Derivation(
    stock_gauges,
    made_from=("derived.dips", "derived.extracts", "derived.laboratory", "derived.gauges"),
    makes=("derived.stock_gauges", "derived.gauge_errors"),
)


def openings(book: Book, house: House) -> None:
    """Make derived.openings and their errors from typed.intake and typed.opening_stock: what each lot began with.

    Their numbers follow those of the dips.
    """
    came = book.frame((HERE / "openings_to_gauge.sql").read_text(encoding="utf-8"))
    first = book.value("SELECT (SELECT count(*) FROM derived.gauges) + (SELECT count(*) FROM derived.stock_gauges)")
    computed, errors = _gauge(came.with_row_index("gauge", first), house)
    computed = _with_none_in_what_carries_none(_with_mass_of_juice(computed, came["mass_kg"]))
    columns = [
        "gauge", "lot", "origin", "kind", "material", "vessel", "came_at", "carries_alcohol", "mass_kg", "volume_l",
        "u_volume_l", "pieces", "strength_reading", "strength_from", "strength_pct_vol", "u_strength_pct_vol",
        "strength_is", "alcohol_l", "u_alcohol_l", "not_computed", "extract_pct", "moisture_pct", "condition",
        "source_id", "line",
    ]  # fmt: skip
    book.append("derived.openings", computed.select(columns))
    book.append("derived.gauge_errors", errors)
    is_own = pl.col("origin") == "opening"
    book.append("derived.mass_errors", _of_goods(computed, came["mass_kg"], house, is_own=is_own))


OPENINGS = Derivation(
    openings,
    made_from=(
        "typed.intake", "typed.opening_stock", "derived.casks", "derived.contents", "derived.house_products",
        "derived.movements",
        "derived.extracts", "derived.laboratory", "derived.gauges", "derived.stock_gauges",
    ),
    makes=("derived.openings", "derived.gauge_errors", "derived.mass_errors"),
)  # fmt: skip


def removals(book: Book, house: House) -> None:
    """Make derived.removals and their errors from dispatches, returns, samples, destructions and leaks.

    Their numbers follow those of the openings.
    """
    rows = book.frame((HERE / "removals_to_gauge.sql").read_text(encoding="utf-8"))
    first = book.value(
        "SELECT (SELECT count(*) FROM derived.gauges) + (SELECT count(*) FROM derived.stock_gauges) "
        "+ (SELECT count(*) FROM derived.openings)"
    )
    computed, errors = _gauge(rows.with_row_index("gauge", first), house)
    columns = [
        "gauge", "kind", "lot", "vessel", "removed_at", "is_bottled", "pieces", "volume_l", "strength_pct_vol",
        "u_strength_pct_vol", "alcohol_l", "u_alcohol_l", "not_computed", "to_whom", "duty_status", "document",
        "dispatch_document", "reason", "person", "witness", "source_id", "line",
    ]  # fmt: skip
    book.append("derived.removals", computed.select(columns))
    book.append("derived.gauge_errors", errors)


REMOVALS = Derivation(
    removals,
    made_from=(
        "derived.casks", "typed.dispatches", "typed.returns", "typed.samples", "typed.destructions",
        "typed.opening_stock", "derived.cask_events", "derived.extracts", "derived.gauges", "derived.laboratory",
        "derived.openings", "derived.stock_gauges",
    ),
    makes=("derived.removals", "derived.gauge_errors"),
)  # fmt: skip


def _with_what_was_stated(
    computed: pl.DataFrame, errors: pl.DataFrame, house: House
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Pure alcohol as stated came of a volume and a strength that are not told: as uncertain as a volume, and it shares
    no error with anything that the house gauged but where two movements are one gauge."""
    stated = pl.col("stated_alcohol_l")
    u_stated = stated * (house.uncertainty.volume_pct / 100)
    own = computed.filter(stated.is_not_null()).select(
        pl.col("gauge").cast(pl.Int32),
        pl.format("gauge {}", "named").alias("error"),
        pl.lit(0.0).alias("volume_l"),
        u_stated.alias("alcohol_l"),
    )
    computed = computed.with_columns(
        pl.when(stated.is_not_null()).then(u_stated).otherwise("u_alcohol_l").alias("u_alcohol_l"),
        pl.coalesce(stated, "alcohol_l").alias("alcohol_l"),
        pl.when(stated.is_null()).then("not_computed").alias("not_computed"),
    )
    return computed, pl.concat([errors, own])


def _with_mass_of_juice(computed: pl.DataFrame, weighed: pl.Series) -> pl.DataFrame:
    """Juice and must that came by volume weigh what their Brix says; without one the mass is not known."""
    by_volume = pl.col("part").is_in(FERMENTED) & pl.Series(weighed.is_null())
    by_brix = pl.col("volume_l") * pl.col("density_kg_l")  # in vacuo: 0.1 % more than a balance shows, and less than u
    return computed.with_columns(pl.when(by_volume).then(by_brix).otherwise("mass_kg").alias("mass_kg"))


def _of_goods(computed: pl.DataFrame, weighed: pl.Series, house: House, is_own: pl.Expr | bool) -> pl.DataFrame:
    """Errors of the mass of what carries no alcohol."""
    rows = computed.with_columns(is_weighed=weighed.is_not_null(), is_own=is_own)
    return mass_errors(rows.filter(pl.col("part").is_in(WITHOUT_ALCOHOL)), house)


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


def _gauge(rows: pl.DataFrame, house: House) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Strength, volume and alcohol of each row, with uncertainties and the reason where one is missing; and its errors.

    Rows need: gauge, part, vessel, measured_in, volume_at_t_l, volume_temperature_c, mass_kg, stated_alcohol_l,
    strength_reading, reading_kind, reading_temperature_c, instrument, lot, named, read_for, known_for,
    known_instrument, known_scatter, and what `booked_strengths` asks for.
    """
    read, by_reading, by_temperature = _strengths(rows, house)
    booked = booked_strengths(rows, read, np.hypot(by_reading, by_temperature), house)
    strength, u_strength = booked.strength, booked.u_strength
    carries_none = rows["part"].is_in(WITHOUT_ALCOHOL).to_numpy()
    used = np.where(carries_none, 0.0, strength)
    u_used = np.where(carries_none, 0.0, np.nan_to_num(u_strength))
    quantity = _Quantity(rows, used, booked.times_denser, house)
    volume, alcohol = quantity.amounts(quantity.read, quantity.temperature_c, used)
    # The strength enters the volume too: by the density of what was weighed, by the expansion of what was not.
    of_quantity, of_temperature, of_strength = map(
        np.asarray,
        contributions(
            quantity.amounts,
            [quantity.read, quantity.temperature_c, used],
            [quantity.u_read, quantity.u_temperature_c, u_used],
        ),
    )
    known = (booked.strength_from == rows["known_from"]).fill_null(False)
    of_reading, of_reading_temperature, of_dissolved = _shares(
        u_used, by_reading, by_temperature, array(rows["u_known_strength_pct_vol"]), known.to_numpy()
    )
    parts = Parts(
        quantity=of_quantity,
        temperature=of_temperature,
        reading=of_strength * of_reading,
        reading_temperature=of_strength * of_reading_temperature,
        dissolved=of_strength * of_dissolved,
    )
    errors = gauge_errors(_named(rows, known, quantity.is_weighed), parts, house.uncertainty.scatter)
    u_volume, u_alcohol = in_squares(errors, rows["gauge"])
    weighed = array(rows["mass_kg"])
    mass = np.where(np.isfinite(weighed), weighed, mass_from_volume(volume, used) * booked.times_denser)
    computed = rows.with_columns(
        strength_pct_vol=column(strength),
        u_strength_pct_vol=column(u_strength),
        strength_from=booked.strength_from,
        strength_is=booked.strength_is,
        volume_l=column(volume),
        u_volume_l=column(np.where(np.isfinite(volume), u_volume, np.nan)),
        alcohol_l=column(alcohol),
        u_alcohol_l=column(np.where(np.isfinite(alcohol), u_alcohol, np.nan)),
        mass_kg=column(mass),
        not_computed=_reasons(rows, strength, volume),
    )
    return _with_what_was_stated(computed, errors, house)


def _named(rows: pl.DataFrame, known: pl.Series, is_weighed: NDArray[np.bool_]) -> pl.DataFrame:
    """Names of the errors that a gauge may share with others: of what measured its quantity, and of its strength."""
    instrument = pl.when(known).then("known_instrument").otherwise("instrument")
    kind = pl.when(known).then("known_from").otherwise("reading_kind")
    return rows.select(
        "gauge",
        pl.when(pl.Series(is_weighed))
        .then(pl.lit(BALANCE))
        .otherwise(pl.format("vessel {}", "measured_in"))
        .alias("measured_by"),
        pl.coalesce(pl.format("instrument {}", instrument), pl.format("any {}", kind)).alias("read_by"),
        pl.when(known)
        .then(pl.format("strength of {}", "known_for"))
        .otherwise(pl.format("reading {}", "read_for"))
        .alias("reading"),
        (~known).alias("read_directly"),
        pl.when(known).then("known_scatter").alias("reading_scatter"),
        pl.format("gauge {}", "named").alias("alone"),
        pl.format("extract of {}", pl.coalesce("known_for", "lot")).alias("dissolved"),
    )


def _strengths(rows: pl.DataFrame, house: House) -> tuple[Array, Array, Array]:
    """Strength at 20 °C by what the reading is, as if nothing were dissolved, and what the reading and its temperature
    give to its uncertainty, with their signs."""
    reading, t = array(rows["strength_reading"]), array(rows["reading_temperature_c"])
    u_instrument = u_of_readings(rows, house)
    u_t = house.uncertainty.temperature_c
    kind = np.asarray(rows["reading_kind"].fill_null("").to_list(), dtype=str)
    strength, by_reading, by_temperature = (np.full(len(rows), np.nan) for _ in range(3))

    for name, function, u_default in (
        ("alcoholmeter", strength_from_alcoholmeter, house.uncertainty.alcoholmeter_pct_vol),
        ("density", strength_from_density, house.uncertainty.density_kg_m3),
        ("us_proof_hydrometer", strength_from_proof_hydrometer, 2.0 * house.uncertainty.alcoholmeter_pct_vol),
    ):
        chosen = kind == name
        u_reading = np.where(np.isfinite(u_instrument), u_instrument, u_default)[chosen]
        strength[chosen] = function(reading[chosen], t[chosen])
        by_reading[chosen], by_temperature[chosen] = contributions(
            function, [reading[chosen], t[chosen]], [u_reading, u_t]
        )

    u_stated = np.where(np.isfinite(u_instrument), u_instrument, house.uncertainty.strength_pct_vol)
    stated = np.isin(kind, ("pct_vol_20c", "us_proof_60f"))
    by_reading[stated], by_temperature[stated] = u_stated[stated], 0.0
    chosen = kind == "pct_vol_20c"
    strength[chosen] = reading[chosen]
    chosen = kind == "us_proof_60f"
    strength[chosen] = strength_from_us_proof(reading[chosen])

    return strength, by_reading, by_temperature


def _shares(
    u: Array, by_reading: Array, by_temperature: Array, u_known: Array, known: NDArray[np.bool_]
) -> tuple[Array, Array, Array]:
    """Parts of a booked strength's standard uncertainty: by the reading, by its temperature and by what is dissolved.

    They add up to one in squares. A true strength grows about one to one with the apparent one, so what it is more
    uncertain is the extract's.
    """
    by_reading, by_temperature = np.where(known, u_known, by_reading), np.where(known, 0.0, by_temperature)
    by_reading, by_temperature = np.nan_to_num(by_reading), np.nan_to_num(by_temperature)
    least = np.maximum(u, np.hypot(by_reading, by_temperature))
    share = np.divide(1.0, least, out=np.zeros_like(u), where=(u > 0) & (least > 0))
    of_reading, of_temperature = by_reading * share, by_temperature * share
    rest = np.where(u > 0, 1.0 - of_reading**2 - of_temperature**2, 0.0)
    return of_reading, of_temperature, np.sqrt(np.where(rest > 1e-9, rest, 0.0))


class _Quantity:
    """What was read of the quantity: the mass weighed in air, else the vessel's scale with its temperature."""

    def __init__(self, rows: pl.DataFrame, strength: Array, times_denser: Array, house: House) -> None:
        expansion = {vessel.code: vessel.expansion_per_k for vessel in house.vessels}
        u_pct = {v.code: v.u_volume_pct for v in house.vessels if v.u_volume_pct is not None}
        self._per_k = array(rows["measured_in"].replace_strict(expansion, default=0.0, return_dtype=pl.Float64))
        volume_pct = array(
            rows["measured_in"].replace_strict(u_pct, default=house.uncertainty.volume_pct, return_dtype=pl.Float64)
        )
        volume_pct = np.where(np.isfinite(volume_pct), volume_pct, house.uncertainty.volume_pct)
        at_t, t, mass = (array(rows[name]) for name in ("volume_at_t_l", "volume_temperature_c", "mass_kg"))
        # A weighing beats a dip where both were made: mass needs no temperature.
        self.is_weighed = np.isfinite(volume_from_mass(mass, strength)) & (strength > 0)
        self._times_denser = times_denser
        self.read = np.where(self.is_weighed, mass, at_t)
        # Water and wort are seldom gauged with a temperature; 20 °C is assumed for them and for nothing else.
        self.temperature_c = np.where(~np.isfinite(t) & (strength == 0.0), 20.0, t)
        self._is_hot = self.temperature_c > HOT_FROM_C
        expands = np.where(self._is_hot, np.nan_to_num(u_of_expansion(self.temperature_c, strength)), 0.0)
        volume_pct = np.hypot(volume_pct, 100 * expands)
        self.u_read = self.read * np.where(self.is_weighed, house.uncertainty.mass_pct, volume_pct) / 100
        self.u_temperature_c = np.where(self.is_weighed, 0.0, house.uncertainty.temperature_c)

    def amounts(self, quantity: Array, temperature_c: Array, strength: Array) -> Array:
        """Volume at 20 °C [L] and alcohol [LPA] of each row, as two rows."""
        volume, weighed = np.full(len(strength), np.nan), self.is_weighed
        volume[weighed] = volume_from_mass(quantity[weighed] / self._times_denser[weighed], strength[weighed])
        for at_20c, gauged in (
            (volume_at_20c, ~weighed & ~self._is_hot),
            (hot_volume_at_20c, ~weighed & self._is_hot),
        ):
            volume[gauged] = at_20c(quantity[gauged], temperature_c[gauged], strength[gauged], self._per_k[gauged])
        return np.stack([volume, np.asarray(litres_of_pure_alcohol(volume, strength))])


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
        .then(
            pl.lit(
                "the volume cannot be brought to 20 °C from this temperature"
                f" (up to {HOT_FROM_C:g} °C; up to {HOT_TO_C:g} °C at most at {MOST_STRENGTH_PCT_VOL:g} % vol)"
            )
        )
    ).to_series()
