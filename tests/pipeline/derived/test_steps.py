"""The graph of genealogy: what is shared out by what, on runs of round numbers."""

import pytest


def _gauge(put, run, stage, direction, lot, part, **quantity):
    put("derived.gauges", run=run, stage=stage, direction=direction, lot=lot, part=part, **quantity)


def _steps(put, made_by, basis):
    for lot, what in basis.items():
        put("derived.lots", lot=lot, basis=what)
    return {(row["lot"], row["into_lot"]): row for row in made_by("steps")}


def test_a_mash_is_shared_out_by_mass_of_grain(put, made_by):
    """300 kg and 100 kg of 1000 L of wort; water and what else went in carry none of it."""
    _gauge(put, "M", "mash", "in", "BARLEY", "grain", mass_kg=300.0)
    _gauge(put, "M", "mash", "in", "PLUM", "fruit", mass_kg=100.0)
    _gauge(put, "M", "mash", "in", "WATER", "water", mass_kg=1200.0, volume_l=1203.0)
    _gauge(put, "M", "mash", "out", "WORT", "wort", volume_l=1000.0, alcohol_l=0.0)
    _gauge(put, "M", "mash", "out", "DRAFF", "grain", volume_l=600.0)

    steps = _steps(put, made_by, {"BARLEY": "kg", "PLUM": "kg", "WATER": "L"})

    assert steps["BARLEY", "WORT"]["share"] == pytest.approx(0.75)
    assert steps["PLUM", "WORT"]["share"] == pytest.approx(0.25)
    assert steps["WATER", "WORT"]["share"] is None
    # of 1000 L of wort alone: 300 kg / 1000 L; what is spent was of no use
    assert steps["BARLEY", "WORT"]["per_unit"] == pytest.approx(0.3)
    assert steps["WATER", "WORT"]["per_unit"] == pytest.approx(1.203)
    assert (steps["WATER", "WORT"]["quantity"], steps["WATER", "WORT"]["basis"]) == (1203.0, "L")


def test_a_ferment_is_shared_out_by_volume_of_wort(put, made_by):
    """800 L and 200 L; yeast carries none."""
    _gauge(put, "F", "ferment", "in", "W-1", "wort", volume_l=800.0, mass_kg=850.0)
    _gauge(put, "F", "ferment", "in", "W-2", "wort", volume_l=200.0, mass_kg=850.0)
    _gauge(put, "F", "ferment", "in", "YEAST", "yeast", volume_l=1000.0, mass_kg=2.0)
    _gauge(put, "F", "ferment", "out", "WASH", "wash", volume_l=990.0, alcohol_l=80.0)

    steps = _steps(put, made_by, {"W-1": "L", "W-2": "L", "YEAST": "kg"})

    assert steps["W-1", "WASH"]["share"] == pytest.approx(0.8)
    assert steps["W-2", "WASH"]["share"] == pytest.approx(0.2)
    assert steps["YEAST", "WASH"]["share"] is None
    assert steps["YEAST", "WASH"]["per_unit"] == pytest.approx(2.0 / 80.0)
    assert steps["YEAST", "WASH"]["stage"] == "ferment"


def test_a_distillation_is_shared_out_by_alcohol(put, made_by):
    """60 and 40 LPA; of heads nothing is of use until a later run draws them, and spent liquor never."""
    _gauge(put, "D", "botanical", "in", "S-1", "spirit", alcohol_l=60.0, volume_l=10.0)
    _gauge(put, "D", "botanical", "in", "S-2", "spirit", alcohol_l=40.0, volume_l=90.0)
    _gauge(put, "D", "botanical", "in", "JUNIPER", "botanical", mass_kg=3.0, alcohol_l=0.0)
    _gauge(put, "D", "botanical", "out", "HEARTS", "hearts", alcohol_l=75.0)
    _gauge(put, "D", "botanical", "out", "TAILS", "tails", alcohol_l=15.0)
    _gauge(put, "D", "botanical", "out", "HEADS", "heads", alcohol_l=5.0)
    _gauge(put, "LATER", "botanical", "in", "TAILS", "tails", alcohol_l=15.0)

    steps = _steps(put, made_by, {"S-1": "LPA", "S-2": "LPA", "JUNIPER": "kg", "TAILS": "LPA"})

    assert {into for _, into in steps} == {"HEARTS", "TAILS", "HEADS"}
    assert steps["S-1", "HEARTS"]["share"] == steps["S-1", "TAILS"]["share"] == pytest.approx(0.6)
    assert steps["JUNIPER", "HEARTS"]["share"] is None
    assert steps["S-1", "HEARTS"]["per_unit"] == pytest.approx(60.0 / 90.0)  # hearts 75 and the tails 15
    assert steps["JUNIPER", "HEARTS"]["per_unit"] == pytest.approx(3.0 / 90.0)


