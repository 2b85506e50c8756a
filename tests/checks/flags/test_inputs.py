"""The records that a flag rests on: which of each kind, and in which file and line, on records put in by hand."""

import pytest

from gaugebook.checks.flags import explanation

ASKED = {"run": None, "lot": None, "batch": None, "equipment": None, "analyte": None}


@pytest.fixture
def inputs(book):
    """What stands behind a flag, by kind and key: inputs("runs", run="R-1")."""
    sql = (explanation.HERE / "inputs.sql").read_text(encoding="utf-8")
    book.execute("SET VARIABLE house_zone = 'America/Denver'")
    return lambda *kinds, **keys: book.frame(sql, ASKED | keys | {"kinds": list(kinds)})["what"].to_list()


@pytest.fixture
def bottled(put):
    """Batch B-1 of run BOT from liquid LIQ, and a batch of its own beside it."""
    for batch, run, liquid in (("B-1", "BOT", "LIQ"), ("B-2", "BOT-2", "LIQ-2")):
        put("derived.bottlings", batch=batch, run=run)
        put("derived.lineage", batch=batch, run=run, lot=liquid, into_lot=batch, depth=1)
        put("derived.lineage", batch=batch, run="DEEP", lot=f"{liquid}-DEEP", into_lot=liquid, depth=2)


def test_runs_of_a_flag_are_its_own_or_those_of_its_batch(put, bottled, inputs):
    """A flag on a run names it, a flag on a batch the run that bottled it; nothing asked, nothing named."""
    for run in ("R-1", "BOT", "BOT-2"):
        put("typed.runs", run=run, stage="bottle", equipment="BT", started_at="2031-01-01")

    assert inputs("runs", run="R-1") == ["run R-1 (bottle)"]
    assert inputs("runs", batch="B-1") == ["run BOT (bottle)"]
    assert inputs("runs") == []
    assert inputs("fills", run="R-1") == []


def test_runs_of_a_still_are_those_of_the_stage(put, inputs):
    """Of a run those of its stage on the still; of the still alone all of them."""
    for run, stage, still in (("A", "strip", "S1"), ("B", "strip", "S1"), ("C", "spirit", "S1"), ("D", "strip", "S2")):
        put("typed.runs", run=run, stage=stage, equipment=still, started_at="2031-01-01")

    assert inputs("still runs", equipment="S1", run="A") == ["run A on S1", "run B on S1"]
    assert inputs("still runs", equipment="S1") == ["run A on S1", "run B on S1", "run C on S1"]


def test_movements_are_those_of_the_run_or_of_the_lot(put, bottled, inputs):
    """With their direction in words; of a batch those of the run that bottled it."""
    for run, direction, lot in (
        ("R-1", "in", "L"),
        ("R-2", "out", "L"),
        ("BOT", "in", "LIQ"),
        ("BOT-2", "in", "LIQ-2"),
    ):
        put("typed.movements", run=run, direction=direction, lot=lot, part="spirit")

    assert inputs("movements of the run", run="R-1") == ["spirit lot L into R-1"]
    assert inputs("movements of the run", batch="B-1") == ["spirit lot LIQ into BOT"]
    assert inputs("movements of the lot", lot="L") == ["spirit lot L into R-1", "spirit lot L out of R-2"]


def test_results_are_those_of_the_lot_or_of_the_liquid_bottled(put, bottled, inputs):
    """Of a batch its own and those of the liquid that it was bottled from, no further back; of the analyte where one of
    them is of it, else all."""
    for lot, analyte, below_limit in (
        ("LIQ", "dry_extract", True), ("B-1", "strength", False), ("LIQ-DEEP", "methanol", False),
        ("LIQ-2", "strength", False),
    ):  # fmt: skip
        put("typed.laboratory", sample="S", lot=lot, analyte=analyte, value=40.0, unit="g/L", below_limit=below_limit)

    both = ["dry extract of lot LIQ: <40 g/L", "strength of lot B-1: 40 g/L"]
    assert inputs("laboratory", batch="B-1") == both
    assert inputs("laboratory", lot="LIQ-DEEP") == ["methanol of lot LIQ-DEEP: 40 g/L"]
    assert inputs("laboratory", batch="B-1", analyte="strength") == both[1:]
    assert inputs("laboratory", batch="B-1", analyte="furfural") == both


def test_deliveries_are_those_of_the_lot_of_the_charge_or_behind_the_batch(put, bottled, inputs):
    """A run's flag names what was charged into it; what a run made is no delivery of it; packaging and water are of no
    matter behind a batch."""
    for lot, kind, origin in (
        ("A", "malt", "received"), ("Z", "malt", "opening"), ("OUT", "malt", "received"), ("LIQ", "spirit", "received"),
        ("LIQ-DEEP", "water", "received"), ("LIQ-2", "spirit", "received"),
    ):  # fmt: skip
        put("derived.openings", lot=lot, kind=kind, material="M", origin=origin)
    for direction, lot in (("in", "Z"), ("out", "OUT")):
        put("typed.movements", run="R-1", direction=direction, lot=lot, part="grain")

    assert inputs("intake", lot="A") == ["M lot A"]
    assert inputs("intake", run="R-1") == ["M lot Z (opening inventory)"]
    assert inputs("materials behind the batch", batch="B-1") == ["M lot LIQ"]


