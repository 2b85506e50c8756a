"""Samples that were taken out of the account: from which lot or cask, how much, what for, to whom."""

from gaugebook.pipeline.typed.amounts import AMOUNT_FIELDS, AMOUNT_RULES
from gaugebook.pipeline.typed.record import Field, Record

SAMPLES = Record(
    kind="samples",
    fields=(
        Field("lot", "text", required=True),
        Field("taken_at", "time", required=True),
        *AMOUNT_FIELDS,
        Field("vessel", "text"),
        Field("purpose", "text"),
        Field("recipient", "text"),
        Field("document", "text"),
        Field("person", "text"),
    ),
    key=("lot", "vessel", "taken_at", "purpose", "recipient"),
    rules=AMOUNT_RULES,
)
