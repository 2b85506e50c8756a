"""A bottled lot with its counts; the lot is the batch."""

from pipeline.typed.record import Field, Record

BOTTLING = Record(
    kind="bottling",
    fields=(
        Field("lot", "text", required=True),
        Field("run", "text", required=True),
        Field("product", "text", required=True),
        Field("bottled_at", "time", required=True),
        Field("nominal_ml", "number", required=True, unit="mL", possible=(5.0, 10_000.0)),
        Field("label_strength_pct_vol", "number", required=True, unit="pct_vol", possible=(0.5, 100.0), on_label=True),
        Field("bottles_filled", "integer", required=True, possible=(0, 10_000_000)),
        Field("bottles_rejected", "integer", required=True, possible=(0, 10_000_000)),
        Field("operator", "text"),
    ),
    key=("lot",),
)
