"""Sampled net contents of a bottled lot, at 20 °C."""

from gaugebook.pipeline.typed.record import Field, Record

FILLS = Record(
    kind="fills",
    fields=(
        Field("lot", "text", required=True),
        Field("sample_no", "integer", required=True, possible=(1, 1_000_000)),
        Field("measured_at", "time"),
        Field("net_content_ml", "number", required=True, unit="mL", possible=(0.0, 20_000.0)),
        Field("instrument", "text"),
    ),
    key=("lot", "sample_no"),
)
