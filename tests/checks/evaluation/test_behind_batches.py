"""What the book says of casks, bought spirit, still runs and water behind batches; on rows put in by hand."""

from datetime import date
from pathlib import Path

import pytest

from gaugebook.checks.evaluation import claims

HERE = Path(claims.__file__).parent


@pytest.fixture
def rows_of(book):
    """Rows of a query: rows_of("watered"); the house keeps the time of Tokyo, nine hours ahead."""
    book.execute("SET VARIABLE house_zone = 'Asia/Tokyo'")
    return lambda name: book.frame((HERE / f"{name}.sql").read_text(encoding="utf-8")).to_dicts()


def put_lineage(put, *ways, batch="B"):
    for run, stage, lot, into in ways:
        put("derived.lineage", batch=batch, run=run, stage=stage, lot=lot, into_lot=into)


def test_spirit_that_was_bought_and_that_stood_there(put, rows_of):
    """Each once, in order; neutral spirit and grain are neither, nor is what another batch was made of."""
    put_lineage(put, ("R", "blend", "L2", "B"), ("R", "blend", "L1", "B"), ("R", "blend", "L3", "B"))
    put_lineage(put, ("Q", "blend", "L4", "C"), batch="C")
    put("derived.bottlings", batch="D")
    for lot, origin, kind, carries in (
        ("L1", "received", "spirit", True), ("L2", "received", "spirit", True), ("L2", "received", "spirit", True),
        ("L3", "received", "neutral spirit", True), ("L4", "opening", "spirit", True),
        ("L4", "opening", "spirit", True), ("L4", "opening", "grain", False), ("L9", "opening", "spirit", True),
    ):  # fmt: skip
        put("derived.openings", lot=lot, origin=origin, kind=kind, carries_alcohol=carries)

    assert {row["batch"]: (row["bought"], row["opened"]) for row in rows_of("came_behind")} == {
        "B": (["L1", "L2"], None), "C": (None, ["L4"]), "D": (None, None),
    }  # fmt: skip


def test_fillings_behind_a_batch(put, rows_of):
    """C1 was filled twice of one lot, the stronger at 63 % vol; of one topped by nobody knows what nothing is told. C9
    stood there, gauged on the day from which it ages; C8 was gauged later."""
    for cask, contents, number in (("C1", "C1/1", 1), ("C1", "C1/1", 1), ("C2", "C2/3", 3)):
        put(
            "derived.cask_events",
            cask=cask,
            contents=contents,
            filling=number,
            event="filled",
            happened_at="2024-01-01",
        )
    put("typed.casks", cask="C1", wood="oak", treatment="charred", former_contents="new", nominal_l=200.0)
    put_lineage(put, *(("D", "dump", lot, "B") for lot in ("C1/1", "C2/3", "C9/1", "C8/1", "VAT")))
    for lot, direction, strength, u in (
        ("C1/1", "out", 62.0, 0.2), ("C1/1", "out", 63.0, 0.1), ("C1/1", "in", 70.0, 0.3),
        ("C2/3", "out", 62.0, 0.2), ("C2/3", "out", None, None),
    ):  # fmt: skip
        put("derived.gauges", lot=lot, direction=direction, strength_pct_vol=strength, u_strength_pct_vol=u)
    for line, cask, aged_from in ((5, "C9", "2024-01-01"), (6, "C8", "2020-01-01")):
        put("derived.openings", lot=f"{cask}/1", vessel=cask, origin="opening", strength_pct_vol=60.0,
            u_strength_pct_vol=0.4, source_id=1, line=line)  # fmt: skip
        put("typed.opening_stock", lot=cask, material="x", kind="spirit", counted_at="2024-01-01", aged_from=aged_from,
            line=line)  # fmt: skip
    put("derived.openings", lot="C9/1", vessel="C9", origin="received", strength_pct_vol=99.0, source_id=1, line=5)

    behind = rows_of("casks_behind")
    assert len(behind) == 4
    rows = {row.pop("contents"): row for row in behind}

    assert rows["C1/1"] == {
        "batch": "B", "filling": 1, "wood": "oak", "treatment": "charred", "former_contents": "new", "nominal_l": 200.0,
        "entry_pct_vol": 63.0, "u_entry_pct_vol": 0.1, "took_new_spirit": True,
    }  # fmt: skip
    assert list(rows) == ["C1/1", "C2/3", "C8/1", "C9/1"]
    assert (rows["C2/3"]["filling"], rows["C2/3"]["entry_pct_vol"], rows["C2/3"]["wood"]) == (3, None, None)
    assert (rows["C9/1"]["filling"], rows["C9/1"]["entry_pct_vol"], rows["C9/1"]["u_entry_pct_vol"]) == (1, 60.0, 0.4)
    assert rows["C8/1"]["entry_pct_vol"] is None


def test_still_runs_by_the_calendar_of_the_house(put, rows_of):
    """The day on which they ended, or began where they go on; what was no distillation is none."""
    put_lineage(put, *((run, "x", "A", "B") for run in ("S", "R", "Q")))
    for run, stage, ended in (("S", "strip", "2024-02-01 20:00"), ("R", "rectify", None), ("Q", "reduce", None)):
        put("typed.runs", run=run, stage=stage, equipment="E", started_at="2024-01-31 20:00", ended_at=ended)

    assert [(row["run"], row["on_day"]) for row in rows_of("distilled_behind")] == [
        ("R", date(2024, 2, 1)), ("S", date(2024, 2, 2)),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("stage", "part", "direction", "is_watered"),
    [
        ("reduce", "water", "in", True), ("dump", "water", "in", True), ("reduce", "spirit", "in", False),
        ("reduce", "water", "out", False), ("mash", "water", "in", False), ("ferment", "water", "in", False),
        ("strip", "water", "in", False), ("rectify", "water", "in", False), ("fill", "water", "in", False),
    ],
)  # fmt: skip
def test_water_after_the_cask(put, rows_of, stage, part, direction, is_watered):
    """What mash, still and filling took stood before it."""
    put_lineage(put, ("R", stage, "A", "B"), ("R", stage, "C", "B"))
    for lot in ("W1", "W2"):
        put("derived.gauges", run="R", lot=lot, direction=direction, part=part)
    put("derived.gauges", run="OTHER", lot="W", direction="in", part="water")

    assert [row["batch"] for row in rows_of("watered")] == (["B"] if is_watered else [])
