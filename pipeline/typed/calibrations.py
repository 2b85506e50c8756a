"""Checks of instruments against a reference, kept in the house's unit of what was checked."""

import polars as pl

from gaugebook.pipeline.engineering.units import UNITS, house_unit
from gaugebook.pipeline.typed.record import Field, Record, RowRule

CALIBRATIONS = Record(
    kind="calibrations",
    fields=(
        Field("instrument", "text", required=True),
        Field("checked_at", "time", required=True),
        Field("reference_value", "number", required=True, unit_field="unit"),
        Field("reading", "number", required=True, unit_field="unit"),
        Field("unit", "text", required=True),
        Field("due_at", "time"),
    ),
    key=("instrument", "checked_at", "reference_value"),
    rules=(
        RowRule(
            code="unit-misfit",
            column="unit",
            holds=pl.col("unit").is_in(sorted({house_unit(unit) for unit in UNITS})),
            expected="the unit in which the house reckons what was checked",
            to_do="give reference and reading in that unit; other units are for files, where the source map names them",
        ),
    ),
)
