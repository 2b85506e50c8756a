"""What came to the house: lots of grain, fruit, sugar, botanicals, spirit, water and packaging."""

import polars as pl

from gaugebook.pipeline.typed.contents import CONTENT_FIELDS, CONTENT_RULES
from gaugebook.pipeline.typed.record import (
    ALCOHOL_L,
    GAUGE_FIELDS,
    MASS_KG,
    PIECES,
    STRENGTH_RULES,
    VOLUME_L,
    Field,
    Record,
    RowRule,
)

# Sugar is what is fermented for its sugar and is no fruit: molasses, cane juice, must, agave, whey, honey, syrup.
KINDS = (
    "malt", "adjunct", "fruit", "sugar", "yeast", "botanical", "sweetening", "neutral spirit", "spirit", "wash",
    "water", "packaging", "other",
)  # fmt: skip

INTAKE = Record(
    kind="intake",
    fields=(
        Field("lot", "text", required=True),
        Field("material", "text", required=True),
        Field("kind", "choice", required=True, choices=KINDS),
        Field("supplier", "text"),
        Field("received_at", "time", required=True),
        Field("quantity_kg", "number", unit="kg", possible=MASS_KG),
        Field("quantity_l", "number", unit="L", possible=VOLUME_L),
        Field("quantity_pieces", "number", unit="each", possible=PIECES),
        Field("alcohol_l", "number", unit="LPA", possible=ALCOHOL_L),
        Field("vessel", "text"),
        *GAUGE_FIELDS,
        *CONTENT_FIELDS,
        Field("condition", "choice", choices=("fresh", "dried", "frozen")),
        Field("best_before", "time"),
    ),
    key=("lot",),
    rules=(
        *STRENGTH_RULES,
        *CONTENT_RULES,
        RowRule(
            code="quantity-not-one",
            column="quantity",
            holds=pl.sum_horizontal(
                pl.col(name).is_not_null().cast(pl.Int32)
                for name in ("quantity_kg", "quantity_l", "quantity_pieces", "alcohol_l")
            )
            == 1,
            expected="exactly one quantity: kg, L, pieces or litres of pure alcohol",
            to_do="fill in the quantity that was received, once",
        ),
    ),
)
