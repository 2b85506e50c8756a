"""The frames over lots and stock at rest: dips against the book, draws and their order; rows by hand, all made up."""

import pytest


def columns(row, names):
    """The values of these columns of a row, in their order."""
    return tuple(row[name] for name in names.split())


def test_a_lot_is_placed_at_its_first_draw_or_where_it_came(put, frames, row_of):
    """Of two draws the first by time, which is not the first by name; a lot never drawn at its line of intake."""
    put("typed.runs", run="A-LATE", stage="mash", equipment="MT1", started_at="2031-01-05")
    put("typed.runs", run="Z-EARLY", stage="mash", equipment="MT1", started_at="2031-01-02")
    for lot in ("DRAWN", "KEPT"):
        put("derived.lots", lot=lot, origin="received", basis="kg", made_at="2031-01-01")
        put("derived.openings", lot=lot, came_at="2031-01-01", source_id=2, line=20)
        put("derived.openings", lot=lot, came_at="2031-01-09", source_id=3, line=30)
    for run, at, line in (("A-LATE", "2031-01-05", 7), ("Z-EARLY", "2031-01-02", 9)):
        put("derived.gauges", run=run, direction="in", lot="DRAWN", part="grain", gauged_at=at, source_id=1, line=line)
    put("derived.gauges", run="Z-EARLY", direction="out", lot="KEPT", part="grain", source_id=1, line=99)

    drawn, kept = (row_of(frames()["lots"], lot=lot) for lot in ("DRAWN", "KEPT"))

    assert columns(drawn, "source_id line hours_drawn_before_made") == (1, 9, -24.0)
    assert drawn["note"] == "counted in kg, first drawn by run Z-EARLY"
    assert columns(kept, "source_id line hours_drawn_before_made") == (2, 20, None)


def test_the_last_draw_goes_by_the_date_on_the_bag(put, frames, row_of):
    """Best before 3 January; drawn on the 2nd and on the 5th: two days past. Each lot never drawn has its own line."""
    put("typed.runs", run="MSH", stage="mash", equipment="MT1", started_at="2031-01-02")
    put("typed.intake", lot="MALT", material="malt", kind="malt", received_at="2031-01-01", best_before="2031-01-03")
    for lot, line in (("MALT", 4), ("OATS", 6), ("RYE", 8)):
        put("derived.lots", lot=lot, origin="received", basis="kg")
        put("derived.openings", lot=lot, came_at="2031-01-01", source_id=2, line=line)
    for at in ("2031-01-02", "2031-01-05"):
        put("derived.gauges", run="MSH", direction="in", lot="MALT", part="grain", gauged_at=at, source_id=1, line=3)
    rows = frames()["lots"]

    assert row_of(rows, lot="MALT")["days_past_best_before"] == 2
    assert rows.select("lot", "line").rows() == [("MALT", 3), ("OATS", 6), ("RYE", 8)]


def test_a_dip_with_a_vessel_unread_is_no_sum(put, frames):
    """Two vessels are one dip of the lot, unknown where one of them is; a lot whose origin nobody knows has none."""
    for lot, origin in (("NS-1", "produced"), ("NS-2", "produced"), ("NS-3", "unknown")):
        put("derived.lots", lot=lot, origin=origin)
        put("derived.openings", lot=lot, came_at="2031-01-01", alcohol_l=50.0, gauge=1)
        for number, vessel in enumerate(("N2", "N1")):
            put("derived.stock_gauges", gauge=number, vessel=vessel, lot=lot, gauged_at=f"2031-01-31 16:0{number}",
                alcohol_l=None if lot == "NS-2" and number else 20.0, source_id=4, line=8 - number)  # fmt: skip

    rows = frames()["stock"].select("lot", "dipped_alcohol_l", "book_alcohol_l", "note", "line").rows()

    assert rows == [("NS-1", 40.0, 50.0, "vessel N1, N2", 7), ("NS-2", None, 50.0, "vessel N1, N2", 7)]


def test_what_comes_at_the_moment_of_a_dip_was_dipped(put, frames, row_of):
    """Both sides count it: 50 in the book, and of its uncertainty 0.3 beside the dip's 0.4, together 0.5."""
    put("derived.lots", lot="NS-1", origin="received")
    put("derived.openings", lot="NS-1", came_at="2031-01-31 16:00", alcohol_l=50.0, gauge=1)
    put("derived.stock_gauges", gauge=2, vessel="N1", lot="NS-1", gauged_at="2031-01-31 16:00", alcohol_l=49.0)
    for gauge, alcohol_l in ((1, 0.3), (2, 0.4)):
        put("derived.gauge_errors", gauge=gauge, error=f"gauge {gauge}", alcohol_l=alcohol_l)

    row = row_of(frames()["stock"], lot="NS-1")

    assert columns(row, "dipped_alcohol_l book_alcohol_l u_difference_l") == (49.0, 50.0, pytest.approx(0.5))


def test_of_an_error_that_dip_and_movement_share_the_rest_counts(put, frames, row_of):
    """The hydrometer's 0.5 of the dip less 0.2 of what came in is 0.3, beside the dip's own 0.4 and 1.2 of what else
    came in: the root of 0.09, 0.16 and 1.44 is 1.3. What moved later, or of another lot, has no part in it."""
    put("derived.lots", lot="NS-1", origin="received")
    for gauge, lot, at in (
        (1, "NS-1", "2031-01-01"), (3, "NS-1", "2031-02-09"), (4, "OTHER", "2031-01-01"), (5, "NS-1", "2031-01-02"),
    ):  # fmt: skip
        put("derived.openings", lot=lot, came_at=at, alcohol_l=50.0, gauge=gauge)
    put("derived.stock_gauges", gauge=2, vessel="N1", lot="NS-1", gauged_at="2031-01-31 16:00", alcohol_l=49.0)
    for gauge, error, alcohol_l in (
        (1, "hydrometer", 0.2), (2, "hydrometer", 0.5), (2, "dip", 0.4), (3, "later", 7.0), (4, "elsewhere", 9.0),
        (5, "other", 1.2),
    ):  # fmt: skip
        put("derived.gauge_errors", gauge=gauge, error=error, alcohol_l=alcohol_l)

    row = row_of(frames()["stock"], lot="NS-1")

    assert columns(row, "book_alcohol_l u_difference_l") == (100.0, pytest.approx(1.3))


def test_a_book_with_a_movement_unknown_is_no_sum(put, frames, row_of):
    """50 came in and something that nobody could compute: what is in the lot is not known."""
    put("derived.lots", lot="NS-1", origin="received")
    for gauge, alcohol_l in ((1, 50.0), (2, None)):
        put("derived.openings", lot="NS-1", came_at="2031-01-01", alcohol_l=alcohol_l, gauge=gauge)
    put("derived.stock_gauges", gauge=3, vessel="N1", lot="NS-1", gauged_at="2031-01-31", alcohol_l=49.0)

    assert row_of(frames()["stock"], lot="NS-1")["book_alcohol_l"] is None
