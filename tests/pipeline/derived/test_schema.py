"""The views that all share: casks, runs, movements, gauges at rest, and what flows into and out of a lot; by hand."""

from datetime import datetime

import pytest

DAY = datetime(2024, 1, 1)


@pytest.fixture
def rows_of(empty_book):
    """Rows of a view, a tuple of some columns each: rows_of("runs", "run, stage")."""
    return lambda view, columns: empty_book.frame(f"SELECT {columns} FROM derived.{view} ORDER BY ALL").rows()


def put_event(put, event, cask="C1", run="R", on=DAY, **more):
    put("derived.cask_events", cask=cask, contents=f"{cask}/1", event=event, run=run, happened_at=on,
        **{"source_id": 1, "line": 1} | more)  # fmt: skip


def test_casks_are_those_of_the_register_and_of_events(put, rows_of):
    """Each once."""
    put("typed.casks", cask="C1")
    for cask in ("C1", "C2", "C2"):
        put("typed.cask_events", cask=cask, event="moved", happened_at=DAY)

    assert rows_of("casks", "cask") == [("C1",), ("C2",)]


def test_runs_are_those_of_the_sheets_and_of_casks(put, rows_of):
    """A fill where one of its events fills, from its first event to its last, by whom and from the line of the first; a
    run of a sheet is that of the sheet, and a cask at rest has none."""
    put("typed.runs", run="SHEET", stage="strip", equipment="S1", started_at=DAY)
    put_event(put, "filled", run="SHEET")
    put_event(put, "drawn", run="F", on=datetime(2024, 1, 2), person="AA", line=2)
    put_event(put, "filled", run="F", on=datetime(2024, 1, 3), person="ZZ", line=1)
    put_event(put, "drawn", run="F", on=datetime(2024, 1, 1), person="MM", line=3)
    put_event(put, "emptied", run="D")
    put_event(put, "moved", run=None)

    assert rows_of("runs", "run, stage, equipment, started_at, ended_at, operator, line") == [
        ("D", "dump", "casks", DAY, DAY, None, 1),
        ("F", "fill", "casks", DAY, datetime(2024, 1, 3), "MM", 3),
        ("SHEET", "strip", "S1", DAY, None, None, 1),
    ]


def test_a_filling_is_two_movements_that_are_one_gauge(put, rows_of):
    """Into the cask, and out of the lot from where that was put last; both measured in the cask."""
    put("typed.movements", run="M", direction="out", lot="NM", part="hearts", vessel="T1", gauged_at="2023-01-01")
    put("typed.intake", lot="NM", material="x", kind="x", received_at="2023-03-01", vessel="T2")
    put("typed.opening_stock", lot="NM", material="x", kind="x", counted_at="2023-02-01", vessel="T3")
    put("typed.movements", run="M", direction="in", lot="NM", part="hearts", vessel="T4", gauged_at="2023-06-01")
    put("typed.movements", run="M", direction="out", lot="NM", part="hearts", gauged_at="2023-07-01")
    put_event(put, "filled", lot="NM", net_kg=90.0, alcohol_l=60.0, volume_at_t_l=100.0)

    columns = "run, direction, lot, part, vessel, mass_kg, stated_alcohol_l, volume_at_t_l, measured_in, shares_gauge"
    drawn, filled = (row for row in rows_of("movements", columns) if row[0] == "R")

    same = (90.0, 60.0, 100.0, "C1", "cask C1 filled 2024-01-01 00:00:00 NM")
    assert drawn == ("R", "in", "NM", "spirit", "T2", *same)
    assert filled == ("R", "out", "C1/1", "spirit", "C1", *same)
    assert len(rows_of("movements", "*")) == 5


def test_a_draw_that_the_sheet_gauges_is_not_made_up(put, rows_of):
    """Of this run, this lot, and drawn; nor is one where the other cask's own row gauges it."""
    for run, lot, direction in (("R", "NM", "in"), ("R", "OTHER", "in"), ("Q", "B", "in"), ("R", "B", "out")):
        put("typed.movements", run=run, direction=direction, lot=lot, part="spirit")
    put_event(put, "filled", lot="NM")
    put_event(put, "filled", lot="B", cask="C2", line=2)
    put_event(put, "drawn", cask="C3", line=3)
    put_event(put, "filled", lot="C3/1", cask="C4", line=4)

    made_up = [row for row in rows_of("movements", "run, direction, lot, measured_in") if row[3]]

    assert made_up == [
        ("R", "in", "B", "C2"), ("R", "in", "C3/1", "C3"), ("R", "out", "C1/1", "C1"), ("R", "out", "C2/1", "C2"),
        ("R", "out", "C4/1", "C4"),
    ]  # fmt: skip


def test_what_is_drawn_and_emptied_is_drawn_of_the_cask(put, rows_of):
    """A sample, a gauge or a cask that left whole moves nothing into or out of a run."""
    for line, (event, run) in enumerate(
        (("drawn", "R"), ("emptied", "R"), ("sampled", "R"), ("regauged", "R"), ("lost", "R"), ("emptied", None))
    ):
        put_event(put, event, run=run, lot="VAT", line=line)

    assert rows_of("movements", "direction, lot, vessel, shares_gauge") == [
        ("in", "C1/1", "C1", "cask C1 drawn 2024-01-01 00:00:00 VAT"),
        ("in", "C1/1", "C1", "cask C1 emptied 2024-01-01 00:00:00 VAT"),
    ]


