"""Lots of spirit of which nothing is left, by what happened to their vessel."""

from datetime import datetime

import pytest


def _lot(put, lot, remaining=1.0, vessel="T1", at="2031-01-01 10:00", **more):
    """A lot of 100 LPA, put into a vessel and last drawn from it at a time."""
    put(
        "derived.lots", lot=lot, quantity_in=100.0, remaining=remaining,
        **{"basis": "LPA", "origin": "produced", "drawn_by_runs": 1} | more,
    )  # fmt: skip
    put("derived.gauges", lot=lot, direction="out", part="hearts", vessel=vessel, gauged_at="2030-12-01")
    put("derived.gauges", lot=lot, direction="in", part="hearts", vessel=vessel, gauged_at=at)


def _filled(put, vessel, at):
    put("derived.gauges", lot=f"next in {vessel}", direction="out", part="hearts", vessel=vessel, gauged_at=at)


@pytest.mark.parametrize(("remaining", "is_used_up"), [(9.9, True), (10.0, False), (-9.9, True), (-10.0, False)])
def test_a_lot_whose_vessel_took_another(put, made_by, remaining, is_used_up):
    """With less than a tenth of it left over, more or less."""
    _lot(put, "A", remaining)
    _filled(put, "T1", "2031-01-05")
    _filled(put, "T1", "2031-01-09")
    _filled(put, "T2", "2031-01-02")

    rows = made_by("used_up_lots")

    assert [row["lot"] for row in rows] == (["A"] if is_used_up else [])
    if is_used_up:
        (row,) = rows
        assert (row["vessel"], row["emptied_at"], row["left_l"]) == ("T1", datetime(2031, 1, 5), remaining)
        assert row["evidence"] == "its vessel took another lot"


def test_only_what_came_after_its_last_draw_counts(put, made_by):
    """A lot that came into the vessel at that very minute, or before, does not, nor one drawn from it later."""
    _lot(put, "A")
    _filled(put, "T1", "2031-01-01 10:00")
    _filled(put, "T1", "2030-12-15")
    put("derived.gauges", lot="beside it", direction="in", part="hearts", vessel="T1", gauged_at="2031-01-09")

    assert made_by("used_up_lots") == []


def test_a_stocktake_that_dips_the_vessel_at_other_times_did_not_list_it(put, made_by):
    """At the day's last dip, after the lot's own; a vessel that is never dipped tells nothing."""
    _lot(put, "A", vessel="T1")
    _lot(put, "B", vessel="T2")
    put("derived.stock_gauges", lot="A", vessel="T1", gauged_at="2031-01-31 08:00")
    put("derived.stock_gauges", lot="other", vessel="T3", gauged_at="2031-02-28 08:00")
    put("derived.stock_gauges", lot="other", vessel="T4", gauged_at="2031-02-28 09:30")

    (row,) = made_by("used_up_lots")

    assert (row["lot"], row["vessel"], row["evidence"]) == ("A", "T1", "a stocktake did not list it")
    assert row["emptied_at"] == datetime(2031, 2, 28, 9, 30)


@pytest.mark.parametrize(
    ("zone", "later", "is_used_up"),
    [
        ("UTC", "2031-01-31 23:55", False),
        ("UTC", "2031-02-01 01:30", True),
        ("Etc/GMT-2", "2031-02-01 01:30", False),  # two hours before: both lie on 1 February there
    ],
)
def test_what_was_dipped_in_a_stocktake_was_listed_by_it(empty_book, put, made_by, zone, later, is_used_up):
    """Whatever was dipped after it on that day, by the calendar of the house."""
    empty_book.execute(f"SET VARIABLE house_zone = '{zone}'")
    _lot(put, "A", vessel="T1")
    put("derived.stock_gauges", lot="A", vessel="T1", gauged_at="2031-01-31 23:00")
    put("derived.stock_gauges", lot="other", vessel="T2", gauged_at=later)

    assert [row["lot"] for row in made_by("used_up_lots")] == (["A"] if is_used_up else [])


