"""Right first time goes by what stood when a batch was first decided on, not by how it stands today."""

import json
from datetime import timedelta
from pathlib import Path

import pytest
from by_hand import put_row
from demo_book import EMPTY, GIN, START, VODKA, demo_house, write_demo_book

from gaugebook import reports
from gaugebook.pipeline.book.database import open_book
from gaugebook.reports.trends.trends_gather import gather_trends

SQL = (Path(reports.__file__).parent / "trends" / "first_time.sql").read_text(encoding="utf-8")
CHECKED = START + timedelta(days=90)
COLUMNS = (
    "event",
    "flag",
    "happened",
    "happened_at",
    "rule",
    "record",
    "run",
    "lot",
    "batch",
    "answer",
    "severity",
    "value",
)


def event(number: int, happened: str, hours: int, value: str | None = "0.50") -> tuple:
    return (number, "f9", happened, CHECKED + timedelta(hours=hours), "label-strength", f"batch {VODKA}", None, None,
            VODKA, "out", "stops release", value)  # fmt: skip


def decision(number: int, verdict: str, hours: int, overruled: list[str] | None = None) -> tuple:
    at = CHECKED + timedelta(hours=hours)
    return (number, VODKA, verdict, "AQ", "head distiller", "as told", overruled or [], at, "0" * 64, "{}", "{}")


AMENDED = {
    "amendment": 1, "kind": "bottling", "record": "as a person reads it", "record_key": json.dumps({"lot": VODKA}),
    "source_id": 1, "line": 1, "field": "bottles_filled", "old_value": "1", "new_value": "2", "person": "AQ",
    "reason": "a slip", "amended_at": CHECKED + timedelta(hours=1),
}  # fmt: skip

CASES = {
    "nothing amiss": ([], [], False, 1),
    "released": ([], [decision(1, "released", 2)], False, 1),
    "held first, released later": ([], [decision(1, "held", 2), decision(2, "released", 5)], False, 0),
    "released over a flag": ([], [decision(1, "released", 2, ["f9"])], False, 0),
    "a flag that was amended away": ([event(1, "opened", 0), event(2, "amended away", 1)], [], False, 0),
    "a fault put right before": ([event(1, "opened", 0), event(2, "gone", 1)], [decision(1, "released", 2)], False, 0),
    "a result that came in": ([event(1, "opened", 0, None), event(2, "gone", 1, None)], [], False, 1),
    "a result still missing": ([event(1, "opened", 0, None)], [], False, 0),
    "a flag after the decision": ([event(1, "opened", 4)], [decision(1, "released", 2)], False, 1),
    "an amendment before": ([], [decision(1, "released", 2)], True, 0),
}  # fmt: skip


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """The demonstration book, open for writing."""
    with open_book(write_demo_book(tmp_path_factory.mktemp("book")), writing=True) as opened:
        yield opened


def remember(book, events=(), decisions=(), amended=False):
    """Put another past into the book."""
    for table in ("history.flag_events", "history.decisions", "typed.amendments"):
        book.execute(f"DELETE FROM {table}")
    for row in events:
        names, marks = ", ".join(COLUMNS), ", ".join("?" * len(COLUMNS))
        book.execute(f"INSERT INTO history.flag_events ({names}) VALUES ({marks})", list(row))
    for row in decisions:
        book.execute(f"INSERT INTO history.decisions VALUES ({', '.join('?' * len(row))})", list(row))
    if amended:
        put_row(book, "typed.amendments", **AMENDED)


@pytest.mark.parametrize("case", CASES)
def test_case(book, case):
    """Each past of a batch gives the one answer; the other batch keeps its own, and one never checked has none."""
    events, decisions, amended, expected = CASES[case]
    remember(book, events, decisions, amended)
    frame = book.frame(SQL)
    right = dict(frame.select("batch", "is_right").iter_rows())
    assert right == {VODKA: bool(expected), GIN: True, EMPTY: None}
    assert dict(frame.select("batch", "has_decision").iter_rows())[VODKA] == bool(decisions)


def test_what_is_left_out_is_told(book):
    """The note counts the batches without a decision and those never checked, which months count as left out."""
    remember(book, decisions=[decision(1, "released", 2)])
    trends = gather_trends(book, demo_house())
    chart = trends.chart("right_first_time")
    assert {point.batch: point.value for point in chart.points} == {VODKA: 100.0, GIN: 100.0}
    assert sum(month.left_out for month in chart.months) == 1
    assert "2 of 3 batches have no decision on record" in trends.notes["right_first_time"]
    assert "1 that no check has seen" in trends.notes["right_first_time"]


def test_bottles_worked_up_again(book):
    """A batch whose bottles went into another run was not right, whatever was decided."""
    remember(book, decisions=[decision(1, "released", 2)])
    book.execute(
        "INSERT INTO typed.movements (run, direction, lot, part, source_id, line) "
        "VALUES ('RED-99', 'in', ?, 'spirit', 1, 99)",
        [VODKA],
    )
    assert dict(book.frame(SQL).select("batch", "is_right").iter_rows())[VODKA] is False
    book.execute("DELETE FROM typed.movements WHERE run = 'RED-99'")
