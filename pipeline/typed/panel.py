"""Sensory sessions: a lot against a reference lot."""

import polars as pl

from gaugebook.pipeline.typed.record import Field, Record, RowRule

PANEL = Record(
    kind="panel",
    fields=(
        Field("session", "text", required=True),
        Field("lot", "text", required=True),
        Field("reference_lot", "text", required=True),
        Field("held_at", "time"),
        Field("test", "choice", required=True, choices=("triangle", "paired", "duo-trio")),
        Field("assessors", "integer", required=True, possible=(1, 1000)),
        Field("correct_answers", "integer", required=True, possible=(0, 1000)),
    ),
    key=("session",),
    rules=(
        RowRule(
            code="more-answers-than-assessors",
            column="correct_answers",
            holds=pl.col("correct_answers") <= pl.col("assessors"),
            expected="at most one correct answer an assessor",
            to_do="correct the counts of the session",
        ),
    ),
)
