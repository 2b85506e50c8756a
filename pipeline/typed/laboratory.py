"""Laboratory results, one analyte a row."""

import polars as pl

from gaugebook.pipeline.engineering.units import UNITS, fitting, house_unit
from gaugebook.pipeline.typed.quantities import Quantity
from gaugebook.pipeline.typed.record import PREPARATION, TEMPERATURE_C, Field, Record, RowRule

# The units in which results of an analyte are kept; what is given in another unit of the same quantity is turned into
# the one that fits. Results of any other analyte are kept in the unit that the house reckons that quantity in.
DISSOLVED = ("dry_extract", "sugar", "sweetening", "citric_acid", "anethole", "glycyrrhizic_acid")
CONGENERS = (
    "methanol", "acetaldehyde", "ethyl_acetate", "propanol", "butanol", "isobutanol", "isoamyl_alcohol",
    "active_amyl_alcohol", "furfural", "higher_alcohols", "volatile_substances", "volatile_acidity", "total_acidity",
    "nitrogenous_bases", "hydrocyanic_acid", "ethyl_carbamate",
)  # fmt: skip
ANALYTES: dict[str, tuple[str, ...]] = {
    "strength": ("pct_vol",),
    "density": ("kg/m3",),
    **dict.fromkeys(("specific_gravity", "original_gravity", "final_gravity"), ("sg",)),
    "ph": ("ph",),
    "turbidity": ("ntu",),
    **dict.fromkeys(DISSOLVED, ("g/L", "g/hL pa")),
    **dict.fromkeys(CONGENERS, ("mg/L", "g/hL pa", "mg/kg")),
}
KEPT = {*(house_unit(unit) for unit in UNITS), *(unit for units in ANALYTES.values() for unit in units)}
# What a result in each unit can be. A dry wash lies below water: extracts may be below zero.
SPANS = {
    "pct_vol": (0.0, 100.0), "kg/m3": (600.0, 1700.0), "sg": (0.6, 1.7), "plato": (-6.0, 100.0), "ph": (0.0, 14.0),
    "pct": (0.0, 100.0), "g/L": (0.0, 1.5e3), "mg/L": (0.0, 1.5e6), "degC": (-273.15, 1000.0),
}  # fmt: skip
ANY_SPAN = (0.0, 1e7)


def span(unit: str) -> tuple[float, float]:
    """What a result in a unit can be.

    >>> span("pct_vol"), span("ntu")
    ((0.0, 100.0), (0.0, 10000000.0))
    """
    return SPANS.get(unit, ANY_SPAN)


def kept_unit(analyte: str | None, given: str) -> str | None:
    """The unit in which a result is kept; None where the analyte is not measured in that unit.

    >>> kept_unit("strength", "us_proof"), kept_unit("dry_extract", "g/100 mL"), kept_unit("strength", "kg/m3")
    ('pct_vol', 'g/L', None)
    """
    kept = ANALYTES.get(analyte or "", (house_unit(given),))
    return next((unit for unit in kept if house_unit(unit) == house_unit(given)), None)


def units_of(analyte: str | None) -> tuple[str, ...]:
    """The units that results of an analyte may be given in.

    >>> units_of("turbidity")
    ('ntu',)
    """
    if analyte not in ANALYTES:
        return tuple(UNITS)
    return tuple(unit for kept in ANALYTES[analyte] for unit in fitting(kept))


def result_quantity(analyte: str | None, given: str | None) -> Quantity:
    """The number that a result of this analyte, given in this unit, is.

    >>> result_quantity("strength", "us_proof").unit
    'pct_vol'
    """
    kept = kept_unit(analyte, given) if given in UNITS else None
    return Quantity(kept, span(kept) if kept else None, units_of(analyte))


RESULT_IS_POSSIBLE = RowRule(
    code="value-impossible",
    column="value",
    holds=pl.all_horizontal(
        (pl.col("unit") != unit) | pl.col("value").is_between(*span(unit)) for unit in sorted(KEPT)
    ),
    expected="strengths of 0 to 100 % vol, and nothing else below zero that cannot be so",
    to_do="correct the value or its unit",
)
UNIT_IS_KEPT = RowRule(
    code="unit-misfit",
    column="unit",
    holds=pl.col("unit").is_in(sorted(KEPT))
    & pl.all_horizontal((pl.col("analyte") != name) | pl.col("unit").is_in(kept) for name, kept in ANALYTES.items()),
    expected="the unit in which results of this analyte are kept",
    to_do="give the value in that unit; other units are for files, where the source map names them",
)

LABORATORY = Record(
    kind="laboratory",
    fields=(
        Field("sample", "text", required=True),
        Field("lot", "text", required=True),
        Field("taken_at", "time"),
        Field("measured_at", "time"),
        Field("analyte", "choice", required=True),
        Field(
            "value",
            "number",
            required=True,
            goes_by="analyte",
            of_word=result_quantity,
            unit_field="unit",
            below_field="below_limit",
        ),
        Field("unit", "text", required=True),
        Field("temperature_c", "number", unit="degC", possible=TEMPERATURE_C),
        Field("method", "text"),
        PREPARATION,
        Field("instrument", "text"),
        Field("analyst", "text"),
        Field("replicate", "integer", possible=(1, 99)),
    ),
    key=("sample", "lot", "analyte", "replicate", "method", "measured_at"),
    rules=(UNIT_IS_KEPT, RESULT_IS_POSSIBLE),
    spread_over="analyte",
)
