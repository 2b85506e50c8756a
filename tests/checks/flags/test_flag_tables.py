"""Flags before batches, where batches stand, what a check changes in the life of a flag: on rows put in by hand."""

import json
from datetime import datetime
from pathlib import Path

import pytest

from gaugebook import checks

CHECKS = Path(str(checks.__file__)).parent
DAY = datetime(2031, 1, 10)
STOP, EXPLAIN, INFORM = "stops release", "needs explanation", "for information"


@pytest.fixture
def tables(book):
    """A book with the tables of flags and their history, empty."""
    book.run_file(CHECKS / "schema.sql")
    book.run_file(CHECKS / "history.sql")
    return book


@pytest.fixture
def put_flag(tables, put):
    """A flag of this check: put_flag("F-1", severity=STOP, run="R")."""

    def put_one(flag, **more):
        row = {"flag": flag, "rule": "r", "subject": "s", "record": "x", "answer": "out", "severity": EXPLAIN,
               "quantity": "q", "message": "m", "reason": "y", "citation": "c", "value": "1"}  # fmt: skip
        put("flagged.flags", **row | more)

    return put_one


@pytest.fixture
def put_event(tables, put):
    """Something that happened to a flag: put_event(1, "F-1", "opened")."""

    def put_one(event, flag, happened, **more):
        row = {"event": event, "flag": flag, "happened": happened, "happened_at": DAY, "rule": "r", "record": "x",
               "answer": "out", "severity": EXPLAIN, "value": "1"}  # fmt: skip
        put("history.flag_events", **row | more)

    return put_one


def put_ancestry(put, batch, *ways):
    for run, lot, into in ways:
        put("derived.lineage", batch=batch, run=run, lot=lot, into_lot=into)
    put("derived.bottlings", batch=batch, product="GIN", bottled_at="2031-01-01", run=f"BOT-{batch}")


def test_a_flag_stands_before_batches_that_come_of_its_run_or_lot(tables, put, put_flag):
    """Or that it names; once before each. A flag of a still, or of a lot that went elsewhere, stands before none."""
    put_ancestry(put, "A", ("R", "L", "M"), ("S", "M", "A"))
    put_ancestry(put, "B", ("R", "L", "B"))
    put_flag("F-batch", batch="A", run="R")
    put_flag("F-run", run="R")
    put_flag("F-one", run="S")
    put_flag("F-lot", lot="M")
    put_flag("F-still", equipment="S1")
    put_flag("F-other", lot="ELSE")

    tables.run_file(CHECKS / "flags" / "batch_flags.sql")

    assert tables.frame("FROM flagged.batch_flags").rows() == [
        ("A", "F-batch"), ("A", "F-lot"), ("A", "F-one"), ("A", "F-run"), ("B", "F-batch"), ("B", "F-run"),
    ]  # fmt: skip


def standings(tables):
    tables.run_file(CHECKS / "flags" / "standings.sql")
    return {row[0]: row[3:] for row in tables.frame("FROM flagged.standings").rows()}


def test_where_each_batch_stands(tables, put, put_flag, put_event):
    """What stops a release does so though it was explained; what needs explaining stands in the way while it is open.
    What is for information only is counted, and a batch without flags is clear."""
    for batch in ("STOPPED", "OPEN", "EXPLAINED", "INFORMED", "CLEAR"):
        put("derived.bottlings", batch=batch, product="GIN", bottled_at="2031-01-01")
    for batch, flag, severity, happened in (
        ("STOPPED", "F-1", STOP, "explained"), ("STOPPED", "F-2", EXPLAIN, "opened"), ("OPEN", "F-3", EXPLAIN, None),
        ("OPEN", "F-4", EXPLAIN, "accepted"), ("EXPLAINED", "F-5", EXPLAIN, "explained"),
        ("INFORMED", "F-6", INFORM, None), ("INFORMED", "F-7", INFORM, "opened"),
    ):  # fmt: skip
        put_flag(flag, severity=severity)
        put("flagged.batch_flags", batch=batch, flag=flag)
        if happened:
            put_event(int(flag[2:]), flag, happened)

    expected = {
        "STOPPED": ("stopped", 1, 1, 0), "OPEN": ("to explain", 0, 1, 0), "EXPLAINED": ("clear", 0, 0, 0),
        "INFORMED": ("clear", 0, 0, 2), "CLEAR": ("clear", 0, 0, 0),
    }  # fmt: skip
    assert standings(tables) == expected
    assert standings(tables) == expected  # made anew each time


