"""The days from which ages are reckoned, by the calendar of a house in Tokyo, nine hours ahead: rows put in by hand."""

from datetime import date
from pathlib import Path

import pytest

from gaugebook.pipeline.derived import rebuild

CASKS = Path(rebuild.__file__).parent / "casks"
EVENING, NEXT_DAY = "2024-01-01 20:00", date(2024, 1, 2)  # in UTC, and there


@pytest.fixture
def rows_of(empty_book):
    """Rows of a query: rows_of("left_wood")."""
    empty_book.execute("SET VARIABLE house_zone = 'Asia/Tokyo'")
    return lambda name: empty_book.frame((CASKS / f"{name}.sql").read_text(encoding="utf-8")).to_dicts()


def test_what_came_with_the_day_from_which_it_ages(put, rows_of):
    """Of the opening stock as its own line says, under its cask; a delivery of the same line has none, nor has what
    carries no alcohol a row. The last of two gauges of a lot counts, and the day of the younger of two parts."""
    spirit = {"kind": "spirit", "carries_alcohol": True, "source_id": 1}
    put("typed.opening_stock", lot="C9", material="x", kind="spirit", counted_at=EVENING, aged_from="2018-05-30 20:00",
        line=4)  # fmt: skip
    put("derived.openings", lot="C9/1", vessel="C9", origin="opening", came_at=EVENING, line=4, **spirit)
    put("typed.opening_stock", lot="C9", material="x", kind="spirit", counted_at=EVENING, aged_from="2017-01-01",
        line=7)  # fmt: skip
    put("derived.openings", lot="C9/1", vessel="C9", origin="opening", came_at=EVENING, line=7, **spirit)
    put("derived.openings", lot="A", vessel="T1", origin="received", came_at=EVENING, line=4, **spirit)
    put("derived.openings", lot="B", vessel="T1", origin="opening", came_at="2024-01-01 10:00", line=5, **spirit)
    put("derived.openings", lot="B", vessel="T2", origin="opening", came_at=EVENING, line=6, **spirit)
    put(
        "derived.openings",
        lot="G",
        vessel="T1",
        origin="opening",
        came_at=EVENING,
        **spirit | {"carries_alcohol": False},
    )

    assert rows_of("aged_openings") == [
        {"lot": "A", "kind": "spirit", "cask": None, "came_on": NEXT_DAY, "aged_from": None},
        {"lot": "B", "kind": "spirit", "cask": None, "came_on": NEXT_DAY, "aged_from": None},
        {"lot": "C9/1", "kind": "spirit", "cask": "C9", "came_on": NEXT_DAY, "aged_from": date(2018, 5, 31)},
    ]


STEP = {"stage": "fill", "share": 1.0, "into_rank": 1}
RUN = {"stage": "fill", "equipment": "E", "started_at": "2024-03-01 20:00", "ended_at": "2024-03-03 20:00"}


def test_a_step_has_the_days_of_its_gauges(put, rows_of):
    """Drawn at the first of two gauges, put where the cask was filled; other runs and ways have no part in it."""
    put("typed.casks", cask="C1")
    put("typed.runs", run="R", **RUN)
    put("derived.steps", lot="NM", into_lot="C1/1", run="R", **STEP)
    for run, lot, direction, vessel, on in (
        ("R", "NM", "in", "T1", "2024-01-05"), ("R", "NM", "in", "T1", EVENING),
        ("R", "C1/1", "out", "C1", "2024-01-03"),
        ("R", "NM", "out", "T9", "2023-01-01"), ("R", "C1/1", "in", "T9", "2023-01-01"),
        ("Q", "NM", "in", "T1", "2023-01-01"), ("Q", "C1/1", "out", "T1", "2023-01-01"),
        ("R", "C1/1", "out", "T5", "2024-01-03"),
    ):  # fmt: skip
        put("derived.gauges", run=run, lot=lot, direction=direction, vessel=vessel, gauged_at=on)

    assert rows_of("aged_steps") == [
        {
            "lot": "NM",
            "into_lot": "C1/1",
            "stage": "fill",
            "cask": "C1",
            "drawn_on": NEXT_DAY,
            "put_on": date(2024, 1, 3),
        }
    ]


