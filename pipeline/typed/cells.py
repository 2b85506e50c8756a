"""Text to numbers and times; the one place that knows decimal commas, blanks and local clocks.

Every function takes a polars series of text (NULL: blank) and returns a typed one of the same length, NULL where the
text could not be read. The caller tells a blank from an unreadable cell by comparing the two.
"""

import math
import re
from datetime import datetime, timedelta

import polars as pl

from gaugebook.pipeline.typed.dst_fold import RowOrder, carry_on, passes

EARLIEST_YEAR, LATEST_YEAR = 1990, 2100  # a time outside was not read from a working clock
LONGEST_LOOKED_THROUGH = timedelta(days=400)


def numbers(texts: pl.Series, decimal: str = ".", thousands: str = "") -> pl.Series:
    """Numbers written with this decimal mark and thousands mark; NULL where the text is no finite number.

    A thousands mark stands before three digits; anywhere else the text is not what the map says, and no number.

    >>> numbers(pl.Series(["1 234,5", "12.5", "1 2,5", None]), decimal=",", thousands=" ").to_list()
    [1234.5, None, None, None]
    """
    plain = texts
    if thousands:
        mark = re.escape(thousands)
        grouped = texts.str.contains(rf"^\s*[+-]?\d{{1,3}}({mark}\d{{3}})+({re.escape(decimal)}\d*)?\s*$")
        stray = texts.str.contains(thousands, literal=True) & ~grouped
        plain = plain.set(stray.fill_null(False), None).str.replace_all(thousands, "", literal=True)
    if decimal != ".":
        plain = plain.str.replace_all(".", "?", literal=True).str.replace_all(decimal, ".", literal=True)
    values = plain.cast(pl.Float64, strict=False)
    if math.isfinite(values.sum()):  # quicker than to ask each
        return values
    return values.set(~values.is_finite().fill_null(True), None)


