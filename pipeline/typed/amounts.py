"""How much of a lot left, came back or was counted: gauged, weighed, counted or stated in pure alcohol, once."""

import polars as pl

from gaugebook.pipeline.typed.record import (
    ALCOHOL_L,
    GAUGE_FIELDS,
    MASS_KG,
    PIECES,
    STRENGTH_RULES,
    VOLUME_L,
    Field,
    RowRule,
)

QUANTITIES = ("volume_at_t_l", "mass_kg", "alcohol_l", "pieces")
AMOUNT_FIELDS = (
    Field("volume_at_t_l", "number", unit="L", possible=VOLUME_L),
    *GAUGE_FIELDS,
    Field("mass_kg", "number", unit="kg", possible=MASS_KG),
    Field("alcohol_l", "number", unit="LPA", possible=ALCOHOL_L),
    Field("pieces", "number", unit="each", possible=PIECES),
)


ONE_QUANTITY = RowRule(
    code="quantity-not-one",
    column="quantity",
    holds=pl.sum_horizontal(pl.col(name).is_not_null().cast(pl.Int32) for name in QUANTITIES) == 1,
    expected="exactly one quantity: volume, mass, litres of pure alcohol or pieces",
    to_do="fill in what was gauged, weighed or counted, once; a blank is not zero",
)
AMOUNT_RULES = (*STRENGTH_RULES, ONE_QUANTITY)
