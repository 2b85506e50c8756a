"""Text to numbers and times."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.typed.cells import numbers, times
from gaugebook.pipeline.typed.dst_fold import LogClock, RowOrder

COPENHAGEN = "Europe/Copenhagen"


@pytest.mark.parametrize(
    ("text", "decimal", "thousands", "expected"),
    [
        ("12.5", ".", "", 12.5),
        ("-0,5", ",", "", -0.5),
        ("1.234,5", ",", ".", 1234.5),
        ("-1.234.567", ",", ".", -1234567.0),
        ("1,000.25", ".", ",", 1000.25),
        ("12.5", ",", ".", None),  # a decimal point is not a thousands mark
        ("1.23,5", ",", ".", None),
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


def _over_the_change(falls: bool) -> tuple[list[str], list[datetime]]:
    """A log of one minute over the hour that Copenhagen's clocks repeat: local texts, and their instants in UTC."""
    begin = datetime(2025, 10, 25, 22, 0, tzinfo=UTC)
    instants = [begin + timedelta(minutes=n) for n in range(5 * 60)]
    instants = instants[::-1] if falls else instants
    zone = ZoneInfo(COPENHAGEN)
    texts = [instant.astimezone(zone).strftime("%Y-%m-%d %H:%M:%S") for instant in instants]
    return texts, [instant.replace(tzinfo=None) for instant in instants]


def _in_order(texts: list[str], clock: LogClock | None = None, series: pl.Series | None = None) -> list:
    return times(pl.Series(texts), "%Y-%m-%d %H:%M:%S", COPENHAGEN, RowOrder(series, clock or LogClock())).to_list()


@pytest.mark.parametrize("falls", [False, True])
def test_a_log_that_runs_newest_first_agrees_with_zoneinfo(falls):
    """Row by row, in either direction, whole or from any row on or up to any row, the instants are zoneinfo's."""
    texts, instants = _over_the_change(falls)
    assert _in_order(texts) == instants
    for part in range(125, 246, 20):  # cut before, within and after the two hours of 02:xx
        clock = LogClock()
        assert _in_order(texts[:part], clock) + _in_order(texts[part:], clock) == instants, part


@pytest.mark.parametrize("falls", [False, True])
def test_a_log_that_begins_or_ends_within_the_repeated_hour_is_placed_by_its_neighbours(falls):
    """Rows next to the hour before or after it tell the pass; rows that stand alone in the hour are not guessed."""
    texts, instants = _over_the_change(falls)
    begin = next(n for n, text in enumerate(texts) if " 02:" in text)
    assert _in_order(texts[: begin + 40]) == instants[: begin + 40]
    assert _in_order(texts[begin + 80 :]) == instants[begin + 80 :]
    assert _in_order(texts[begin + 10 : begin + 50]) == [None] * 40


def test_a_hole_within_the_repeated_hour_does_not_bring_the_first_pass_back():
    """After the clock has stepped back, rows later than where it stepped from are of the second pass as well."""
    texts, instants = _over_the_change(falls=False)
    kept = [n for n, text in enumerate(texts) if not (" 02:" in text and text[11:16] >= "02:20" and n < 180)]
    assert _in_order([texts[n] for n in kept]) == [instants[n] for n in kept]


@pytest.mark.parametrize("falls", [False, True])
def test_a_log_of_an_hour_shows_the_repeated_time_twice(falls):
    """Once of each pass, in either direction."""
    texts = [f"2025-10-26 {clock}:00" for clock in ("01:10", "02:10", "02:10", "03:10")]
    instants = [datetime(2025, 10, 25, 23, 10) + timedelta(hours=n) for n in range(4)]

    assert _in_order(texts[::-1] if falls else texts) == (instants[::-1] if falls else instants)


def test_rows_out_of_order_in_the_repeated_hour_are_not_guessed():
    """Where time steps to and fro within the hour, its rows are refused; rows outside it are read."""
    texts = [f"2025-10-26 {clock}:00" for clock in ("01:50", "02:10", "02:05", "02:20", "02:15", "03:10")]
    read = _in_order(texts)
    assert read[1:5] == [None] * 4
    assert [read[0], read[5]] == [datetime(2025, 10, 25, 23, 50), datetime(2025, 10, 26, 2, 10)]


def test_a_clock_that_shows_the_hour_once_is_not_guessed():
    """A device whose clock runs through the hour without stepping back does not keep this zone's time."""
    texts = [f"2025-10-26 0{1 + n // 60}:{n % 60:02d}:00" for n in range(180)]
    assert _in_order(texts) == [
        None if " 02:" in text else datetime.fromisoformat(text) - timedelta(hours=2 if " 01:" in text else 1)
        for text in texts
    ]


def test_the_tags_of_a_long_log_are_ordered_each_for_itself():
    """Tag after tag, each with its own step back of the clock, in either direction."""
    texts, instants = _over_the_change(falls=False)
    back, instants_back = _over_the_change(falls=True)
    series = pl.Series(["pot"] * len(texts) + ["vapour"] * len(back))
    assert _in_order(texts + back, series=series) == instants + instants_back


@pytest.mark.parametrize("how", ["%Y-%m-%dT%H:%M:%S%z", "iso"])
def test_an_offset_in_the_pattern_is_obeyed(how):
    """Written with its offset, a time in the repeated hour is one instant."""
    texts = pl.Series(["2025-10-26T02:30:00+0200", "2025-10-26T02:30:00+0100"])
    assert times(texts, how, COPENHAGEN).to_list() == [datetime(2025, 10, 26, 0, 30), datetime(2025, 10, 26, 1, 30)]


@given(st.datetimes(datetime(2024, 1, 1), datetime(2028, 1, 1)), st.sampled_from([COPENHAGEN, "Australia/Lord_Howe"]))
def test_a_log_of_any_three_days_agrees_with_zoneinfo(begin, name):
    """Where the clock does not change one offset serves all rows, where it does each has its own; zoneinfo agrees."""
    zone, begin = ZoneInfo(name), begin.replace(second=0, microsecond=0, tzinfo=UTC)
    instants = [begin + timedelta(minutes=10 * n) for n in range(3 * 24 * 6)]
    texts = pl.Series([instant.astimezone(zone).strftime("%d.%m.%Y %H:%M") for instant in instants])

    read = times(texts, "%d.%m.%Y %H:%M", name, RowOrder(None, LogClock())).to_list()

    unlike = [n for n, instant in enumerate(instants) if read[n] != instant.replace(tzinfo=None)]
    # rows that the log's first or last half hour alone cannot place are refused, never read wrongly
    assert all(read[n] is None for n in unlike)
    assert len(unlike) <= 6
