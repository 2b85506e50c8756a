"""Standard uncertainties of what was read or found, by the instruments that it was measured with.

Each is in the unit of the value, by the slope from the instrument's own unit, and NaN where the instrument is not known
or does not measure such a thing; the house's general uncertainties are then taken.
"""

import numpy as np
import polars as pl
from numpy.typing import ArrayLike

from gaugebook.pipeline.derived.arrays import Array, array
from gaugebook.pipeline.engineering.stated_uncertainty import u_in_unit
from gaugebook.pipeline.engineering.strength import strength_from_us_proof
from gaugebook.pipeline.house.settings import House, Instrument

# The unit in which the uncertainty of each kind of strength reading is wanted.
READ_IN = {
    "alcoholmeter": "pct_vol", "density": "kg/m3", "pct_vol_20c": "pct_vol", "us_proof_60f": "pct_vol",
    "us_proof_hydrometer": "us_proof",
}  # fmt: skip


def u_of(
    instrument: Instrument, unit: str, values: ArrayLike, temperature_c: ArrayLike = 20.0,
    strength_pct_vol: ArrayLike = np.nan,
) -> Array:  # fmt: skip
    """Standard uncertainty of values in a unit that were measured with this instrument."""
    part = instrument.u_relative_pct / 100.0
    u = u_in_unit(instrument.u, instrument.unit, unit, values, temperature_c, strength_pct_vol, part)
    return np.asarray(u, dtype=float)


def u_of_readings(rows: pl.DataFrame, house: House) -> Array:
    """Standard uncertainty of strength readings, in kg/m3 where a density was read, in proof where a proof
    hydrometer was, and in % vol otherwise.

    Rows need: strength_reading, reading_kind, reading_temperature_c, instrument.
    """
    reading, t = array(rows["strength_reading"]), array(rows["reading_temperature_c"])
    u = np.full(len(rows), np.nan)
    for instrument in house.instruments:
        by_it = (rows["instrument"] == instrument.code).fill_null(False).to_numpy()
        for kind, unit in READ_IN.items():
            chosen = by_it & (rows["reading_kind"] == kind).fill_null(False).to_numpy()
            if not chosen.any():
                continue
            read = reading[chosen]
            values = np.asarray(strength_from_us_proof(read)) if kind == "us_proof_60f" else read
            u[chosen] = u_of(instrument, unit, values, t[chosen] if kind == "density" else 20.0)
    return u


def u_of_results(results: pl.DataFrame, house: House) -> Array:
    """Standard uncertainty of laboratory results, in the unit of each.

    Rows need: value, unit, temperature_c, instrument, lot_strength_pct_vol.
    """
    value, t = array(results["value"]), array(results["temperature_c"].fill_null(20.0))
    strength = array(results["lot_strength_pct_vol"])
    u = np.full(len(results), np.nan)
    for instrument in house.instruments:
        by_it = (results["instrument"] == instrument.code).fill_null(False)
        for unit in results["unit"].filter(by_it).unique().drop_nulls().sort():
            chosen = (by_it & (results["unit"] == unit)).to_numpy()
            at = t[chosen] if unit == "kg/m3" else 20.0
            u[chosen] = u_of(instrument, unit, value[chosen], at, strength[chosen])
    return u
