"""The errors that each gauge carries, and by how much each moves its volume and its alcohol.

Readings of one instrument share its error, so an uncertainty of sums and differences needs the errors by name: what one
error gives to several gauges is added with its sign before it is squared (GUM, JCGM 100:2008, 5.2.2, note 1).

Of each standard uncertainty the house profile states, a part (`scatter`) is that of the single reading; the rest is the
instrument's own error and shared by all that it reads. One house has one thermometer and one balance, one strength
instrument of a kind where none is named, and a tank its own calibration (common practice). A volume in no named vessel
shares nothing.
"""

from dataclasses import dataclass

import numpy as np
import polars as pl

from gaugebook.pipeline.derived.arrays import Array

THERMOMETER, BALANCE = "thermometer", "balance"
SCHEMA = {"gauge": pl.Int32, "error": pl.String, "volume_l": pl.Float64, "alcohol_l": pl.Float64}


@dataclass(frozen=True)
class Parts:
    """Standard uncertainties of what was read, each as what it gives to (volume [L], alcohol [LPA]) of every gauge.

    Attributes
    ----------
    quantity, temperature : array
        Volume read or mass weighed, and the temperature of the volume; two rows, one column a gauge
    reading, reading_temperature : array
        Strength read and the temperature at which it was, through all that the strength enters
    dissolved : array
        Extract of a strength estimated with it, likewise
    """

    quantity: Array
    temperature: Array
    reading: Array
    reading_temperature: Array
    dissolved: Array


def gauge_errors(rows: pl.DataFrame, parts: Parts, scatter: float) -> pl.DataFrame:
    """One row a gauge and error, with what a standard uncertainty of the error gives to volume and alcohol.

    `rows` need: gauge, measured_by (the vessel's or the balance's error, NULL for a volume that shares none), read_by
    (the error of what read the strength), reading (names the single reading; several gauges may rest on one),
    read_directly (whether that is a reading of a gauge and no result of the laboratory), dissolved (names what is
    dissolved in the lot), alone (names the gauge); and reading_scatter, where another part than `scatter` of what the
    reading gives is its own (a mean of several results).
    """
    shared = np.sqrt(1.0 - scatter**2)
    named = rows["measured_by"].is_not_null().to_numpy()
    own = np.hypot(np.where(named, scatter, 1.0) * parts.quantity, scatter * parts.temperature)
    of_reading = rows["reading_scatter"].fill_null(scatter).to_numpy()
    strength = np.sign(parts.reading) * np.hypot(of_reading * parts.reading, scatter * parts.reading_temperature)
    thermometer = pl.repeat(THERMOMETER, len(rows), eager=True)
    errors = [
        _of(rows, rows["read_by"], np.sqrt(1.0 - of_reading**2) * parts.reading),
        _of(rows, thermometer, shared * (parts.temperature + parts.reading_temperature)),
        _of(rows, rows["measured_by"], shared * np.where(named, parts.quantity, 0.0)),
        _of(rows, rows["reading"], strength),
        _of(rows, rows["dissolved"], parts.dissolved),
        _of(rows, rows["alone"], own),
    ]
    return _single_readings_joined(pl.concat(errors), rows)


def _of(rows: pl.DataFrame, error: pl.Series, parts: Array) -> pl.DataFrame:
    """Rows of one kind of error, those that move nothing left out."""
    volume, alcohol = np.nan_to_num(parts)
    frame = pl.DataFrame(
        {"gauge": rows["gauge"].cast(pl.Int32), "error": error, "volume_l": volume, "alcohol_l": alcohol}, SCHEMA
    )
    return frame.filter(pl.col("error").is_not_null() & ((pl.col("volume_l") != 0) | (pl.col("alcohol_l") != 0)))


def _single_readings_joined(errors: pl.DataFrame, rows: pl.DataFrame) -> pl.DataFrame:
    """A reading that one gauge alone rests on is an error of that gauge alone, joined with its others in squares."""
    single_readings = rows.filter("read_directly")["reading"]
    is_alone = pl.col("error").is_in(rows["alone"].implode())
    is_alone |= pl.col("error").is_in(single_readings.implode()) & (pl.len().over("error") == 1)
    own = errors.filter(is_alone)
    volume, alcohol = in_squares(own, rows["gauge"])
    alone = _of(rows, rows["alone"], np.stack([volume, alcohol]))
    return pl.concat([errors.filter(~is_alone), alone]).sort("gauge", "error")


def in_squares(errors: pl.DataFrame, gauges: pl.Series) -> tuple[Array, Array]:
    """Standard uncertainty of volume and alcohol of each gauge, all its errors together; 0 where it carries none.

    Squares are added in the order of the rows, so that the last digit is always the same; the gauges' numbers rise.
    """
    place = np.searchsorted(gauges.to_numpy(), errors["gauge"].to_numpy())
    volume, alcohol = (
        np.sqrt(np.bincount(place, errors[name].to_numpy() ** 2, len(gauges))) for name in ("volume_l", "alcohol_l")
    )
    return volume, alcohol
