"""Laboratory results, one analyte a row."""

from pipeline.typed.record import PREPARATION, TEMPERATURE_C, Field, Record

UNITS = ("pct_vol", "kg/m3", "sg", "plato", "g/hL pa", "mg/L", "g/L", "ph", "ntu", "pct")

LABORATORY = Record(
    kind="laboratory",
    fields=(
        Field("sample", "text", required=True),
        Field("lot", "text", required=True),
        Field("taken_at", "time"),
        Field("measured_at", "time"),
        Field("analyte", "choice", required=True),
        Field("value", "number", required=True, possible=(0.0, 1e7)),
        Field("unit", "text", required=True),
        Field("temperature_c", "number", unit="degC", possible=TEMPERATURE_C),
        Field("method", "text"),
        PREPARATION,
        Field("instrument", "text"),
        Field("analyst", "text"),
        Field("replicate", "integer", possible=(1, 99)),
    ),
    key=("sample", "lot", "analyte", "replicate", "method", "measured_at"),
    spread_over="analyte",
)
