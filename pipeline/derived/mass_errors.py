"""The errors of what was weighed and carries no alcohol: grain, botanicals, sugar.

Weighings on one balance share its error, as readings of one instrument do (gauge_errors.py). What a delivery weighs its
note says, so it shares none.
"""

import numpy as np
import polars as pl

from gaugebook.pipeline.derived.arrays import array
from gaugebook.pipeline.derived.gauge_errors import BALANCE
from gaugebook.pipeline.derived.instruments import u_of
from gaugebook.pipeline.house.settings import House

SCHEMA = pl.Schema({"gauge": pl.Int32, "error": pl.String, "mass_kg": pl.Float64})


def mass_errors(rows: pl.DataFrame, house: House) -> pl.DataFrame:
    """One row a gauge and error of its mass, with what a standard uncertainty of the error gives to it [kg].

    `rows` need: gauge, named, instrument, mass_kg, volume_l and u_volume_l (of what was not weighed), is_weighed,
    is_own (weighed by the house).
    """
    rows = rows.filter(pl.col("mass_kg").is_not_null())
    mass = array(rows["mass_kg"])
    u = mass * (house.uncertainty.mass_pct / 100)
    by_name = np.zeros(len(rows), dtype=bool)
    for instrument in house.instruments:
        chosen = (rows["instrument"] == instrument.code).fill_null(False).to_numpy()
        by_it = u_of(instrument, "kg", mass[chosen])
        u[chosen] = np.where(np.isfinite(by_it), by_it, u[chosen])
        by_name[chosen] = np.isfinite(by_it)
    weighed = rows["is_weighed"].to_numpy()
    volume = array(rows["volume_l"])
    reckoned = np.divide(mass * array(rows["u_volume_l"]), volume, out=np.zeros(len(rows)), where=volume > 0)
    u = np.where(weighed, u, reckoned)
    shares = weighed & rows["is_own"].to_numpy()
    scatter = house.uncertainty.scatter
    rows = rows.with_columns(
        balance=pl.when(pl.Series(by_name)).then(pl.format("instrument {}", "instrument")).otherwise(pl.lit(BALANCE)),
        shared=pl.Series(np.where(shares, np.sqrt(1.0 - scatter**2), 0.0) * u),
        alone=pl.Series(np.where(shares, scatter, 1.0) * u),
    )
    gauge, own = pl.col("gauge"), pl.format("gauge {}", "named")
    parts = [
        rows.select(gauge, pl.col("balance").alias("error"), pl.col("shared").alias("mass_kg")),
        rows.select(gauge, own.alias("error"), pl.col("alone").alias("mass_kg")),
    ]
    return pl.concat(parts).filter(pl.col("mass_kg").is_not_nan() & (pl.col("mass_kg") != 0)).cast(SCHEMA)
