"""A lot into or out of a run, as it was gauged or weighed."""

import polars as pl

from gaugebook.pipeline.typed.lot_cycles import without_cycles
from gaugebook.pipeline.typed.record import (
    GAUGE_FIELDS,
    MASS_KG,
    PIECES,
    STRENGTH_RULES,
    VOLUME_L,
    Field,
    Record,
    RowRule,
)

PARTS = (
    "grain", "fruit", "sugar", "yeast", "water", "wort", "wash", "foreshots", "heads", "hearts", "tails", "feints",
    "spent", "spirit", "botanical", "sweetening", "liquid", "bottles", "packaging",
)  # fmt: skip

MOVEMENTS = Record(
    kind="movements",
    fields=(
        Field("run", "text", required=True),
        Field("direction", "choice", required=True, choices=("in", "out")),
        Field("lot", "text", required=True),
        Field("part", "choice", required=True, choices=PARTS),
        Field("vessel", "text"),
        Field("gauged_at", "time"),
        Field("volume_at_t_l", "number", unit="L", possible=VOLUME_L),
        *GAUGE_FIELDS,
        Field("mass_kg", "number", unit="kg", possible=MASS_KG),
        Field("pieces", "number", unit="each", possible=PIECES),
    ),
    key=("run", "direction", "lot", "part", "vessel", "gauged_at"),
    rules=(
        *STRENGTH_RULES,
        RowRule(
            code="quantity-missing",
            column="volume_at_t_l",
            holds=pl.col("volume_at_t_l").is_not_null()
            | pl.col("mass_kg").is_not_null()
            | (pl.col("pieces").is_not_null() & pl.col("part").is_in(["bottles", "packaging"]))
            # what a run fills is counted on the bottling record; what a run draws has a count or gauge of its own
            | ((pl.col("part") == "bottles") & (pl.col("direction") == "out")),
            expected="a volume or a mass; of bottles and packaging, their number (pieces)",
            to_do="fill in what was gauged, weighed or counted; a blank is not zero, and not the whole lot",
        ),
    ),
    stands_with=without_cycles,
)