@pytest.mark.parametrize(("ended", "put_on"), [("2024-03-03 20:00", date(2024, 3, 4)), (None, date(2024, 3, 2))])
def test_without_a_time_of_its_own_a_gauge_has_that_of_its_run(put, rows_of, ended, put_on):
    """What was drawn when it began, what was made when it ended, or began where it goes on; a tank is no cask."""
    put("typed.runs", run="R", **RUN | {"ended_at": ended})
    put("derived.steps", lot="NM", into_lot="X", run="R", **STEP)
    put("derived.gauges", run="R", lot="NM", direction="in")
    put("derived.gauges", run="R", lot="X", direction="out", vessel="T1")

    (row,) = rows_of("aged_steps")

    assert (row["cask"], row["drawn_on"], row["put_on"]) == (None, date(2024, 3, 2), put_on)


def test_a_run_that_no_sheet_tells_of_has_the_days_of_its_gauges(put, rows_of):
    """The gauges are all that is known of it."""
    put("derived.steps", lot="NM", into_lot="X", run="R", **STEP)
    put("derived.gauges", run="R", lot="NM", direction="in", gauged_at=EVENING)

    (row,) = rows_of("aged_steps")

    assert (row["drawn_on"], row["put_on"]) == (NEXT_DAY, None)


def test_steps_stand_after_those_that_they_rest_on(put, rows_of):
    """By rank; rings and what carries no alcohol are left out, a step without gauges has no days."""
    for into, more in (("B", {"into_rank": 2}), ("A", {}), ("RING", {"into_rank": None}), ("WATER", {"share": None})):
        put("derived.steps", lot="NM", into_lot=into, run="R", **STEP | more)

    assert [(row["into_lot"], row["drawn_on"], row["put_on"]) for row in rows_of("aged_steps")] == [
        ("A", None, None), ("B", None, None),
    ]  # fmt: skip


def test_the_day_of_which_an_age_is_told(put, rows_of):
    """Of a vat that it was made last; of a cask that it was emptied, the first of two fillings; of one that still holds
    something the last day of the book. What was drawn and never made has none."""
    put("typed.casks", cask="C1")
    put("typed.casks", cask="C2")
    put("typed.cask_events", cask="C1", event="filled", happened_at="2023-01-01")
    put("typed.cask_events", cask="C1", event="emptied", happened_at="2024-02-01 20:00")
    put("typed.cask_events", cask="C1", event="emptied", happened_at="2024-09-01 20:00")
    put("typed.runs", run="R", **RUN)
    for lot, direction, vessel, on in (
        ("C1/1", "out", "C1", "2023-01-01"), ("C1/2", "out", "C1", "2024-08-01"), ("C1/1", "in", "C1", "2024-02-01"),
        ("C2/1", "out", "C2", "2023-02-01"), ("VAT", "out", "T1", "2024-01-01 10:00"), ("VAT", "out", "T1", EVENING),
        ("VAT", "in", "T1", "2024-12-31 20:00"), ("GONE", "in", "T1", "2024-01-01"),
    ):  # fmt: skip
        put("derived.gauges", run="R", lot=lot, direction=direction, vessel=vessel, gauged_at=on)
    put("derived.gauges", run="R", lot="NEW", direction="out", vessel="T1")
    put("derived.gauges", run="no sheet", lot="LOOSE", direction="out", vessel="T1", gauged_at=EVENING)
    put("derived.openings", lot="OLD", vessel="T1", came_at=EVENING)
    put("derived.openings", lot="C9/1", vessel="C9", came_at="2023-01-01")

    assert {row["lot"]: row["as_of"] for row in rows_of("left_wood")} == {
        "C1/1": date(2024, 2, 2), "C1/2": date(2024, 9, 2), "C2/1": date(2025, 1, 1), "C9/1": date(2025, 1, 1),
        "VAT": NEXT_DAY, "OLD": NEXT_DAY, "NEW": date(2024, 3, 4), "LOOSE": NEXT_DAY,
    }  # fmt: skip
