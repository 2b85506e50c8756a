"""When a log says that its clock is off."""

from datetime import datetime, timedelta

import pytest

from gaugebook.pipeline.book.database import open_book

# Run STR-1 of the small house went from 10:00 to 16:00.
CASES = [
    ("10:00", "16:00", 0),
    ("09:00", "15:00", -60),  # both ends an hour early
    ("11:30", "17:20", 80),  # late; the end says by how much less
    ("07:30", "18:00", 0),  # a panel that logs before and after the run
    ("07:30", "15:58", -2),  # the same, ended a little early
    ("10:40", "15:00", 0),  # a log that misses both ends
]


@pytest.mark.parametrize(("begin", "end", "minutes"), CASES)
def test_only_a_log_that_lies_off_at_both_ends_tells_of_its_clock(received, tmp_path, begin, end, minutes):
    """What begins early and ends late covers the run; its first row says nothing of the clock."""
    at, last = (datetime.strptime(f"12.01.2026 {text}", "%d.%m.%Y %H:%M") for text in (begin, end))
    lines = []
    while at <= last:
        lines.append(f"{at:%d.%m.%Y %H:%M}:00,160,80.0\n")
        at += timedelta(minutes=1)
    received({"S1_0112.csv": "controller\nTime,Pot,Vapour\n,degF,degC\n" + "".join(lines)})

    with open_book(tmp_path / "book") as book:
        assert book.value("SELECT offset_min FROM derived.log_clocks WHERE run = 'STR-1'") == minutes
