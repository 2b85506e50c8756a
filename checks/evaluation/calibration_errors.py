"""What checks against a reference found, beside the instrument's own uncertainty at that reference."""

import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.arrays import array, column
from gaugebook.pipeline.derived.instruments import u_of
from gaugebook.pipeline.house.settings import House


def calibration_errors(book: Book, house: House) -> pl.DataFrame:
    """The checks of typed.calibrations with `error` and `u_instrument`, both in the unit of the check.

    `u_instrument` is NULL where the profile does not know the instrument, or knows it in a unit from which no slope
    leads to that of the check.
    """
    checks = book.frame(
        "SELECT * FROM typed.calibrations ORDER BY instrument, checked_at, reference_value, source_id, line"
    )
    u = pl.Series([None], dtype=pl.Float64).new_from_index(0, len(checks))
    for instrument in house.instruments:
        for unit in checks["unit"].unique().drop_nulls().sort():
            chosen = ((checks["instrument"] == instrument.code) & (checks["unit"] == unit)).fill_null(False)
            if chosen.any():
                u = u.scatter(
                    chosen.arg_true(), column(u_of(instrument, unit, array(checks["reference_value"].filter(chosen))))
                )
    return checks.with_columns(error=pl.col("reading") - pl.col("reference_value"), u_instrument=u)
