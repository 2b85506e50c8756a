"""Stock that a house starts with: what stood in tanks, casks, stores and bottles when the book was begun.

One row a lot and vessel (a cask is a vessel), counted, weighed or gauged by somebody at one moment.
"""

import polars as pl

from gaugebook.pipeline.typed.amounts import AMOUNT_FIELDS, AMOUNT_RULES
from gaugebook.pipeline.typed.bottling import ON_LABEL
from gaugebook.pipeline.typed.contents import CONTENT_FIELDS, CONTENT_RULES
from gaugebook.pipeline.typed.intake import KINDS
from gaugebook.pipeline.typed.record import Field, Record, RowRule

BOTTLED = "bottled spirit"

OPENING_STOCK = Record(
    kind="opening_stock",
    fields=(
        Field("lot", "text", required=True),
        Field("material", "text", required=True),
        Field("kind", "choice", required=True, choices=(*KINDS, BOTTLED)),
        Field("vessel", "text"),
        Field("counted_at", "time", required=True),
        *AMOUNT_FIELDS,
        Field("nominal_ml", "number", unit="mL", possible=(5.0, 10_000.0)),
        Field("label_strength_pct_vol", "number", unit="pct_vol", possible=(0.5, 100.0), factors=ON_LABEL),
        Field("aged_from", "time"),
        *CONTENT_FIELDS,
        Field("condition", "choice", choices=("fresh", "dried", "frozen")),
        Field("counted_by", "text"),
    ),
    key=("lot", "vessel"),
    rules=(
        *AMOUNT_RULES,
        *CONTENT_RULES,
        RowRule(
            code="bottles-without-size",
            column="nominal_ml",
            holds=(pl.col("kind") != BOTTLED)
            | (
                pl.col("pieces").is_not_null()
                & pl.col("nominal_ml").is_not_null()
                & pl.col("label_strength_pct_vol").is_not_null()
            ),
            expected="bottles are counted (pieces), with their nominal volume and the strength on their label",
            to_do="fill in number, nominal volume and label strength",
        ),
    ),
)
