"""Checks of instruments against a reference."""

from pipeline.typed.record import Field, Record

CALIBRATIONS = Record(
    kind="calibrations",
    fields=(
        Field("instrument", "text", required=True),
        Field("checked_at", "time", required=True),
        Field("reference_value", "number", required=True),
        Field("reading", "number", required=True),
        Field("unit", "text", required=True),
        Field("due_at", "time"),
    ),
    key=("instrument", "checked_at", "reference_value"),
)
