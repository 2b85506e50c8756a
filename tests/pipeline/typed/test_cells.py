"""Text to numbers and times."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.typed.cells import numbers, times
from pipeline.typed.repeated_hour import LogClock, RowOrder

COPENHAGEN = "Europe/Copenhagen"


@pytest.mark.parametrize(
    ("text", "decimal", "thousands", "expected"),
    [
        ("12.5", ".", "", 12.5),
        ("-0,5", ",", "", -0.5),
        ("1.234,5", ",", ".", 1234.5),
        ("1e3", ".", "", 1000.0),
        (".5", ".", "", 0.5),
        ("12.5", ",", "", None),  # a decimal point where the device writes a comma is not guessed away
        ("1e999", ".", "", None),  # not finite
        ("nan", ".", "", None),
        ("1O0", ".", "", None),
        ("12 %", ".", "", None),
        ("", ".", "", None),
    ],
)
def test_numbers(text, decimal, thousands, expected):
    """A number is read by the marks of its device, or not at all."""
    assert numbers(pl.Series([text]), decimal, thousands).to_list() == [expected]


@given(st.floats(allow_nan=False, allow_infinity=False, width=32))
def test_numbers_round_trip(value):
    """What Python writes for a finite number is read back as that number, with either decimal mark."""
    text = repr(value)

    assert numbers(pl.Series([text])).to_list() == [value]
    assert numbers(pl.Series([text.replace(".", ",")]), decimal=",").to_list() == [value]


@pytest.mark.parametrize(
    ("text", "how", "expected"),
    [
        ("2026-01-12 10:00", "%Y-%m-%d %H:%M", datetime(2026, 1, 12, 9, 0)),
        ("12.07.2026 10:00:30", "%d.%m.%Y %H:%M:%S", datetime(2026, 7, 12, 8, 0, 30)),
        ("2026-01-12T10:00:00Z", "iso", datetime(2026, 1, 12, 10, 0)),
        ("2026-01-12T10:00:00+05:30", "iso", datetime(2026, 1, 12, 4, 30)),
        ("2026-01-12T10:00:00-0200", "iso", datetime(2026, 1, 12, 12, 0)),
        ("2026-01-12", "iso", datetime(2026, 1, 11, 23, 0)),
        ("2026-01-12 10:00:00", "excel", datetime(2026, 1, 12, 9, 0)),
        ("1768212000", "epoch_s", datetime(2026, 1, 12, 10, 0)),
        ("2026-03-29 02:30", "iso", None),  # skipped
        ("2025-10-26 02:30", "iso", None),  # repeated, and nothing tells which
        ("12/01/2026", "iso", None),
    ],
)
def test_times(text, how, expected):
    """Local times go to UTC by the zone's own rules; offsets are obeyed; what the clock skips is not a time."""
    assert times(pl.Series([text]), how, COPENHAGEN).to_list() == [expected]


def test_a_log_across_the_clock_changes_agrees_with_zoneinfo():
    """Minute by minute over both changes of 2025 and 2026, local text is read back as the instant it came from."""
    zone = ZoneInfo(COPENHAGEN)
    for day in (datetime(2025, 10, 25, 22, tzinfo=UTC), datetime(2026, 3, 28, 22, tzinfo=UTC)):
        instants = [day + timedelta(minutes=n) for n in range(8 * 60)]
        text = pl.Series([instant.astimezone(zone).strftime("%Y-%m-%d %H:%M:%S") for instant in instants])

        read = times(text, "%Y-%m-%d %H:%M:%S", COPENHAGEN, RowOrder(pl.Series(["pot"] * len(text)), LogClock()))

        assert read.to_list() == [instant.replace(tzinfo=None) for instant in instants]


def test_the_repeated_hour_is_resolved_across_blocks():
    """A log read in blocks that part within the repeated hour gives the same instants as in one piece."""
    zone = ZoneInfo(COPENHAGEN)
    begin = datetime(2025, 10, 25, 23, 30, tzinfo=UTC)
    instants = [begin + timedelta(minutes=n) for n in range(4 * 60)]
    text = [instant.astimezone(zone).strftime("%Y-%m-%d %H:%M") for instant in instants]
    for part in (31, 60, 91, 95, 150):
        clock, read = LogClock(), []
        for block in (text[:part], text[part:]):
            order = RowOrder(pl.Series(["pot"] * len(block)), clock)
            read += times(pl.Series(block), "%Y-%m-%d %H:%M", COPENHAGEN, order).to_list()

        assert read == [instant.replace(tzinfo=None) for instant in instants], part
