"""Where a lot is: bottles, vessels and runs at work, on rows put in by hand."""

from pathlib import Path

import polars as pl
import pytest

from gaugebook.pipeline.derived import tracing

HERE = Path(tracing.__file__).parent


@pytest.fixture
def recalled(empty_book):
    """What a query of the recall of lot A gives where it went into these lots: lot, share, per unit."""

    def rows(name, parameters, *reached):
        lots = pl.DataFrame(list(reached), schema=["lot", "share", "per_unit"], orient="row")
        with empty_book.with_temp_view("reached", lots):
            return empty_book.frame((HERE / f"{name}.sql").read_text(encoding="utf-8"), parameters).to_dicts()

    return rows


def test_bottles_are_those_filled_less_those_taken_back(put, recalled):
    """1000 of 280 LPA, 100 of 28 LPA taken back; 0.5 LPA of the lot stands behind each LPA that is left."""
    put("derived.bottlings", batch="B", product="GIN", bottles_filled=1000, alcohol_bottled_l=280.0)
    for pieces in (60.0, 40.0):
        put("derived.gauges", lot="B", direction="in", part="bottles", pieces=pieces, alcohol_l=0.28 * pieces)
    put("derived.gauges", lot="B", direction="out", part="bottles", pieces=1000.0, alcohol_l=280.0)
    put("derived.bottlings", batch="OTHER", bottles_filled=1)

    (row,) = recalled("recall_bottles", None, ("A", 1.0, 1.0), ("B", 0.4, 0.5))

    assert (row["batch"], row["product"], row["bottles"], row["share"]) == ("B", "GIN", 900, 0.4)
    assert row["consumed"] == pytest.approx(0.5 * 252.0)


def test_of_a_batch_that_was_all_taken_back_none_stand(put, recalled):
    """More counted back than filled is none, never fewer than none; nothing taken back leaves all."""
    put("derived.bottlings", batch="B", bottled_at="2031-01-01", bottles_filled=10, alcohol_bottled_l=2.8)
    put("derived.bottlings", batch="C", bottled_at="2031-01-02", bottles_filled=10, alcohol_bottled_l=2.8)
    put("derived.gauges", lot="B", direction="in", part="bottles", pieces=11.0, alcohol_l=3.0)

    back, whole = recalled("recall_bottles", None, ("B", 0.4, 0.5), ("C", 0.4, 0.5))

    assert (back["bottles"], back["consumed"]) == (0, 0.0)
    assert (whole["bottles"], whole["consumed"]) == (10, pytest.approx(1.4))


def test_vessels_hold_what_was_booked_into_them(put, recalled):
    """50 less 20 LPA in T1, nothing left in T2; equipment is no vessel, and other lots are not asked for."""
    put("derived.lots", lot="S", material="spirit", drawn_by_runs=1, basis="LPA", origin="produced")
    for place, is_vessel, lot, alcohol_l in (
        ("T1", True, "S", 50), ("T1", True, "S", -20), ("T2", True, "S", 5), ("T2", True, "S", -5),
        ("T3", True, "S", 0.5), ("STILL", False, "S", 7), ("T1", True, "X", 9),
    ):  # fmt: skip
        put("derived.account_entries", place=place, is_vessel=is_vessel, lot=lot, alcohol_l=alcohol_l)

    row, little = recalled("recall_stock", ["A"], ("A", 1.0, 1.0), ("S", 0.4, 0.5))

    assert (little["vessel"], little["held_l"]) == ("T3", 0.5)
    assert (row["lot"], row["vessel"], row["held_l"], row["share"]) == ("S", "T1", 30.0, 0.4)
    assert (row["material"], row["consumed"]) == ("spirit", pytest.approx(15.0))


@pytest.mark.parametrize(
    ("lot", "material", "drawn", "consumed"),
    [("A", "spirit", 1, None), ("T", "tails", 0, None), ("T", "tails", 1, 15.0), ("S", "spirit", 0, 15.0)],
)
def test_what_is_set_aside_is_lost_on_the_way(put, recalled, lot, material, drawn, consumed):
    """Tails that nothing drew count as lost, and the lot itself stands behind nothing."""
    put("derived.lots", lot=lot, material=material, drawn_by_runs=drawn, basis="LPA", origin="produced")
    put("derived.account_entries", place="T1", is_vessel=True, lot=lot, alcohol_l=30)

    (row,) = recalled("recall_stock", ["A"], (lot, 0.4, 0.5))

    assert (row["held_l"], row["consumed"]) == (30.0, consumed)


def test_a_run_that_has_not_made_anything_holds_what_it_drew(put, recalled):
    """30 and 10 LPA; a run that made something does not."""
    put("derived.lots", lot="S", material="spirit", drawn_by_runs=2, basis="LPA", origin="produced")
    for run, alcohol_l in (("R-1", 30.0), ("R-1", 10.0), ("R-2", 9.0)):
        put("derived.gauges", run=run, lot="S", direction="in", part="spirit", alcohol_l=alcohol_l)
    put("derived.gauges", run="R-2", lot="Y", direction="out", part="hearts", alcohol_l=8.0)

    (row,) = recalled("recall_stock", ["A"], ("S", 0.4, 0.5))

    assert (row["vessel"], row["held_l"], row["share"]) == ("at work in R-1", 40.0, 0.4)
    assert row["consumed"] == pytest.approx(20.0)


