"""One working of one piece of equipment, from mash to bottling."""

import polars as pl

from gaugebook.pipeline.house.settings import STAGES
from gaugebook.pipeline.typed.record import Field, Record, RowRule

RUNS = Record(
    kind="runs",
    fields=(
        Field("run", "text", required=True),
        Field("stage", "choice", required=True, choices=STAGES),
        Field("equipment", "text", required=True),
        Field("product", "text"),
        Field("recipe", "text"),
        Field("started_at", "time", required=True),
        Field("ended_at", "time"),
        Field("operator", "text"),
        Field("hearts_from", "time"),
        Field("hearts_to", "time"),
    ),
    key=("run",),
    rules=(
        RowRule(
            code="ends-before-start",
            column="ended_at",
            holds=pl.col("ended_at").is_null() | (pl.col("ended_at") >= pl.col("started_at")),
            expected="a run ends after it starts",
            to_do="correct the start or the end on the run sheet",
        ),
    ),
)
