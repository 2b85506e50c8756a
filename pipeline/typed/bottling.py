"""A bottled lot with its counts; the lot is the batch."""

from gaugebook.pipeline.typed.record import Field, Record

# What a label says is a statement at the temperature of its law (EU 20 °C, US 60 °F), where a degree of proof is half a
# per cent: 27 CFR 5.1. Nothing is brought from one temperature to the other here.
ON_LABEL = {"pct_vol": 1.0, "pct_vol_60f": 1.0, "us_proof": 0.5}

BOTTLING = Record(
    kind="bottling",
    fields=(
        Field("lot", "text", required=True),
        Field("run", "text", required=True),
        Field("product", "text", required=True),
        Field("bottled_at", "time", required=True),
        Field("nominal_ml", "number", required=True, unit="mL", possible=(5.0, 10_000.0)),
        Field(
            "label_strength_pct_vol", "number", required=True, unit="pct_vol", possible=(0.5, 100.0), factors=ON_LABEL
        ),
        Field("label_age_years", "number", unit="years", possible=(0.01, 150.0)),
        Field("bottles_filled", "integer", required=True, unit="each", possible=(0, 10_000_000)),
        Field("bottles_rejected", "integer", required=True, unit="each", possible=(0, 10_000_000)),
        Field("operator", "text"),
    ),
    key=("lot",),
)