@pytest.mark.parametrize(
    ("table", "row"),
    [
        ("derived.cask_events", {"cask": "C1", "event": "filled", "contents": "C1/1", "happened_at": "2031-01-01"}),
        ("derived.cask_losses", {"cask": "C1", "contents": "C1/1"}),
        ("derived.cask_stock", {"cask": "C1", "contents": "C1/1"}),
    ],
)
def test_a_filling_is_told_by_its_cask(put, inputs, table, row):
    """By the register's line and all that befell the cask, the day on the house's clock: midnight in UTC is the day
    before in Denver. So is a count of that cask; another cask is of no matter."""
    put(table, **row)
    put(table, **row | {"cask": "C2", "contents": "C2/1"})
    for cask in ("C1", "C2"):
        put("typed.casks", cask=cask)
        put("typed.cask_events", cask=cask, event="filled", happened_at="2031-01-01")
        put("typed.inventory", container="cask", vessel=cask, counted_at="2031-02-01")

    assert inputs("casks", "cask events", lot="C1/1") == ["cask C1", "filled cask C1 on 2030-12-31"]
    assert inputs("counts", lot="C1/1") == ["count of 2031-01-31"]
    assert inputs("casks", "cask events", "counts", lot="ELSE") == []


def test_casks_behind_a_batch_are_told_by_what_went_in_and_out(put, bottled, inputs):
    """What was filled, drawn or emptied of an ancestor; that a cask was moved is of no matter."""
    for event, contents in (("filled", "LIQ"), ("emptied", "LIQ"), ("moved", "LIQ"), ("filled", "LIQ-2")):
        put("derived.cask_events", cask="C", event=event, contents=contents, happened_at="2031-01-02", source_id=1,
            line=1)  # fmt: skip

    assert inputs("casks behind the batch", batch="B-1") == [
        "emptied cask C on 2031-01-01",
        "filled cask C on 2031-01-01",
    ]


def test_what_a_house_writes_down_of_a_lot(put, inputs):
    """Bottling, fills, panel, dips, removals and counts of the lot, and checks of the instrument; of no other."""
    for lot, day in (("A", 3), ("B", 13)):
        put("typed.bottling", lot=lot, run="R", product="GIN", bottled_at="2031-01-01", nominal_ml=700,
            label_strength_pct_vol=40, bottles_filled=9, bottles_rejected=0)  # fmt: skip
        put("typed.fills", lot=lot, sample_no=3, net_content_ml=701.5)
        put("typed.panel", session=f"P-{lot}", lot=lot, reference_lot="R", test="triangle", assessors=3,
            correct_answers=1)  # fmt: skip
        put("typed.stock", vessel=f"T-{lot}", lot=lot, gauged_at="2031-01-02", volume_at_t_l=9.0)
        put("typed.inventory", container="cased goods", lot=lot, counted_at=f"2031-01-{day:02}", pieces=9)
        put(
            "typed.calibrations",
            instrument=lot,
            checked_at=f"2031-01-{day + 1:02}",
            reference_value=1,
            reading=1,
            unit="g/L",
        )
        put("derived.removals", kind="dispatched", lot=lot, removed_at="2031-01-05", document=f"D-{lot}", source_id=1,
            line=1)  # fmt: skip

    assert inputs("bottling", "fills", batch="A") == ["bottling of A", "fill 3: 701.5 mL"]
    assert inputs("bottling of the lot", "panel", "stock", "counts", "removals", lot="A") == [
        "bottling of A", "count of 2031-01-02", "dip of T-A on 2031-01-01", "dispatched on 2031-01-04 by D-A",
        "session P-A",
    ]  # fmt: skip
    assert inputs("calibrations", equipment="A") == ["check of A on 2031-01-03"]


def test_each_record_is_placed_in_its_own_file(book, put, inputs):
    """File, sheet and line; of two files each record names its own, and a record whose file nobody kept has none."""
    for file_id, sheet in ((1, None), (2, "Log")):
        put("received.files", file_id=file_id, sha256=str(file_id), name=f"f{file_id}", origin="o", size_bytes=1,
            map="m", map_sha256="m", received_at="2031-01-01", received_by="x", times_read=1)  # fmt: skip
        put("landed.sources", source_id=10 * file_id, file_id=file_id, sheet=sheet, header_line=1, header=["a"])
    for number, source_id in ((1, 10), (2, 20), (3, 30)):
        put("typed.fills", lot="B", sample_no=number, net_content_ml=700, source_id=source_id, line=number)
    sql = (explanation.HERE / "inputs.sql").read_text(encoding="utf-8")

    rows = book.frame(sql, ASKED | {"batch": "B", "kinds": ["fills"]}).select("place", "line").rows()

    assert sorted(rows, key=lambda row: row[1]) == [("f1:1", 1), ("f2, sheet Log:2", 2), (None, 3)]
