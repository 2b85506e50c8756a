"""What was found when the house was counted: a row a tank, cask, or lot of cased goods and its place.

A cask may be counted without being gauged: that it is there and full is what was seen.
"""

import polars as pl

from gaugebook.pipeline.typed.amounts import AMOUNT_FIELDS
from gaugebook.pipeline.typed.record import MASS_KG, STRENGTH_RULES, Field, Record, RowRule

CONTAINERS = ("tank", "cask", "cased goods")

INVENTORY = Record(
    kind="inventory",
    fields=(
        Field("counted_at", "time", required=True),
        Field("container", "choice", required=True, choices=CONTAINERS),
        Field("vessel", "text"),
        Field("lot", "text"),
        *AMOUNT_FIELDS,
        Field("gross_kg", "number", unit="kg", possible=MASS_KG),
        Field("location", "text"),
        Field("counted_by", "text"),
    ),
    key=("counted_at", "container", "vessel", "lot", "location"),
    rules=(
        *STRENGTH_RULES,
        RowRule(
            code="count-of-nothing",
            column="lot",
            holds=pl.when(pl.col("container") == "cased goods")
            .then(pl.col("lot").is_not_null() & pl.col("pieces").is_not_null())
            .otherwise(pl.col("vessel").is_not_null()),
            expected="of cased goods the lot and its pieces, else the tank or cask",
            to_do="fill in what was counted",
        ),
    ),
)
