"""Text to numbers and times; the one place that knows decimal commas, blanks and local clocks.

Every function takes a polars series of text (NULL: blank) and returns a typed one of the same length, NULL where the
text could not be read. The caller tells a blank from an unreadable cell by comparing the two.
"""

from dataclasses import dataclass, field
from datetime import datetime

import polars as pl


def numbers(texts: pl.Series, decimal: str = ".", thousands: str = "") -> pl.Series:
    """Numbers written with this decimal mark and thousands mark; NULL where the text is no finite number.

    >>> numbers(pl.Series(["1 234,5", "12.5", None]), decimal=",", thousands=" ").to_list()
    [1234.5, None, None]
    """
    plain = texts
    if thousands:
        plain = plain.str.replace_all(thousands, "", literal=True)
    if decimal != ".":
        plain = plain.str.replace_all(".", "?", literal=True).str.replace_all(decimal, ".", literal=True)
    values = plain.cast(pl.Float64, strict=False)
    infinite = ~values.is_finite().fill_null(True)
    return values.set(infinite, None) if infinite.any() else values


def trimmed(texts: pl.Series) -> pl.Series:
    """Texts without blanks at their ends; what is wholly blank is NULL."""
    stripped = texts.str.strip_chars()
    return stripped.set(stripped == "", None)


@dataclass
class LogClock:
    """How far the clock of each series of a log had come, carried from one block of rows to the next."""

    passed: dict[str, datetime] = field(default_factory=dict)


@dataclass(frozen=True)
class RowOrder:
    """What orders the rows of a log: the series that each belongs to, and how far its clock had come before."""

    series: pl.Series
    clock: LogClock


def times(texts: pl.Series, how: str | None, zone: str, order: RowOrder | None = None) -> pl.Series:
    """Instants in UTC (without zone) from text.

    Parameters
    ----------
    texts : Series of text
    how : str or None
        strptime pattern, "iso" (also where None), "excel" (a workbook's date cell) or "epoch_s".
    zone : str
        IANA zone of times that carry no offset.
    order : RowOrder or None
        For logs, whose own time only ever rises: the hour that clocks repeat is then resolved by the order of rows;
        without it a time in that hour is NULL, because nothing tells which of the two is meant.
    """
    if how == "epoch_s":
        seconds = numbers(texts)
        return (seconds * 1e6).cast(pl.Int64).cast(pl.Datetime("us"))
    if how in (None, "iso"):
        return _iso_times(texts, zone, order)
    pattern = "%Y-%m-%d %H:%M:%S%.f" if how == "excel" else str(how)
    naive = texts.str.to_datetime(pattern, time_unit="us", strict=False, ambiguous="null")
    return to_utc(naive, zone, order)


def _iso_times(texts: pl.Series, zone: str, order: RowOrder | None) -> pl.Series:
    """ISO 8601 with or without offset; seconds may be missing."""
    parts = texts.str.replace("T", " ").str.extract_groups(
        r"^(\d{4}-\d\d-\d\d)(?: (\d\d:\d\d)(?::(\d\d(?:\.\d{1,6})?))?)?(?:Z|([+-])(\d\d):?(\d\d))?$"
    )
    day, clock, second, sign, hours, minutes = (parts.struct.field(name) for name in parts.struct.fields)
    text = day + " " + clock.fill_null("00:00") + ":" + second.fill_null("00")
    naive = text.str.to_datetime("%Y-%m-%d %H:%M:%S%.f", time_unit="us", strict=False)
    minutes_east = hours.cast(pl.Int64) * 60 + minutes.cast(pl.Int64)
    microseconds_east = minutes_east * 60_000_000 * pl.select(pl.when(sign == "-").then(-1).otherwise(1)).to_series()
    with_offset = (naive.cast(pl.Int64) - microseconds_east).cast(pl.Datetime("us"))
    is_utc = texts.str.ends_with("Z")
    local = to_utc(naive, zone, order)
    return pl.select(
        pl.when(is_utc).then(naive).when(sign.is_not_null()).then(with_offset).otherwise(local)
    ).to_series()


def to_utc(naive: pl.Series, zone: str, order: RowOrder | None = None) -> pl.Series:
    """Local clock times to UTC; NULL for times that the clock skips, and for repeated ones without an order."""
    local = naive.dt.replace_time_zone(zone, ambiguous="null", non_existent="null")
    if order is not None:
        unresolved = local.null_count() > naive.null_count()
        turns = _second_pass(naive, order, needed=unresolved)
        if unresolved:
            local = naive.dt.replace_time_zone(zone, ambiguous=turns, non_existent="null")
    return local.dt.convert_time_zone("UTC").dt.replace_time_zone(None)


def _second_pass(naive: pl.Series, order: RowOrder, needed: bool) -> pl.Series:
    """ "latest" for rows at or before a time that their series had already passed, else "earliest".

    Where it is not needed only the clock is carried on.
    """
    passed = order.clock.passed
    frame = pl.DataFrame({"at": naive, "series": order.series})
    turns = pl.Series(dtype=pl.String)
    if needed:
        before = pl.col("series").replace_strict(passed, default=None, return_dtype=pl.Datetime("us"))
        already = pl.max_horizontal(before, pl.col("at").shift(1).cum_max().over("series"))
        is_second = (pl.col("at") <= already).fill_null(False)
        turns = frame.select(pl.when(is_second).then(pl.lit("latest")).otherwise(pl.lit("earliest"))).to_series()
    for name, reached in frame.group_by("series").agg(pl.col("at").max()).iter_rows():
        if reached is not None:
            passed[name] = max(reached, passed.get(name, reached))
    return turns
