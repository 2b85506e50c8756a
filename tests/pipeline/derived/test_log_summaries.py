"""Which log is whose, whether its clock is off, and what each tag showed: on logs put in by hand."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from gaugebook.pipeline.derived import rebuild

DERIVED = Path(rebuild.__file__).parent
TEN = datetime(2031, 1, 1, 10)


def minutes(number):
    return TEN + timedelta(minutes=number)


@pytest.fixture
def put_run(put):
    """A strip on S1 from ten to four o'clock, hearts from eleven to three; put_run("R", stage="rectify")."""

    def put_one(run, **more):
        row = {
            "run": run, "stage": "strip", "equipment": "S1", "started_at": TEN, "ended_at": minutes(360),
            "hearts_from": minutes(60), "hearts_to": minutes(300),
        }  # fmt: skip
        put("typed.runs", **row | more)

    return put_one


@pytest.fixture
def logged(empty_book):
    """Blocks of logs by run, as minutes from ten o'clock on: logged((-5, 365), (500, 600, "S2"))."""

    def rows(*blocks):
        for source, (first, last, *still) in enumerate(blocks, start=1):
            empty_book.execute(
                "INSERT INTO typed.log_blocks VALUES (?, ?, ?, ?)",
                [source, still[0] if still else "S1", minutes(first), minutes(last)],
            )
        empty_book.run_file(DERIVED / "log_blocks.sql")
        blocks_of_runs = empty_book.frame("SELECT * FROM log_blocks ORDER BY run").to_dicts()
        return {
            row["run"]: tuple((row[end] - TEN) // timedelta(minutes=1) for end in ("first_at", "last_at"))
            for row in blocks_of_runs
        }

    return rows


def test_blocks_of_several_files_with_little_silence_are_one_log(put_run, logged):
    """Ninety minutes are little, more is another log; a block within another does not end it."""
    put_run("R")
    put_run("LATE", started_at=minutes(600))

    assert logged((0, 300), (10, 20), (390, 400), (491, 900)) == {"R": (0, 400), "LATE": (491, 900)}


@pytest.mark.parametrize(("first", "is_its"), [(-180, True), (-181, False), (180, True), (181, False)])
def test_a_log_belongs_to_a_run_that_began_at_most_three_hours_apart(put_run, logged, first, is_its):
    """On the same still; no clock is ever off by more."""
    put_run("R")

    assert logged((first, 300), (0, 300, "S2")) == ({"R": (first, 300)} if is_its else {})


def test_of_two_runs_the_nearer_has_the_log(put_run, logged):
    """A mash is no still run, however near; of two as near the first by name."""
    put_run("A", started_at=minutes(-40))
    put_run("B", started_at=minutes(30))
    put_run("M", stage="mash")

    assert logged((0, 300)) == {"B": (0, 300)}


def test_of_two_as_near_the_first_by_name(put_run, logged):
    """So that the answer is always the same."""
    put_run("B", started_at=minutes(30))
    put_run("A", started_at=minutes(-30))

    assert list(logged((0, 300))) == ["A"]


@pytest.fixture
def summarised(empty_book, put_run, logged):
    """Clock and summaries of a log of these values, a minute apart from a moment on: {tag: [values]}; a still logs
    each minute."""

    def rows(first, values, **run):
        put_run("R", **run)
        logged((first, first + max(map(len, values.values())) - 1))
        empty_book.execute(
            "CREATE OR REPLACE TABLE typed.readings (equipment VARCHAR, read_at TIMESTAMP, tag VARCHAR, value DOUBLE)"
        )
        empty_book.execute("CREATE OR REPLACE TABLE derived.house_stills AS SELECT 'S1' AS code, 60 AS log_interval_s")
        for tag, series in values.items():
            for number, value in enumerate(series):
                if value is not None:
                    empty_book.execute(
                        "INSERT INTO typed.readings VALUES ('S1', ?, ?, ?)", [minutes(first + number), tag, value]
                    )
        empty_book.run_file(DERIVED / "log_summaries.sql")
        clock = empty_book.frame("SELECT * FROM derived.log_clocks").row(0, named=True)
        tags = {row["tag"]: row for row in empty_book.frame("SELECT * FROM derived.log_summaries").to_dicts()}
        return clock, tags

    return rows


@pytest.mark.parametrize(
    ("first", "last", "offset"),
    [(0, 360, 0), (-30, 340, -20), (-30, 320, -30), (20, 390, 20), (40, 390, 30), (-30, 390, 0), (30, 340, 0)],
)
def test_a_clock_is_off_by_what_both_ends_are(empty_book, put_run, logged, summarised, first, last, offset):
    """By the lesser of both; ends that go apart say nothing. A run that goes on has its beginning alone."""
    clock, _ = summarised(first, {"pot": [1.0] + [None] * (last - first)})

    assert clock["offset_min"] == offset
    assert clock["log_started_at"] == minutes(first)


@pytest.mark.parametrize(("first", "offset"), [(25, 25), (-25, -25)])
def test_the_clock_of_a_run_that_goes_on(summarised, first, offset):
    """What its beginning says."""
    assert summarised(first, {"pot": [1.0, 2.0]}, ended_at=None)[0]["offset_min"] == offset


def test_a_tag_in_numbers(summarised):
    """Four readings of ten, twenty, sixty and thirty, with a hole of three minutes; of six hours a minute apart 361
    were to be had."""
    _, tags = summarised(0, {"pot": [10.0, 20.0, None, None, 60.0, 30.0], "vapour": [5.0]})
    pot = tags["pot"]

    assert (pot["run"], pot["equipment"], pot["points"]) == ("R", "S1", 4)
    assert (pot["first_at"], pot["last_at"]) == (minutes(0), minutes(5))
    assert (pot["least"], pot["greatest"], pot["mean"], pot["longest_gap_min"]) == (10.0, 60.0, 30.0, 3.0)
    assert pot["expected_points"] == 361
    assert (pot["longest_stuck_min"], tags["vapour"]["points"]) == (None, 1)  # no reading of it lies in the hearts


def test_the_longest_time_with_one_value_while_hearts_ran(summarised):
    """From 11:00 on: 4, 4, 4 for two minutes, 5 once, 4, 4 for one. Ten minutes of 4 before the hearts do not count."""
    values = [1.0] * 50 + [4.0] * 13 + [5.0, 4.0, 4.0] + [6.0] * 300
    _, tags = summarised(0, {"pot": values[:66], "vapour": [float(n) for n in range(361)]})

    assert tags["pot"]["longest_stuck_min"] == 2.0
    assert tags["vapour"]["longest_stuck_min"] == 0.0


def test_the_hearts_are_sought_by_the_clock_of_the_log(summarised):
    """A log half an hour late shows them half an hour later: its value stands still from 11:25 to 11:32 on its clock,
    of which two minutes, from 11:30 on, lie in the hearts."""
    values = [float(n) for n in range(361)]
    values[55:63] = [7.0] * 8
    clock, tags = summarised(30, {"pot": values})

    assert clock["offset_min"] == 30
    assert tags["pot"]["longest_stuck_min"] == 2.0
