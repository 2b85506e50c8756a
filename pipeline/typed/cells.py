"""Text to numbers and times; the one place that knows decimal commas, blanks and local clocks.

Every function takes a polars series of text (NULL: blank) and returns a typed one of the same length, NULL where the
text could not be read. The caller tells a blank from an unreadable cell by comparing the two.
"""

import polars as pl

NUMBER = r"^[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?$"


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
    readable = plain.str.contains(NUMBER)
    values = plain.set(~readable.fill_null(False), None).cast(pl.Float64, strict=False)
    return values.set(values.is_infinite().fill_null(False), None)


def times(texts: pl.Series, how: str | None, zone: str, order_within: pl.Series | None = None) -> pl.Series:
    """Instants in UTC (without zone) from text.

    Parameters
    ----------
    texts : Series of text
    how : str or None
        strptime pattern, "iso" (also where None), "excel" (a workbook's date cell) or "epoch_s".
    zone : str
        IANA zone of times that carry no offset.
    order_within : Series or None
        For logs: the name of the series each row belongs to. The hour that clocks repeat is then resolved by the
        order of rows; without it a time in that hour is NULL, because nothing tells which of the two is meant.
    """
    if how == "epoch_s":
        seconds = numbers(texts)
        return (seconds * 1e6).cast(pl.Int64).cast(pl.Datetime("us"))
    if how in (None, "iso"):
        return _iso_times(texts, zone, order_within)
    pattern = "%Y-%m-%d %H:%M:%S%.f" if how == "excel" else str(how)
    naive = texts.str.to_datetime(pattern, time_unit="us", strict=False, ambiguous="null")
    return to_utc(naive, zone, order_within)


def _iso_times(texts: pl.Series, zone: str, order_within: pl.Series | None) -> pl.Series:
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
    local = to_utc(naive, zone, order_within)
    return pl.select(
        pl.when(is_utc).then(naive).when(sign.is_not_null()).then(with_offset).otherwise(local)
    ).to_series()


def to_utc(naive: pl.Series, zone: str, order_within: pl.Series | None = None) -> pl.Series:
    """Local clock times to UTC; NULL for times that the clock skips, and for repeated ones without an order."""
    unknown = pl.Series(["null"] * len(naive), dtype=pl.String)
    ambiguous = unknown if order_within is None else _second_pass(naive, order_within)
    local = pl.select(naive.dt.replace_time_zone(zone, ambiguous=ambiguous, non_existent="null")).to_series()
    return local.dt.convert_time_zone("UTC").dt.replace_time_zone(None)


def _second_pass(naive: pl.Series, order_within: pl.Series) -> pl.Series:
    """ "latest" for rows after a clock was set back, else "earliest".

    A log's own time only ever rises; a row at or before a time already passed stands in the second pass.
    """
    frame = pl.DataFrame({"at": naive, "series": order_within})
    already = pl.col("at").shift(1).cum_max().over("series")
    return frame.select(
        pl.when(pl.col("at") <= already).then(pl.lit("latest")).otherwise(pl.lit("earliest"))
    ).to_series()