def test_gauges_at_rest_are_dips_casks_and_what_was_counted(put, rows_of):
    """The contents of a cask by how often it was emptied before the count; gross less the heavier tare, or the net
    mass. A tank without its lot, cases, what nobody gauged, and a line that is a dip already stay out."""
    put("typed.stock", vessel="T1", lot="A", gauged_at=DAY, volume_at_t_l=10.0, line=1)
    put_event(put, "regauged", net_kg=80.0, alcohol_l=55.0)
    put_event(put, "drawn")
    for on, event in (("2023-12-31", "emptied"), (DAY, "emptied"), ("2023-12-01", "filled"), ("2023-12-02", "emptied")):
        put("typed.cask_events", cask="C2", event=event, happened_at=on)
    put("typed.cask_events", cask="C3", event="emptied", happened_at="2023-12-31")
    put("typed.casks", cask="C2", tare_kg=50.0)
    put("typed.casks", cask="C2", tare_kg=52.0)
    put("typed.casks", cask="C3", tare_kg=60.0)
    for line, counted in enumerate(
        (
            {"container": "cask", "vessel": "C2", "gross_kg": 250.0},
            {"container": "cask", "vessel": "C3", "mass_kg": 7.0},
            {"container": "tank", "vessel": "T2", "lot": "B", "volume_at_t_l": 5.0},
            {"container": "tank", "vessel": "T3", "volume_at_t_l": 5.0},
            {"container": "cased goods", "lot": "X", "alcohol_l": 5.0},
            {"container": "tank", "vessel": "T4", "lot": "B", "pieces": 5.0},
            {"container": "tank", "vessel": "T5", "lot": "B", "alcohol_l": 4.0},
        ),
        start=2,
    ):  # fmt: skip
        put("typed.inventory", counted_at=DAY, line=line, **counted)
    put("typed.inventory", counted_at=DAY, line=1, container="tank", vessel="T1", lot="A", volume_at_t_l=10.0)
    put(
        "typed.inventory",
        counted_at=DAY,
        line=1,
        source_id=2,
        container="tank",
        vessel="T6",
        lot="A",
        volume_at_t_l=1.0,
    )

    assert rows_of("dips", "vessel, lot, gauged_at, volume_at_t_l, mass_kg, stated_alcohol_l") == [
        ("C1", "C1/1", DAY, None, 80.0, 55.0), ("C2", "C2/3", DAY, None, 198.0, None),
        ("C3", "C3/2", DAY, None, 7.0, None), ("T1", "A", DAY, 10.0, None, None),
        ("T2", "B", DAY, 5.0, None, None), ("T5", "B", DAY, None, None, 4.0),
        ("T6", "A", DAY, 1.0, None, None),
    ]  # fmt: skip


def test_an_entry_has_the_errors_of_its_gauge(put, rows_of):
    """With its sign: what is drawn of a place is less by as much; an entry without a gauge has its own."""
    for gauge, alcohol_l, entry in ((1, 5.0, "produced"), (2, -5.0, "used"), (None, 3.0, "received")):
        put("derived.account_entries", gauge=gauge, booked_at=DAY, place="T1", entry=entry, alcohol_l=alcohol_l,
            u_alcohol_l=0.7, lot="A", run="R")  # fmt: skip
    put("derived.gauge_errors", gauge=1, error="e", alcohol_l=0.2)
    put("derived.gauge_errors", gauge=2, error="e", alcohol_l=0.3)

    assert rows_of("entry_errors", "error, alcohol_l, place, lot") == [
        ("e", -0.3, "T1", "A"), ("e", 0.2, "T1", "A"), ("received A R 20240101000000", 0.7, "T1", "A"),
    ]  # fmt: skip


def test_what_stands_behind_a_batch(put, rows_of):
    """Each run and lot of its lineage once, the run that bottled it, and the batch itself."""
    for run, lot, into in (("S", "W", "X"), ("B", "X", "B-1"), ("B", "Y", "B-1")):
        put("derived.lineage", batch="B-1", run=run, lot=lot, into_lot=into)
    put("derived.bottlings", batch="B-1", run="BOT")
    put("derived.bottlings", batch="B-2")

    assert rows_of("ancestor_runs", "batch, run") == [("B-1", "B"), ("B-1", "BOT"), ("B-1", "S")]
    assert rows_of("ancestor_lots", "batch, lot") == [
        ("B-1", "B-1"), ("B-1", "W"), ("B-1", "X"), ("B-1", "Y"), ("B-2", "B-2"),
    ]  # fmt: skip


def test_what_flows_into_a_lot_and_out_of_it(put, rows_of):
    """Made, begun with and come back on the one side; drawn and gone on the other; bottles are told by their ledger."""
    put("derived.gauges", gauge=1, lot="A", direction="out", gauged_at=DAY, alcohol_l=10.0)
    put("derived.gauges", gauge=2, lot="A", direction="in", gauged_at=DAY, alcohol_l=4.0)
    put("derived.openings", gauge=3, lot="A", came_at=DAY, alcohol_l=5.0)
    for gauge, kind, is_bottled in ((4, "returned", False), (5, "sampled", False), (6, "dispatched", True)):
        put("derived.removals", gauge=gauge, lot="A", kind=kind, removed_at=DAY, alcohol_l=1.0, is_bottled=is_bottled)

    assert rows_of("lot_flows", "gauge, lot, moved_at, alcohol_l, sign") == [
        (1, "A", DAY, 10.0, 1), (2, "A", DAY, 4.0, -1), (3, "A", DAY, 5.0, 1), (4, "A", DAY, 1.0, 1),
        (5, "A", DAY, 1.0, -1),
    ]  # fmt: skip
