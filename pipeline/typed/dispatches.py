"""What left the house: bottles or bulk, to whom, under which duty status and document.

A blank document or customer is kept and found by the rules: the goods are gone all the same.
"""

from gaugebook.pipeline.typed.amounts import AMOUNT_FIELDS, AMOUNT_RULES
from gaugebook.pipeline.typed.record import Field, Record

DUTY_STATUSES = ("duty paid", "in bond", "export", "duty free", "other")

DISPATCHES = Record(
    kind="dispatches",
    fields=(
        Field("lot", "text", required=True),
        Field("dispatched_at", "time", required=True),
        *AMOUNT_FIELDS,
        Field("vessel", "text"),
        Field("customer", "text"),
        Field("duty_status", "choice", choices=DUTY_STATUSES),
        Field("document", "text"),
        Field("person", "text"),
    ),
    key=("lot", "document", "customer", "dispatched_at"),
    rules=AMOUNT_RULES,
)
