"""What came back to the house after it had left it: under its own document, and the one by which it had left."""

from gaugebook.pipeline.typed.amounts import AMOUNT_FIELDS, AMOUNT_RULES
from gaugebook.pipeline.typed.dispatches import DUTY_STATUSES
from gaugebook.pipeline.typed.record import Field, Record

RETURNS = Record(
    kind="returns",
    fields=(
        Field("lot", "text", required=True),
        Field("returned_at", "time", required=True),
        *AMOUNT_FIELDS,
        Field("vessel", "text"),
        Field("customer", "text"),
        Field("duty_status", "choice", choices=DUTY_STATUSES),
        Field("document", "text"),
        Field("dispatch_document", "text"),
        Field("reason", "text"),
        Field("person", "text"),
    ),
    key=("lot", "document", "customer", "returned_at"),
    rules=AMOUNT_RULES,
)