def test_a_lot_of_two_runs_is_shared_out_by_what_each_gave(put, made_by):
    """30 LPA by one and 70 LPA by the other; drawn by each run in two parts."""
    for run, gave in (("D-1", 30.0), ("D-2", 70.0)):
        _gauge(put, run, "strip", "in", f"WASH of {run}", "wash", alcohol_l=40.0)
        _gauge(put, run, "strip", "in", f"WASH of {run}", "wash", alcohol_l=60.0)
        _gauge(put, run, "strip", "out", "SPIRIT", "hearts", alcohol_l=gave)

    steps = _steps(put, made_by, {"WASH of D-1": "LPA", "WASH of D-2": "LPA"})

    first, second = steps["WASH of D-1", "SPIRIT"], steps["WASH of D-2", "SPIRIT"]
    assert (first["share"], second["share"]) == (pytest.approx(0.3), pytest.approx(0.7))
    assert (first["quantity"], second["quantity"]) == (100.0, 100.0)
    # 100 drawn for 30 made, of which the lot is 0.3: 100 / 30 x 0.3 = 1; and 100 / 70 x 0.7 = 1
    assert (first["per_unit"], second["per_unit"]) == (pytest.approx(1.0), pytest.approx(1.0))


def test_what_a_run_gave_in_two_parts_is_added_up(put, made_by):
    """10 and 20 LPA by one run are 30 of 100, beside 70 LPA by another."""
    for run, gave in (("D-1", 10.0), ("D-1", 20.0), ("D-2", 70.0)):
        _gauge(put, run, "strip", "out", "SPIRIT", "hearts", alcohol_l=gave)
    for run in ("D-1", "D-2"):
        _gauge(put, run, "strip", "in", f"WASH of {run}", "wash", alcohol_l=100.0)

    steps = _steps(put, made_by, {"WASH of D-1": "LPA", "WASH of D-2": "LPA"})

    assert steps["WASH of D-1", "SPIRIT"]["share"] == pytest.approx(0.3)
    assert steps["WASH of D-1", "SPIRIT"]["per_unit"] == pytest.approx(1.0)  # 100 for 30, of which the lot is 0.3


def test_of_a_lot_that_one_run_made_all_is_its_own_even_where_it_was_not_gauged(put, made_by):
    """The share needs no quantity of what was made."""
    _gauge(put, "D", "strip", "in", "WASH", "wash", alcohol_l=100.0)
    _gauge(put, "D", "strip", "out", "SPIRIT", "hearts", alcohol_l=None)

    (step,) = _steps(put, made_by, {"WASH": "LPA"}).values()

    assert step["share"] == pytest.approx(1.0)
    assert step["per_unit"] is None


def test_a_run_that_drew_nothing_known_shares_nothing_out(put, made_by):
    """Alcohol of nought in all: no share, and no division by it."""
    _gauge(put, "D", "strip", "in", "WASH", "wash", alcohol_l=0.0)
    _gauge(put, "D", "strip", "out", "SPIRIT", "hearts", alcohol_l=0.0)

    (step,) = _steps(put, made_by, {}).values()

    assert (step["share"], step["per_unit"]) == (None, None)


@pytest.mark.parametrize(("opened", "share"), [(90.0, 0.1), (None, None)])
def test_what_stood_there_is_its_own_part_of_a_lot(put, made_by, opened, share):
    """A cask of 90 LPA from before the book, topped with 10: a tenth of it is the topping; where it was not gauged when
    the book was begun, nobody knows which part."""
    put("derived.openings", lot="C1/1", origin="opening", carries_alcohol=True, alcohol_l=opened)
    _gauge(put, "FILL", "fill", "in", "NEW", "spirit", alcohol_l=10.0, volume_l=16.0)
    _gauge(put, "FILL", "fill", "out", "C1/1", "spirit", alcohol_l=10.0, volume_l=16.0)

    step = _steps(put, made_by, {"NEW": "LPA"})["NEW", "C1/1"]

    assert step["share"] == (share if share is None else pytest.approx(share))
    assert step["per_unit"] == (share if share is None else pytest.approx(share))
