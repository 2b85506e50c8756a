"""Sampled net contents of a bottled lot, each with the temperature at which it is that volume; 20 °C if none is said.

A house whose labels hold at 60 °F states it once, as a constant of its source map.
"""

from gaugebook.pipeline.typed.record import Field, Record

CONTENT_TEMPERATURE_C = (-10.0, 40.0)  # spirit in a bottle that is filled; OIML R 22 reaches to 40 °C

FILLS = Record(
    kind="fills",
    fields=(
        Field("lot", "text", required=True),
        Field("sample_no", "integer", required=True, possible=(1, 1_000_000)),
        Field("measured_at", "time"),
        Field("net_content_ml", "number", required=True, unit="mL", possible=(0.0, 20_000.0)),
        Field("content_temperature_c", "number", unit="degC", possible=CONTENT_TEMPERATURE_C),
        Field("instrument", "text"),
    ),
    key=("lot", "sample_no"),
)
