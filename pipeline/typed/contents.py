"""What a certificate says of a material: the extract of grain, the sugar, starch or fructan of anything else.

Percentages are of the mass as received but for `extract_pct`, which is of the dry matter as certificates of malt state
it. Which of them counts for the prediction stands in `pipeline/derived/contents.sql`.
"""

import polars as pl

from gaugebook.pipeline.typed.record import Field, RowRule

_PCT = (0.0, 100.0)


def _share(name: str) -> Field:
    return Field(name, "number", unit="pct", possible=_PCT)


CONTENT_FIELDS = (
    _share("extract_pct"),  # of the dry matter
    _share("moisture_pct"),
    _share("fermentability_pct"),  # share of the extract that ferments
    Field("original_gravity", "number", unit="sg", possible=(1.0, 1.18)),  # of the laboratory's wort,
    Field("final_gravity", "number", unit="sg", possible=(0.98, 1.18)),  # and at its end
    Field("brix", "number", unit="plato", possible=_PCT),  # soluble solids, grams in 100 g
    _share("purity_pct"),  # sucrose in the soluble solids
    Field("sugar_free_extract_g_l", "number", unit="g/L", possible=(0.0, 500.0)),  # of a must
    _share("potential_alcohol_pct_vol"),  # of a must
    _share("total_sugars_pct"),  # as invert sugar, sucrose counted in it
    _share("reducing_sugars_pct"),  # glucose, fructose
    _share("sucrose_pct"),
    _share("lactose_pct"),  # anhydrous
    _share("starch_pct"),
    _share("fructan_pct"),
    Field("sugar_g_l", "number", unit="g/L", possible=(0.0, 1500.0)),  # as invert sugar, in a litre of juice
    Field("juice_l_per_100kg", "number", possible=(0.0, 100.0)),  # of fruit: what is pressed of it
)

CONTENT_RULES = (
    RowRule(
        code="purity-without-brix",
        column="purity_pct",
        holds=pl.col("purity_pct").is_null() | pl.col("brix").is_not_null(),
        expected="a purity is a share of the soluble solids, so it has their Brix beside it",
        to_do="fill in the Brix of the same sample",
    ),
    RowRule(
        code="gravity-alone",
        column="final_gravity",
        holds=pl.col("original_gravity").is_null() == pl.col("final_gravity").is_null(),
        expected="gravities of the laboratory's wort come in pairs: before and after fermentation",
        to_do="fill in the other one, or leave both out",
    ),
    RowRule(
        code="gravity-rises",
        column="final_gravity",
        holds=pl.col("original_gravity").is_null() | (pl.col("final_gravity") < pl.col("original_gravity")),
        expected="a final gravity below the original",
        to_do="correct the gravities; they may be in each other's column",
    ),
)
