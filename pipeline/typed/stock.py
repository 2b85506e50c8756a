"""Gauges of a vessel at rest, such as the month-end dips."""

from gaugebook.pipeline.typed.record import GAUGE_FIELDS, STRENGTH_RULES, VOLUME_L, Field, Record

STOCK = Record(
    kind="stock",
    fields=(
        Field("vessel", "text", required=True),
        Field("lot", "text", required=True),
        Field("gauged_at", "time", required=True),
        Field("volume_at_t_l", "number", required=True, unit="L", possible=VOLUME_L),
        *GAUGE_FIELDS,
    ),
    key=("vessel", "lot", "gauged_at"),
    rules=STRENGTH_RULES,
)
