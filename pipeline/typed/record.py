"""What a record kind is: its fields, its natural key and the rules that a row of it must obey."""

from dataclasses import dataclass, field

import polars as pl

from gaugebook.pipeline.engineering.units import fitting


@dataclass(frozen=True)
class Field:
    """One column of a record.

    Attributes
    ----------
    type : str
        text, choice (lower-case word of `choices`), number, integer or time.
    unit : str or None
        The field's own unit; a source map's unit is converted to it.
    possible : tuple of float or None
        Span outside which a number cannot be true, inclusive.
    goes_by : str or None
        Field whose word decides unit and span (tag, analyte, kind of reading); see `pipeline/typed/quantities.py`.
    unit_field : str or None
        Field of the same row that states the unit.
    factors : dict of str to float
        Units that may be given and what each is of the field's own, where those are not the units of a measurement.
    """

    name: str
    type: str
    required: bool = False
    unit: str | None = None
    choices: tuple[str, ...] = ()
    possible: tuple[float, float] | None = None
    goes_by: str | None = None
    unit_field: str | None = None
    factors: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class RowRule:
    """Something that must hold across the fields of a row, with the words for a row in which it does not."""

    code: str
    column: str
    holds: pl.Expr
    expected: str
    to_do: str


@dataclass(frozen=True)
class Record:
    """A record kind; `spread_over` is the field that a wide layout fills from its column names."""

    kind: str
    fields: tuple[Field, ...]
    key: tuple[str, ...]
    rules: tuple[RowRule, ...] = field(default=())
    spread_over: str | None = None

    def field(self, name: str) -> Field:
        return next(item for item in self.fields if item.name == name)


# How a field of each type stands in a frame.
POLARS_TYPES: dict[str, type[pl.DataType] | pl.DataType] = {
    "text": pl.String,
    "choice": pl.String,
    "number": pl.Float64,
    "integer": pl.Int64,
    "time": pl.Datetime("us"),
}

# Spans that several records share. No distillery gauges spirit outside -30..110 °C or holds a million litres.
TEMPERATURE_C = (-30.0, 110.0)
VOLUME_L = (0.0, 1e6)
MASS_KG = (0.0, 1e6)
ALCOHOL_L = (0.0, 1e6)
PIECES = (0.0, 1e9)

# Of each kind of strength reading: its unit, the span of its scale, and the units that it may be given in. The scale of
# a glass alcoholmeter is right at 20 °C alone, so its reading is no quantity that could be turned into another unit.
READING_SCALES: dict[str, tuple[str, tuple[float, float], tuple[str, ...]]] = {
    "alcoholmeter": ("pct_vol", (0.0, 100.0), ("pct_vol",)),
    "density": ("kg/m3", (700.0, 1200.0), fitting("kg/m3")),
    "pct_vol_20c": ("pct_vol", (0.0, 100.0), ("pct_vol", "pct_mass")),
    "us_proof_60f": ("us_proof", (0.0, 200.0), ("us_proof", "pct_vol_60f")),
}
READING_KINDS = tuple(READING_SCALES)
STRENGTH_FITS_ITS_KIND = RowRule(
    code="strength-without-kind",
    column="strength_reading",
    holds=pl.col("strength_reading").is_null() | pl.col("reading_kind").is_not_null(),
    expected="a strength reading says what it is: " + ", ".join(READING_KINDS),
    to_do="fill in the kind of reading, or set it as a constant in the source map",
)
STRENGTH_HAS_ITS_TEMPERATURE = RowRule(
    code="strength-without-temperature",
    column="reading_temperature_c",
    holds=~pl.col("reading_kind").is_in(["alcoholmeter", "density"])
    | pl.col("strength_reading").is_null()
    | pl.col("reading_temperature_c").is_not_null(),
    expected="an alcoholmeter or density reading has the temperature at which it was read",
    to_do="fill in the temperature of the sample; without it the strength at 20 °C cannot be known",
)
STRENGTH_IS_ON_ITS_SCALE = RowRule(
    code="strength-impossible",
    column="strength_reading",
    holds=pl.all_horizontal(
        (pl.col("reading_kind").fill_null("") != kind)
        | pl.col("strength_reading").is_null()
        | pl.col("strength_reading").is_between(least, greatest)
        for kind, (_, (least, greatest), _) in READING_SCALES.items()
    ),
    expected="alcoholmeter and % vol 0 to 100, density 700 to 1200 kg/m3, US proof 0 to 200",
    to_do="correct the reading, its kind, or the unit of its column in the source map",
)
STRENGTH_RULES = (STRENGTH_FITS_ITS_KIND, STRENGTH_HAS_ITS_TEMPERATURE, STRENGTH_IS_ON_ITS_SCALE)
# How a sample was prepared before its strength was read: with something dissolved only a distillate shows the true one.
PREPARATIONS = ("direct", "distilled")
PREPARATION = Field("preparation", "choice", choices=PREPARATIONS)
GAUGE_FIELDS = (
    Field("volume_temperature_c", "number", possible=TEMPERATURE_C, unit="degC"),
    Field("strength_reading", "number", goes_by="reading_kind"),
    Field("reading_kind", "choice", choices=READING_KINDS),
    Field("reading_temperature_c", "number", possible=TEMPERATURE_C, unit="degC"),
    Field("instrument", "text"),
    PREPARATION,
)
