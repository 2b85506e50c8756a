"""True strength of a liquid with dissolved extract, which hides alcohol from glass and density meter.

What is booked, and what derived.gauges says of it under `strength_is`:

- *true*: nothing is dissolved, or the strength was read after distillation (of the lot by the laboratory, or on the
  gauge itself). A % vol that was stated for wash or stillage counts as such: neither glass nor density can show one.
- *estimated*: read by glass or density, and the laboratory knows the extract: what that hides is added, with its
  uncertainty.
- *apparent*: something is or may be dissolved, and nothing says how much or how the strength was read. Booked as read.
"""

from dataclasses import dataclass

import numpy as np
import polars as pl

from gaugebook.pipeline.derived.arrays import Array, array
from gaugebook.pipeline.derived.instruments import u_of_readings
from gaugebook.pipeline.engineering.ethanol_water import density
from gaugebook.pipeline.engineering.obscuration import (
    EXTRACT_RANGE_G_L,
    EXTRACT_VOLUME_ML_PER_G,
    true_strength,
    u_true_strength,
)
from gaugebook.pipeline.engineering.strength import mass_fraction_from_volume_strength
from gaugebook.pipeline.engineering.uncertainty import propagate
from gaugebook.pipeline.house.settings import House

# Dissolved extract up to this is next to none [g/L]: 0.5 g/L hides about 0.1 % vol at 40 % vol (common practice).
NEGLIGIBLE_EXTRACT_G_L = 0.5
# Standard uncertainty of a dry extract whose instrument has none in g/L: the greater of the two (common practice).
U_EXTRACT_G_L, U_EXTRACT_RELATIVE = 0.1, 0.02
READ_DIRECTLY = ("alcoholmeter", "density", "us_proof_60f", "us_proof_hydrometer")
BEFORE_DISTILLATION = ("wash", "spent")


@dataclass(frozen=True)
class Booked:
    """What is booked of each row: strength and its standard uncertainty [% vol], what it rests on, what it is, and how
    much denser the liquid is than ethanol and water of that strength [-]."""

    strength: Array
    u_strength: Array
    strength_from: pl.Series
    strength_is: pl.Series
    times_denser: Array


def booked_strengths(rows: pl.DataFrame, read: Array, u_read: Array, house: House) -> Booked:
    """Strength to book for each row, from the one that was read, the laboratory's, and the extract.

    Parameters
    ----------
    rows : DataFrame
        part, strength_reading, reading_kind, reading_temperature_c, preparation, instrument, known_strength_pct_vol,
        u_known_strength_pct_vol, known_preparation, known_from, extract_g_l, u_extract_g_l, may_hold
    read, u_read : array
        Strength at 20 °C as read, as if nothing were dissolved, and its standard uncertainty [% vol]
    house : House
        For the standard uncertainties of what was read.
    """
    kind, part = (_texts(rows[name]) for name in ("reading_kind", "part"))
    reading, known, u_known = (
        array(rows[name]) for name in ("strength_reading", "known_strength_pct_vol", "u_known_strength_pct_vol")
    )
    extract = array(rows["extract_g_l"])
    is_read, is_known = np.isfinite(reading), np.isfinite(known)
    holds = extract > NEGLIGIBLE_EXTRACT_G_L
    obscured = holds | (np.isnan(extract) & rows["may_hold"].fill_null(False).to_numpy())
    unfermented = np.isin(part, BEFORE_DISTILLATION)

    preparation, known_preparation = _texts(rows["preparation"]), _texts(rows["known_preparation"])
    read_is_true = is_read & ((preparation == "distilled") | (unfermented & (kind == "pct_vol_20c")))
    known_is_true = is_known & ((known_preparation == "distilled") | unfermented)
    read_is_direct = is_read & (np.isin(kind, READ_DIRECTLY) | (preparation == "direct")) & ~read_is_true
    known_is_direct = is_known & ~is_read & (known_preparation == "direct") & ~known_is_true

    from_known = is_known & np.where(obscured, known_is_true & (holds | ~read_is_true), ~is_read)
    from_known |= is_known & ~is_read
    estimated = holds & ~known_is_true & (read_is_direct | known_is_direct)
    strength, u = np.where(from_known, known, read), np.where(from_known, u_known, u_read)
    strength[estimated], u[estimated] = _estimates(
        rows.filter(pl.Series(estimated)), strength[estimated], u[estimated], house
    )
    origin = pl.select(
        pl.when(pl.Series(from_known)).then(rows["known_from"]).otherwise(rows["reading_kind"])
    ).to_series()
    is_true = ~obscured | np.where(from_known, known_is_true, read_is_true)
    standing = np.where(is_true, "true", np.where(estimated, "estimated", "apparent"))
    return Booked(
        strength=strength,
        u_strength=u,
        strength_from=origin,
        strength_is=pl.Series(standing.tolist()).set(pl.Series(~np.isfinite(strength)), None),
        times_denser=_times_denser(strength, np.where(holds & (is_true | estimated), extract, 0.0)),
    )


def _estimates(rows: pl.DataFrame, apparent: Array, u_apparent: Array, house: House) -> tuple[Array, Array]:
    """True strength and its standard uncertainty from what density or glass showed and the extract.

    A density is taken as it was read, so that a liqueur denser than water has a strength too; any other reading stands
    for the density that it has at 20 °C.
    """
    if rows.is_empty():
        return np.empty(0), np.empty(0)
    by_density = _texts(rows["reading_kind"]) == "density"
    u_instrument = u_of_readings(rows, house)
    u_density = np.where(np.isfinite(u_instrument), u_instrument, house.uncertainty.density_kg_m3)
    rho = np.where(by_density, array(rows["strength_reading"]), _density(apparent))
    u_rho = np.where(by_density, u_density, propagate(_density, [apparent], [u_apparent]))
    t = np.where(by_density, array(rows["reading_temperature_c"]), 20.0)
    u_t = np.where(by_density, house.uncertainty.temperature_c, 0.0)
    extract, u_extract = array(rows["extract_g_l"]), array(rows["u_extract_g_l"])
    u_extract = np.where(np.isfinite(u_extract), u_extract, np.maximum(U_EXTRACT_G_L, U_EXTRACT_RELATIVE * extract))
    u = u_true_strength(rho, u_rho, t, u_t, extract, u_extract)
    return np.asarray(true_strength(rho, t, extract)), np.asarray(u)


def _density(strength: Array) -> Array:
    """Density at 20 °C of ethanol and water [kg/m3]."""
    return np.asarray(density(mass_fraction_from_volume_strength(strength), 20.0))


def _times_denser(strength: Array, extract: Array) -> Array:
    """Density at 20 °C with the extract over that without it; one where there is none."""
    extract = np.clip(extract, *EXTRACT_RANGE_G_L)
    some = (extract > 0.0) & np.isfinite(strength)
    ratio = np.ones(len(strength))
    free = 1.0 - extract[some] * EXTRACT_VOLUME_ML_PER_G / 1000.0
    ratio[some] = (_density(strength[some] / free) * free + extract[some]) / _density(strength[some])
    return np.where(np.isfinite(ratio), ratio, 1.0)


def _texts(series: pl.Series) -> np.ndarray:
    return np.asarray(series.fill_null("").to_list(), dtype=str)
