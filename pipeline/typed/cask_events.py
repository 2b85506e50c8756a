"""What befell a cask: filled, gauged again, drawn from, emptied, sampled, leaking, moved.

Filling a cask that is not empty is topping it. From cask to cask there is a row for each: one drawn or emptied, one
filled, each naming the other.
"""

import polars as pl

from gaugebook.pipeline.typed.amounts import QUANTITIES
from gaugebook.pipeline.typed.record import (
    ALCOHOL_L,
    GAUGE_FIELDS,
    MASS_KG,
    STRENGTH_RULES,
    VOLUME_L,
    Field,
    Record,
    RowRule,
)

EVENTS = ("filled", "regauged", "drawn", "emptied", "sampled", "lost", "moved")
OF_GAUGES = ("filled", "regauged", "drawn", "sampled")  # say how much; an emptied cask may have run dry

CASK_EVENTS = Record(
    kind="cask_events",
    fields=(
        Field("cask", "text", required=True),
        Field("event", "choice", required=True, choices=EVENTS),
        Field("happened_at", "time", required=True),
        Field("run", "text"),
        Field("lot", "text"),
        Field("other_cask", "text"),
        Field("volume_at_t_l", "number", unit="L", possible=VOLUME_L),
        *GAUGE_FIELDS,
        Field("gross_kg", "number", unit="kg", possible=MASS_KG),
        Field("tare_kg", "number", unit="kg", possible=MASS_KG),
        Field("mass_kg", "number", unit="kg", possible=MASS_KG),
        Field("alcohol_l", "number", unit="LPA", possible=ALCOHOL_L),
        Field("rinse_l", "number", unit="L", possible=VOLUME_L),
        Field("location", "text"),
        Field("position", "text"),
        Field("reason", "text"),
        Field("document", "text"),
        Field("person", "text"),
    ),
    key=("cask", "event", "happened_at", "lot", "other_cask"),
    rules=(
        *STRENGTH_RULES,
        RowRule(
            code="quantity-missing",
            column="volume_at_t_l",
            holds=~pl.col("event").is_in(OF_GAUGES)
            | pl.any_horizontal(pl.col(name).is_not_null() for name in (*QUANTITIES[:3], "gross_kg")),
            expected="a volume, a gross or net mass, or litres of pure alcohol",
            to_do="fill in what was gauged or weighed; a blank is not zero, and not the whole cask",
        ),
        RowRule(
            code="quantity-not-one",
            column="quantity",
            holds=pl.sum_horizontal(pl.col(name).is_not_null().cast(pl.Int32) for name in (*QUANTITIES[:3], "gross_kg"))
            <= 1,
            expected="one quantity: volume, gross mass, net mass or litres of pure alcohol",
            to_do="map the one that was gauged or weighed; what follows from it is computed",
        ),
        RowRule(
            code="gross-below-tare",
            column="gross_kg",
            holds=pl.col("gross_kg").is_null()
            | pl.col("tare_kg").is_null()
            | (pl.col("gross_kg") >= pl.col("tare_kg")),
            expected="a gross mass not below the tare",
            to_do="look whether gross and tare were exchanged, or another unit was written down",
        ),
        RowRule(
            code="filled-with-nothing-named",
            column="lot",
            holds=(pl.col("event") != "filled") | pl.col("lot").is_not_null() | pl.col("other_cask").is_not_null(),
            expected="a filling names the lot or the cask that it was filled from",
            to_do="fill in the lot of the spirit, or the other cask",
        ),
    ),
)
