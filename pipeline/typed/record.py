"""What a record kind is: its fields, its natural key and the rules that a row of it must obey."""

from collections.abc import Callable
from dataclasses import dataclass, field

import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.engineering.units import fitting
from gaugebook.pipeline.typed.quantities import Quantity

# Of new records and the book: those that may stand, and a fault (parse_errors.FAULT_SCHEMA) for each other one.
CheckBetweenRecords = Callable[[Book, pl.DataFrame], tuple[pl.DataFrame, pl.DataFrame]]


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
        Field whose word decides unit and span (tag, analyte, kind of reading).
    of_word : callable or None
        From that word and the unit given to the quantity that the number is then; needed where there is `goes_by`.
    unit_field : str or None
        Field of the same row that states the unit.
    below_field : str or None
        Column that says whether the number was written as "<limit"; where it is None a number may not be.
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
    of_word: Callable[[str | None, str | None], Quantity] | None = None
    unit_field: str | None = None
    below_field: str | None = None
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
    """A record kind: all in which it differs from the others.

    Attributes
    ----------
    key : tuple of str
        Fields that name one record; a second record of the same key must say the same.
    spread_over : str or None
        Field that a wide layout fills from its column names, and `value` from their cells; None: no wide layout.
    is_log : bool
        Whether it is the log of a device: kept by tag in the log store and not in a table, in the order of its
        clock, never amended.
    stands_with : callable or None
        Check of new records against those that the book holds, beyond their key.
    """

    kind: str
    fields: tuple[Field, ...]
    key: tuple[str, ...]
    rules: tuple[RowRule, ...] = field(default=())
    spread_over: str | None = None
    is_log: bool = False
    stands_with: CheckBetweenRecords | None = None

    @property
    def table(self) -> str:
        """Where its records stand in the book; of a log the view of the log store."""
        return f"typed.{self.kind}"

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

# Of each kind of strength reading: its unit, the span of its scale, and the units that it may be given in. The scale
# of a glass alcoholmeter is right at 20 °C alone, of a proof hydrometer at 60 °F: its reading is no quantity that could
# be turned into another unit.
READING_SCALES: dict[str, tuple[str, tuple[float, float], tuple[str, ...]]] = {
    "alcoholmeter": ("pct_vol", (0.0, 100.0), ("pct_vol",)),
    "density": ("kg/m3", (700.0, 1200.0), fitting("kg/m3")),
    "pct_vol_20c": ("pct_vol", (0.0, 100.0), ("pct_vol", "pct_mass")),
    "us_proof_60f": ("us_proof", (0.0, 200.0), ("us_proof", "pct_vol_60f")),
    "us_proof_hydrometer": ("us_proof", (0.0, 200.0), ("us_proof",)),
}
READING_KINDS = tuple(READING_SCALES)


def reading_quantity(kind: str | None, given: str | None) -> Quantity:
    """The number that a strength reading of this kind is; its span is a rule of the row, which an amendment keeps too.

    >>> reading_quantity("density", "g/cm3").unit
    'kg/m3'
    """
    if kind not in READING_SCALES:
        return Quantity(None, None, ())
    unit, _, units = READING_SCALES[kind]
    return Quantity(unit, None, units)


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
    holds=~pl.col("reading_kind").is_in(["alcoholmeter", "density", "us_proof_hydrometer"])
    | pl.col("strength_reading").is_null()
    | pl.col("reading_temperature_c").is_not_null(),
    expected="a reading of an alcoholmeter, proof hydrometer or density meter has the temperature at which it was read",
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
    Field("strength_reading", "number", goes_by="reading_kind", of_word=reading_quantity),
    Field("reading_kind", "choice", choices=READING_KINDS),
    Field("reading_temperature_c", "number", possible=TEMPERATURE_C, unit="degC"),
    Field("instrument", "text"),
    PREPARATION,
)