def trimmed(texts: pl.Series) -> pl.Series:
    """Texts without blanks at their ends; what is wholly blank is NULL."""
    stripped = texts.str.strip_chars()
    return stripped.set(stripped == "", None)


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
        For logs: the hour that clocks repeat is then resolved by the order of rows where that tells; without it a
        time in that hour is NULL, because nothing tells which of the two is meant.
    """
    if how == "epoch_s":
        seconds = numbers(texts)
        return _plausible((seconds * 1e6).round().cast(pl.Int64, strict=False).cast(pl.Datetime("us")))
    if how in (None, "iso"):
        return _iso_times(texts, zone, order)
    pattern = "%Y-%m-%d %H:%M:%S%.f" if how == "excel" else str(how)
    naive = texts.str.to_datetime(pattern, time_unit="us", strict=False, ambiguous="null", cache=False)
    if "%z" in pattern:
        return _plausible(naive.dt.convert_time_zone("UTC").dt.replace_time_zone(None))
    return to_utc(_plausible(naive), zone, order)


def times_before(ages: pl.Series, at: pl.Series) -> pl.Series:
    """Times that lie so many years, months and days before others; NULL where the age is not written so.

    >>> times_before(pl.Series(["2-09-11"]), pl.Series([datetime(2025, 1, 1)])).to_list()
    [datetime.datetime(2022, 3, 21, 0, 0)]
    """
    parts = ages.str.extract_groups(r"^(\d{1,3})-(\d{1,2})-(\d{1,2})$")
    years, months, days = (parts.struct.field(name) for name in parts.struct.fields)
    back = pl.format("-{}y{}mo", years, months)
    begun = pl.select(at.dt.offset_by(pl.select(back).to_series()) - pl.duration(days=pl.lit(days.cast(pl.Int64))))
    return begun.to_series()


def _iso_times(texts: pl.Series, zone: str, order: RowOrder | None) -> pl.Series:
    """ISO 8601 with or without offset; seconds may be missing."""
    plain = _plain_iso_times(texts)
    if plain is not None:
        return to_utc(plain, zone, order)
    parts = texts.str.replace("T", " ").str.extract_groups(
        r"^(\d{4}-\d\d-\d\d)(?: (\d\d:\d\d)(?::(\d\d(?:\.\d{1,6})?))?)?(?:Z|([+-])(\d\d):?(\d\d))?$"
    )
    day, clock, second, sign, hours, minutes = (parts.struct.field(name) for name in parts.struct.fields)
    text = day + " " + clock.fill_null("00:00") + ":" + second.fill_null("00")
    naive = _plausible(text.str.to_datetime("%Y-%m-%d %H:%M:%S%.f", time_unit="us", strict=False))
    minutes_east = hours.cast(pl.Int64) * 60 + minutes.cast(pl.Int64)
    microseconds_east = minutes_east * 60_000_000 * pl.select(pl.when(sign == "-").then(-1).otherwise(1)).to_series()
    with_offset = (naive.cast(pl.Int64) - microseconds_east).cast(pl.Datetime("us"))
    is_utc = texts.str.ends_with("Z")
    local = to_utc(naive, zone, order)
    return pl.select(
        pl.when(is_utc).then(naive).when(sign.is_not_null()).then(with_offset).otherwise(local)
    ).to_series()


def _plain_iso_times(texts: pl.Series) -> pl.Series | None:
    """Local times where every text is written in full and without an offset, as most logs are; quicker to read."""
    if not (texts.str.len_bytes().drop_nulls() == 19).all():
        return None
    naive = texts.str.replace("T", " ").str.to_datetime("%Y-%m-%d %H:%M:%S", time_unit="us", strict=False, cache=False)
    return _plausible(naive) if naive.null_count() == texts.null_count() else None


def _plausible(times: pl.Series) -> pl.Series:
    """Times outside the years of working clocks become NULL."""
    strange = ~times.is_between(datetime(EARLIEST_YEAR, 1, 1), datetime(LATEST_YEAR + 1, 1, 1), closed="left")
    return times.set(strange.fill_null(False), None) if strange.any() else times


def to_utc(naive: pl.Series, zone: str, order: RowOrder | None = None) -> pl.Series:
    """Local clock times to UTC; NULL for times that the clock skips, and for repeated ones that no order resolves."""
    offset = _one_offset(naive, zone)
    if offset is not None:
        utc = naive - offset
    else:
        repeats: str | pl.Series = "null"
        if order is not None:
            is_repeated = _is_repeated(naive, zone)
            repeats = passes(naive, is_repeated, order) if is_repeated.any() else "null"
        local = naive.dt.replace_time_zone(zone, ambiguous=repeats, non_existent="null")  # type: ignore[arg-type]
        utc = local.dt.convert_time_zone("UTC").dt.replace_time_zone(None)
    if order is not None:
        carry_on(naive, order)
    return utc


def _is_repeated(naive: pl.Series, zone: str) -> pl.Series:
    """Which local times the clock of this zone shows twice."""
    once = naive.dt.replace_time_zone(zone, ambiguous="null", non_existent="null")
    first = naive.dt.replace_time_zone(zone, ambiguous="earliest", non_existent="null")
    return once.is_null() & first.is_not_null()


def _one_offset(naive: pl.Series, zone: str) -> timedelta | None:
    """The offset from UTC of all these local times, where the clock of the zone does not change between them.

    To look at the hours between first and last is a hundred times quicker than to look up each row of a log.
    """
    first, last = naive.min(), naive.max()
    if not isinstance(first, datetime) or not isinstance(last, datetime) or last - first > LONGEST_LOOKED_THROUGH:
        return None
    begin = first.replace(minute=0, second=0, microsecond=0)
    hours = pl.datetime_range(begin, last + timedelta(hours=1), "1h", time_unit="us", eager=True)
    local = hours.dt.replace_time_zone(zone, ambiguous="null", non_existent="null")
    if local.null_count():
        return None
    offsets = (hours - local.dt.convert_time_zone("UTC").dt.replace_time_zone(None)).unique()
    return offsets.item() if len(offsets) == 1 else None