@pytest.mark.parametrize(
    ("more", "is_waiting"),
    [({}, True), ({"basis": "kg"}, False), ({"origin": "received"}, False), ({"drawn_by_runs": 1}, False)],
)
def test_wort_that_no_run_has_drawn_waits(put, recalled, more, is_waiting):
    """With its volume; the vessel may not be named."""
    put(
        "derived.lots",
        **{"lot": "W", "material": "wort", "basis": "L", "origin": "produced", "drawn_by_runs": 0} | more,
    )
    put("derived.gauges", run="M", lot="W", direction="out", part="wort", volume_l=200.0)

    rows = recalled("recall_stock", ["A"], ("W", None, 0.5))

    expected = [("vessel not named", None, None, 100.0)] if is_waiting else []
    assert [(row["vessel"], row["held_l"], row["share"], row["consumed"]) for row in rows] == expected


def test_bottles_that_stood_there_when_the_book_was_begun(put, recalled):
    """60 and 40 bottles of one lot; spirit in bulk is none, and a batch that the house filled counts once."""
    for pieces in (60.0, 40.0):
        put(
            "derived.openings", lot="OLD", kind="bottled spirit", material="GIN", pieces=pieces, alcohol_l=0.28 * pieces
        )
    put("derived.openings", lot="BULK", kind="spirit", pieces=5.0, alcohol_l=5.0)
    put("derived.bottlings", batch="B", bottled_at="2031-01-01", bottles_filled=10, alcohol_bottled_l=2.8)
    put("derived.openings", lot="B", kind="bottled spirit", pieces=7.0, alcohol_l=2.0)
    put("derived.openings", lot="OLD", kind="bottled spirit", material="VODKA", pieces=0.0, alcohol_l=0.0)

    rows = recalled("recall_bottles", None, ("OLD", 0.4, 0.5), ("BULK", 0.4, 0.5), ("B", 0.4, 0.5))

    assert {row["batch"]: (row["product"], row["bottles"]) for row in rows} == {"OLD": ("GIN", 100), "B": (None, 10)}
    assert {row["batch"]: row["consumed"] for row in rows} == pytest.approx({"OLD": 14.0, "B": 1.4})


def test_what_became_of_every_bottle(put, recalled):
    """200 filled and 12 there before, 60 and 30 sent out, 6 and 1 back, 2 and 1 sampled, 3 and 2 broken, 50 and 4 used
    again: 67 in the house; the last of two counts found 4 of them missing, and a cask of that name counts apart."""
    for entry, pieces in (
        ("bottled", 200), ("opening", 12), ("dispatched", -60), ("dispatched", -30), ("returned", 6), ("returned", 1),
        ("sampled", -2), ("sampled", -1), ("destroyed", -3), ("destroyed", -2), ("used", -50), ("used", -4),
    ):  # fmt: skip
        put("derived.goods_entries", batch="B", product="GIN", entry=entry, pieces=pieces)
    for on, counted, difference, container in (
        ("2031-02-01", 63, -4, "cased goods"), ("2031-01-01", 90, 9, "cased goods"), ("2031-03-01", 1, -1, "cask"),
    ):  # fmt: skip
        put("derived.counts", item="B", container=container, counted_at=on, pieces=counted, difference=difference)

    (row,) = recalled("recall_goods", None, ("B", 0.4, 0.5), ("X", 0.4, 0.5))

    assert str(row.pop("counted_at"))[:10] == "2031-02-01"
    assert row == {
        "batch": "B", "product": "GIN", "share": 0.4, "came": 212, "dispatched": 90, "returned": 7, "sampled": 3,
        "destroyed": 5, "used": 54, "in_the_house": 67, "counted": 63, "unaccounted": 4,
    }  # fmt: skip


def test_bottles_of_which_nothing_is_told(put, recalled):
    """Nothing came and nothing went that was counted; nobody counted the store."""
    put("derived.goods_entries", batch="B", product="GIN", entry="bottled")
    put("derived.goods_entries", batch="C", product="GIN", entry="sampled", pieces=-1)

    uncounted, sampled = recalled("recall_goods", None, ("B", 0.4, 0.5), ("C", 0.4, 0.5))

    ways = ("came", "dispatched", "returned", "sampled", "destroyed", "used", "in_the_house", "unaccounted")
    assert [uncounted[name] for name in ways] == [0] * 8
    assert [sampled[name] for name in ways] == [0, 0, 0, 1, 0, 0, -1, 0]
    assert uncounted["counted"] is None


def test_what_left_in_bulk_and_what_casks_lost(put, recalled):
    """10 LPA sent out hold 5 of the lot, 2 that came back take 1 off; bottles are told above; a cask lost 3 LPA of the
    lot itself."""
    for kind, lot, alcohol_l, is_bottled in (
        ("dispatched", "S", 10.0, False), ("returned", "S", 2.0, False), ("sampled", "B", 0.2, True),
        ("dispatched", "X", 9.0, False),
    ):  # fmt: skip
        put("derived.removals", kind=kind, lot=lot, alcohol_l=alcohol_l, is_bottled=is_bottled, removed_at="2031-01-01")
    put("derived.cask_losses", contents="A", loss_l=3.0, found_when="emptied", to_at="2031-02-01")

    rows = recalled("recall_removals", None, ("A", 1.0, 1.0), ("S", 0.4, 0.5), ("B", 0.4, 0.5))

    assert [(row["kind"], row["lot"], row["consumed"]) for row in rows] == [
        ("dispatched", "S", 5.0), ("returned", "S", -1.0), ("sampled", "B", 0.0), ("lost in cask", "A", 3.0),
    ]  # fmt: skip
    assert (rows[3]["reason"], rows[3]["alcohol_l"], rows[3]["share"]) == ("found when it was emptied", 3.0, 1.0)
