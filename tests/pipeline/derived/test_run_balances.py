"""Balances of runs, on gauges put in by hand."""

import pytest

IN, OUT = "in", "out"


def _run(put, gauges, stage="rectify", **uncertainty):
    put("typed.runs", run="R", stage=stage, equipment="E", started_at="2031-01-01")
    for line, (direction, part, lot, alcohol_l, volume_l) in enumerate(gauges, start=1):
        place = {"run": "R", "direction": direction, "part": part, "lot": lot, "line": line, "source_id": 1}
        put("typed.movements", **place, volume_at_t_l=1000.0 + line)
        missing = "no strength" if alcohol_l is None and part != "botanical" else None
        put("derived.gauges", **place, alcohol_l=alcohol_l, volume_l=volume_l, not_computed=missing)
    if uncertainty:
        put("derived.run_uncertainties", run="R", **uncertainty)


WHOLE = [
    (IN, "wash", "W-1", 60.0, 100.0),
    (IN, "feints", "T-0", 40.0, 50.0),
    (IN, "botanical", "JUNIPER", None, 7.0),
    (OUT, "foreshots", "F-1", 1.0, 1.25),
    (OUT, "heads", "H-1", 4.0, 5.0),
    (OUT, "hearts", "S-1", 60.0, 75.0),
    (OUT, "spirit", "S-2", 10.0, 25.0),
    (OUT, "tails", "T-1", 12.0, 20.0),
    (OUT, "feints", "T-2", 6.0, 10.0),
    (OUT, "spent", "P-1", 1.5, 30.0),
    (OUT, "spent", "P-2", 0.5, 30.0),
]


def test_each_part_is_added_up_and_the_balance_drawn(put, made_by):
    """100 LPA in and 95 out; uncertainties stand as they were worked out for the run."""
    u = {
        "u_alcohol_in_l": 0.5, "u_alcohol_out_l": 0.4, "u_hearts_l": 0.3, "u_loss_l": 0.6, "u_recovery": 0.01,
        "u_closure": 0.02,
    }  # fmt: skip
    _run(put, WHOLE, **u)

    (row,) = made_by("run_balances")

    assert (row["alcohol_in_l"], row["alcohol_out_l"], row["loss_l"]) == (100.0, 95.0, 5.0)
    assert (row["heads_l"], row["hearts_l"], row["tails_l"], row["spent_l"]) == (5.0, 70.0, 18.0, 2.0)
    assert (row["recovery"], row["closure"]) == (pytest.approx(0.70), pytest.approx(0.95))
    # botanicals fill no still; out: 1.25 + 5 + 75 + 25 + 20 + 10 + 60
    assert (row["volume_in_l"], row["volume_out_l"]) == (150.0, 196.25)
    assert row["hearts_strength_pct_vol"] == pytest.approx(70.0)  # 70 LPA in 100 L
    assert (row["parts_not_computed"], row["missing_gauges"]) == (0, None)
    assert {name: row[name] for name in u} == u


def test_bottles_are_hearts_as_well(put, made_by):
    """A run that fills bottles of 39 LPA, 97.5 L, and leaves 1 LPA of liquid in 2.5 L: 40 % vol."""
    _run(put, [(IN, "liquid", "L", 41.0, 102.5), (OUT, "bottles", "B", 39.0, 97.5), (OUT, "liquid", "R", 1.0, 2.5)])

    (row,) = made_by("run_balances")

    assert (row["hearts_l"], row["hearts_strength_pct_vol"]) == (40.0, pytest.approx(40.0))


KEPT = {
    # the gauge that is missing -> what cannot be told without it, besides loss and closure
    "W-1": {"alcohol_in_l", "u_alcohol_in_l", "recovery", "u_recovery"},
    "F-1": {"heads_l"},
    "S-1": {"hearts_l", "u_hearts_l", "hearts_strength_pct_vol", "recovery", "u_recovery"},
    "T-1": {"tails_l"},
    "P-1": {"spent_l"},
}


@pytest.mark.parametrize("lot", KEPT)
def test_one_missing_gauge_leaves_what_does_not_need_it(put, made_by, lot):
    """Loss and closure need every gauge, the rest its own."""
    _run(
        put, [(*row[:3], None if row[2] == lot else row[3], row[4]) for row in WHOLE], u_alcohol_in_l=1.0,
        u_alcohol_out_l=1.0, u_hearts_l=1.0, u_loss_l=1.0, u_recovery=1.0, u_closure=1.0,
    )  # fmt: skip

    (row,) = made_by("run_balances")

    missing = {name for name, value in row.items() if value is None} - {"product", "ended_at"}
    assert missing == KEPT[lot] | {"loss_l", "u_loss_l", "closure", "u_closure"}
    part = next(part for _, part, name, *_ in WHOLE if name == lot)
    assert (row["parts_not_computed"], row["missing_gauges"]) == (1, f"{part} {lot}")


def test_a_charge_without_strength_still_fills_the_still(put, made_by):
    """Its volume is the one that was read (1001 L in the first line); of what came out only a known one counts."""
    _run(put, [(IN, "wash", "W", None, None), (IN, "tails", "T", 5.0, 10.0), (OUT, "hearts", "S", None, None)])

    (row,) = made_by("run_balances")

    assert (row["volume_in_l"], row["volume_out_l"]) == (1011.0, None)


def test_a_run_without_alcohol_has_no_ratio(put, made_by):
    """Nought in: no recovery and no closure, and no division by it; mashes and ferments have no balance at all."""
    _run(put, [(IN, "wash", "W", 0.0, 10.0), (OUT, "hearts", "S", 0.0, 0.0)], u_recovery=1.0, u_closure=1.0)

    (row,) = made_by("run_balances")

    assert (row["recovery"], row["u_recovery"], row["closure"], row["hearts_strength_pct_vol"]) == (None,) * 4
    assert row["loss_l"] == 0.0


@pytest.mark.parametrize("stage", ["mash", "ferment"])
def test_before_there_is_spirit_there_is_no_balance(put, made_by, stage):
    """Mash and ferment have yields."""
    _run(put, [(IN, "wort", "W", 0.0, 10.0), (OUT, "wash", "S", 1.0, 10.0)], stage=stage)

    assert made_by("run_balances") == []


def test_a_run_that_only_drew_has_lost_nothing_yet(put, made_by):
    """Nothing gauged out: no loss, and no uncertainty of one."""
    _run(put, [(IN, "wash", "W", 10.0, 100.0)], u_alcohol_in_l=0.1, u_alcohol_out_l=0.0, u_loss_l=0.1, u_hearts_l=0.0)

    (row,) = made_by("run_balances")

    assert (row["u_alcohol_in_l"], row["u_alcohol_out_l"], row["u_hearts_l"]) == (0.1, None, None)
    assert (row["loss_l"], row["u_loss_l"]) == (None, None)