@pytest.mark.parametrize(("softened", "standing"), [("below the law", "stopped"), ("eased", "clear"), (None, "clear")])
def test_no_batch_may_go_under_a_rule_below_the_law(tables, put, softened, standing):
    """Whatever its flags; a rule that is only eased stops none."""
    put("derived.bottlings", batch="A", product="GIN", bottled_at="2031-01-01")
    put("flagged.rules", rule="r", subject="s", quantity="q", compared="c", severity=STOP, citation="c", by_house=True,
        of_law=True, softened=softened)  # fmt: skip

    assert standings(tables)["A"][0] == standing


@pytest.fixture
def changes(tables):
    """What a check at noon writes down: (event, flag, what happened, reason)."""

    def rows():
        text = (CHECKS / "flags" / "flag_events.sql").read_text(encoding="utf-8")
        frame = tables.frame(text, {"happened_at": datetime(2031, 1, 11, 12)})
        assert set(frame["happened_at"].to_list()) <= {datetime(2031, 1, 11, 12)}
        return frame.select("event", "flag", "happened", "reason").rows()

    return rows


@pytest.mark.parametrize(
    ("last", "changed", "happened"),
    [
        (None, {}, "opened"), ("opened", {}, None), ("explained", {}, None), ("accepted", {}, None),
        ("opened", {"value": "2"}, "changed"), ("changed", {"value": None}, "changed"),
        ("reopened", {"answer": "doubtful"}, "changed"), ("explained", {"severity": STOP}, "reopened"),
        ("accepted", {"value": "2"}, "reopened"), ("gone", {}, "reopened"), ("amended away", {}, "reopened"),
        ("explained", {"limits": "other words"}, None),
    ],
)  # fmt: skip
def test_what_a_check_that_finds_a_flag_writes_down(put_flag, put_event, changes, last, changed, happened):
    """It stays explained while answer, severity and value are what they were; what was gone is there again."""
    if last:
        put_event(7, "F-1", last)
    put_flag("F-1", **changed)

    assert changes() == ([(8 if last else 1, "F-1", happened, None)] if happened else [])


def test_the_last_event_is_the_state(put_flag, put_event, changes):
    """Explained after it was opened, and with another value since."""
    put_event(1, "F-1", "opened", value="9")
    put_event(2, "F-1", "explained")
    put_flag("F-1")

    assert changes() == []


@pytest.mark.parametrize("last", ["opened", "explained", "accepted"])
def test_a_flag_that_is_not_found_again_is_gone(put_event, changes, last):
    """Once: what is gone stays so."""
    put_event(3, "F-1", last)
    put_event(4, "F-2", "gone")
    put_event(5, "F-3", "amended away")

    assert changes() == [(6, "F-1", "gone", None)]


def put_amendment(put, number, at=DAY, **key):
    put("typed.amendments", amendment=number, kind="movements", record="shown", record_key=json.dumps(key), field="x",
        person="KM", reason="y", amended_at=at)  # fmt: skip


@pytest.mark.parametrize(
    ("named", "reason"),
    [
        ({"run": "R"}, "amendment 1, 2"), ({"lot": "L"}, "amendment 2"), ({"batch": "B"}, "amendment 3"),
        ({"batch": "C"}, "amendment 1, 2"), ({"run": "Q"}, "amendment 2"), ({"run": "ELSE"}, None),
    ],
)  # fmt: skip
def test_an_amendment_since_takes_a_flag_away(put, put_event, changes, named, reason):
    """Of its run, lot or batch, of what stands behind its batch, or of a lot that its run gauged. One made before the
    flag was last seen, or of another record, has no part in it."""
    put_event(5, "F-1", "opened", **named)
    put_amendment(put, 1, run="R", lot="X")
    put_amendment(put, 2, datetime(2031, 1, 11), run="R", lot="L")
    put_amendment(put, 3, lot="B", sample_no="R")
    put_amendment(put, 4, datetime(2031, 1, 9), run="R", lot="L")
    put_amendment(put, 5, lot="ELSE")
    put_ancestry(put, "C", ("R", "Z", "C"))
    put("derived.gauges", run="Q", lot="L", direction="in")

    state = "amended away" if reason else "gone"
    assert changes() == [(6, "F-1", state, reason)]


def test_events_are_numbered_by_what_happened_rule_and_record(put_flag, put_event, changes):
    """So that the same check writes the same history."""
    put_event(1, "F-9", "opened")
    put_flag("F-1", rule="z")
    put_flag("F-2", rule="a", record="y")
    put_flag("F-3", rule="a", record="b")

    assert [(event, flag) for event, flag, _, _ in changes()] == [(2, "F-9"), (3, "F-3"), (4, "F-2"), (5, "F-1")]