def test_the_earlier_of_both_is_told(put, made_by):
    """The vessel took another lot on the fifth, a stocktake passed it by on the third."""
    _lot(put, "A", vessel="T1")
    _filled(put, "T1", "2031-01-05")
    put("derived.stock_gauges", lot="before", vessel="T1", gauged_at="2030-11-30")
    put("derived.stock_gauges", lot="other", vessel="T3", gauged_at="2031-01-03")

    (row,) = made_by("used_up_lots")

    assert (row["emptied_at"], row["evidence"]) == (datetime(2031, 1, 3), "a stocktake did not list it")


@pytest.mark.parametrize("more", [{"basis": "kg"}, {"origin": "unknown"}, {"drawn_by_runs": 0}])
def test_what_is_no_spirit_on_record_that_was_drawn(put, made_by, more):
    """Such a lot is not used up."""
    _lot(put, "A", **more)
    _filled(put, "T1", "2031-01-05")

    assert made_by("used_up_lots") == []


def test_bottles_are_not_used_up(put, made_by):
    """Neither a batch nor bottled spirit that was bought."""
    _lot(put, "A")
    _lot(put, "B")
    put(
        "typed.bottling", lot="A", run="R", product="P", bottled_at="2031-01-01", nominal_ml=700.0,
        label_strength_pct_vol=40.0, bottles_filled=1, bottles_rejected=0,
    )  # fmt: skip
    put("derived.openings", lot="B", kind="bottled spirit")
    put("derived.openings", lot="C", kind="neutral spirit")
    _lot(put, "C")
    _filled(put, "T1", "2031-01-05")

    assert [row["lot"] for row in made_by("used_up_lots")] == ["C"]


def test_a_gauge_without_a_time_is_taken_at_its_runs(put, made_by):
    """A draw at the run's start, what was made at its end, or at its start where it has not ended."""
    put("derived.lots", lot="A", quantity_in=100.0, remaining=0.0, basis="LPA", origin="produced", drawn_by_runs=1)
    put("derived.gauges", lot="A", run="MAKES", direction="out", part="hearts", vessel="T1")
    put("derived.gauges", lot="A", run="DRAWS", direction="in", part="hearts", vessel="T8")
    put("derived.gauges", lot="B", run="NEXT", direction="out", part="hearts", vessel="T1")
    put(
        "derived.gauges", lot="M", run="DRAWS", direction="out", part="grain", vessel="T1", gauged_at="2031-01-02 13:00"
    )
    for run, start, end in (
        ("MAKES", "2031-01-01 08:00", "2031-01-01 12:00"),
        (
            "DRAWS",
            "2031-01-02 12:00",
            "2031-01-02 18:00",
        ),  # T1 is put into again at 14:00, after 12:00 and before 18:00
        ("NEXT", "2031-01-02 14:00", None),
    ):
        put("typed.runs", run=run, stage="strip", equipment="E", started_at=start, ended_at=end)

    (row,) = made_by("used_up_lots")

    assert (row["lot"], row["vessel"], row["emptied_at"]) == ("A", "T1", datetime(2031, 1, 2, 14))


def test_a_filling_is_used_up_when_its_cask_was_emptied(put, made_by):
    """At the first time that it was, with what the book then still held; one that was only sampled is not."""
    for cask, event, on in (
        ("C1", "filled", "2031-01-01"), ("C1", "emptied", "2031-02-02"), ("C1", "emptied", "2031-02-01"),
        ("C2", "filled", "2031-01-01"), ("C2", "sampled", "2031-02-01"),
    ):  # fmt: skip
        put("derived.cask_events", cask=cask, event=event, happened_at=on, contents=f"{cask}/1")
    for lot, remaining in (("C1/1", 0.4), ("C2/1", 50.0)):
        put("derived.lots", lot=lot, basis="LPA", origin="produced", quantity_in=100.0, remaining=remaining)

    (row,) = made_by("used_up_lots")

    assert (row["lot"], row["vessel"], row["left_l"]) == ("C1/1", "C1", 0.4)
    assert (row["emptied_at"], row["evidence"]) == (datetime(2031, 2, 1), "the cask was emptied")
