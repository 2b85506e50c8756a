"""The logs of stills and fermenters, one value a row."""

from gaugebook.pipeline.typed.quantities import Quantity, own_first
from gaugebook.pipeline.typed.record import Field, Record

# Tag, its unit (as spelled by pipeline.engineering.units) and the span that its sensor could report.
TAGS: dict[str, tuple[str | None, tuple[float, float] | None]] = {
    "pot_temperature_c": ("degC", (-30.0, 150.0)),
    "vapour_temperature_c": ("degC", (-30.0, 150.0)),
    "column_temperature_c": ("degC", (-30.0, 150.0)),
    "pressure_kpa": ("kPa", (0.0, 1000.0)),
    "steam_kg_h": ("kg/h", (0.0, 1e5)),
    "heating_kw": ("kW", (0.0, 1e5)),  # electric, or heat handed over by another carrier
    "reflux_ratio": (None, (0.0, 1e4)),
    "distillate_flow_l_h": ("L/h", (0.0, 1e5)),
    "parrot_strength_pct_vol": ("pct_vol", (0.0, 100.0)),
    "parrot_temperature_c": ("degC", (-30.0, 110.0)),
    "collected_volume_l": ("L", (0.0, 1e6)),
}


def tag_quantity(tag: str | None, given: str | None) -> Quantity:
    """The number that is logged under a tag.

    >>> tag_quantity("pressure_kpa", "bar").unit
    'kPa'
    """
    unit, possible = TAGS.get(tag or "", (None, None))
    return Quantity(unit, possible, own_first(unit))


READINGS = Record(
    kind="readings",
    fields=(
        Field("equipment", "text", required=True),
        Field("read_at", "time", required=True),
        Field("tag", "choice", required=True, choices=tuple(TAGS)),
        Field("value", "number", required=True, goes_by="tag", of_word=tag_quantity),
    ),
    key=("equipment", "read_at", "tag"),
    spread_over="tag",
    is_log=True,
)
