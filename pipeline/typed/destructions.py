"""What was destroyed: how much of which lot, why, and who saw it."""

from gaugebook.pipeline.typed.amounts import AMOUNT_FIELDS, AMOUNT_RULES
from gaugebook.pipeline.typed.record import Field, Record

DESTRUCTIONS = Record(
    kind="destructions",
    fields=(
        Field("lot", "text", required=True),
        Field("destroyed_at", "time", required=True),
        *AMOUNT_FIELDS,
        Field("vessel", "text"),
        Field("reason", "text"),
        Field("witness", "text"),
        Field("document", "text"),
        Field("person", "text"),
    ),
    key=("lot", "vessel", "destroyed_at", "reason"),
    rules=AMOUNT_RULES,
)
