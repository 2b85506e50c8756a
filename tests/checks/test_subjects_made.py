"""The frames over what was made: runs, ferments, lots, recipes, filters, strengths; rows by hand, all made up."""

import pytest


def columns(row, names):
    """The values of these columns of a row, in their order."""
    return tuple(row[name] for name in names.split())


def test_a_run_has_its_hours_balance_and_gauges(put, frames, row_of):
    """From 06:00 to 13:30 is 7.5 h; two movements in, one out; with a gauge missing u is at most 2 + 3 (common
    practice: the others may be off by both at once)."""
    put("typed.runs", run="STR-1", stage="strip", equipment="S1", operator="AQ", started_at="2031-01-01 06:00",
        ended_at="2031-01-01 13:30", product="VODKA")  # fmt: skip
    put("typed.runs", run="STR-2", stage="strip", equipment="S1", started_at="2031-01-02 06:00")
    put("derived.run_balances", run="STR-1", alcohol_in_l=100.0, u_alcohol_in_l=2.0, alcohol_out_l=90.0,
        u_alcohol_out_l=3.0, loss_l=10.0, missing_gauges="SPN")  # fmt: skip
    put("derived.run_balances", run="STR-2", u_alcohol_in_l=2.0, u_alcohol_out_l=3.0, u_loss_l=3.5)
    for run, direction in (("STR-1", "in"), ("STR-1", "in"), ("STR-1", "out"), ("STR-2", "out")):
        put("typed.movements", run=run, direction=direction, lot="L", part="wash")
    for tag, points in (("pot_temperature_c", 1), ("vapour_temperature_c", 0)):
        put("derived.log_summaries", run="STR-1", equipment="S1", tag=tag, points=points)

    first, second = (row_of(frames()["runs"], run=run) for run in ("STR-1", "STR-2"))

    assert columns(first, "hours gauged_in gauged_out logged_tags") == (7.5, 2, 1, 1)
    assert columns(first, "operator_in_profile capacity_l log_interval_s") == ("AQ", 2800.0, 60.0)
    assert columns(first, "loss_l u_loss_l note cuts_outside_min") == (10.0, 5.0, "not gauged: SPN", 0.0)
    assert columns(second, "hours gauged_in gauged_out u_loss_l note") == (None, None, 1, 3.5, None)


def test_an_overlap_goes_by_whoever_was_last_to_end(put, frames):
    """The second run ends at 09:00, the first not before 12:00: the third, from 11:00, overlaps the first by 1 h. A run
    that has not ended overlaps nothing."""
    for run, start, end in [
        ("A", "06:00", "12:00"), ("B", "08:00", "09:00"), ("C", "11:00", None), ("D", "12:30", "13:00"),
    ]:  # fmt: skip
        put("typed.runs", run=run, stage="strip", equipment="S1", started_at=f"2031-01-01 {start}",
            ended_at=end and f"2031-01-01 {end}")  # fmt: skip

    rows = frames()["still_runs"].select("run", "overlap_min", "note").rows()

    assert rows == [("A", 0.0, None), ("B", 240.0, "with run A"), ("C", 60.0, "with run A"), ("D", 0.0, "with run A")]


def test_a_ferment_stands_against_its_certificates(put, frames, row_of):
    """u of the ratio 8 / 400 = 0.02; u of the efficiency 0.9 x 5 / 150 = 0.03; nothing by nothing is unknown."""
    put("typed.runs", run="FER-1", stage="ferment", equipment="F1", started_at="2031-01-01", line=4)
    put("typed.runs", run="FER-2", stage="ferment", equipment="F1", started_at="2031-01-05")
    put("derived.ferment_yields", run="FER-1", equipment="F1", yield_ratio=0.98, u_yield_l_per_t=8.0,
        predicted_yield_l_per_t=400.0, fermentation_efficiency=0.9, alcohol_l=150.0, u_alcohol_l=5.0,
        wash_strength_pct_vol=8.5, malt_lots=["MALT-1", "MALT-2"])  # fmt: skip
    put("derived.ferment_yields", run="FER-2", equipment="F1", u_yield_l_per_t=8.0, predicted_yield_l_per_t=0.0,
        fermentation_efficiency=0.9, alcohol_l=0.0, u_alcohol_l=5.0)  # fmt: skip

    first, second = (row_of(frames()["ferments"], run=run) for run in ("FER-1", "FER-2"))

    assert columns(first, "u_yield_ratio u_fermentation_efficiency") == pytest.approx((0.02, 0.03))
    assert columns(first, "yield_ratio wash_strength_pct_vol note line") == (0.98, 8.5, "lots MALT-1, MALT-2", 4)
    assert columns(second, "u_yield_ratio u_fermentation_efficiency") == (None, None)


def test_a_filter_is_judged_by_what_carried_alcohol(put, frames, row_of):
    """Two lots of 40 and 44 in are 42 in the middle, 41 came out; water says nothing, a run that goes on has no row."""
    for run, stage, end in [
        ("FIL-1", "filter", "2031-01-02"),
        ("FIL-2", "filter", None),
        ("RED-1", "reduce", "2031-01-02"),
    ]:
        put("typed.runs", run=run, stage=stage, equipment="FT1", started_at="2031-01-01", ended_at=end)
    put("derived.run_balances", run="FIL-1", stage="filter", alcohol_in_l=0.0, loss_l=1.0, u_loss_l=1.0)
    for direction, strength, alcohol_l in (
        ("in", 40.0, 10.0),
        ("in", 44.0, 90.0),
        ("in", 0.0, 0.0),
        ("out", 41.0, 99.0),
    ):
        put("derived.gauges", run="FIL-1", direction=direction, lot="L", part="liquid", stage="filter",
            alcohol_l=alcohol_l, strength_pct_vol=strength, u_strength_pct_vol=0.1)  # fmt: skip
    put("derived.gauges", run="FIL-1", direction="in", lot="L", part="liquid", stage="reduce", alcohol_l=9.0,
        strength_pct_vol=90.0, u_strength_pct_vol=9.0)  # fmt: skip

    filtrations = frames()["filtrations"]

    assert filtrations["run"].to_list() == ["FIL-1"]
    row = row_of(filtrations, run="FIL-1")
    assert (row["change_pct_vol"], row["u_change_pct_vol"]) == pytest.approx((-1.0, 0.1 * 3**0.5))
    assert columns(row, "loss u_loss") == (None, None)  # nothing went in, of which nothing is a share


def test_a_filter_that_nobody_gauged_still_has_its_row(put, frames, row_of):
    """With neither balance nor gauges nothing is known of it, and its rules can say so."""
    put("typed.runs", run="FIL-1", stage="filter", equipment="FT1", started_at="2031-01-01", ended_at="2031-01-02")

    row = row_of(frames()["filtrations"], run="FIL-1")

    assert columns(row, "loss u_loss change_pct_vol u_change_pct_vol") == (None,) * 4


@pytest.mark.parametrize(
    ("lot", "expected"),
    [
        # origin, basis, drawn, overdraw, not gauged, drawn by runs -> is_counted, has_opening, quantity_out, most_drawn
        (("received", "kg", 120.0, 20.0, 0, 2), ("yes", "yes", 120.0, 100.0)),
        (("received", "kg", 120.0, 0.0, 1, 2), ("yes", "yes", None, 120.0)),
        (("received", "kg", 120.0, 20.0, 1, 2), ("yes", "yes", 120.0, 100.0)),
        (("received", "kg", 120.0, 0.0, None, 2), ("yes", "yes", 120.0, 120.0)),
        (("received", "pieces", 50.0, 0.0, 1, 1), (None, "yes", None, 50.0)),
        (("received", "pieces", 50.0, 0.0, 0, 1), ("yes", "yes", 50.0, 50.0)),
        (("received", "pieces", 50.0, 0.0, None, 1), ("yes", "yes", 50.0, 50.0)),
        (("unknown", "LPA", 50.0, 0.0, 0, 1), ("yes", None, 50.0, 50.0)),
        (("produced", "LPA", 50.0, 0.0, 0, 0), ("yes", None, 50.0, 50.0)),
        (("produced", "LPA", 50.0, 0.0, 0, 1), ("yes", "yes", 50.0, 50.0)),
        (("produced", "kg", 50.0, 0.0, 0, 1), ("yes", None, 50.0, 50.0)),
    ],
)  # fmt: skip
def test_what_is_judged_of_a_lot(put, frames, row_of, lot, expected):
    """Pieces only where all draws were counted; an opening only where there is one; a sum with a draw missing is no
    sum, but what is too much already stays too much."""
    names = ("origin", "basis", "quantity_out", "overdraw", "draws_not_gauged", "drawn_by_runs")
    put("derived.lots", lot="L", **dict(zip(names, lot, strict=True)))

    row = row_of(frames()["lots"], lot="L")

    assert columns(row, "is_counted has_opening quantity_out most_drawn") == expected
    missing = ", draws not gauged: 1" if lot[4] else ""
    assert row["note"] == f"counted in {lot[1]}{missing}"


def test_an_ingredient_is_measured_where_its_recipe_has_a_quantity(put, frames, row_of):
    """What is asked and was not charged is 0 of it; what has no quantity in the recipe is any; grams per litre of
    alcohol in a botanical run are looked at by another subject."""
    put("typed.runs", run="MSH-1", stage="mash", equipment="MT1", started_at="2031-01-01", line=8)
    put("derived.gauges", run="MSH-1", direction="in", lot="R-1", part="grain", source_id=5, line=23)
    put("derived.gauges", run="MSH-1", direction="in", lot="R-2", part="grain", source_id=5, line=12)
    put("derived.gauges", run="MSH-1", direction="out", lot="R-1", part="grain", source_id=5, line=1)
    bill = {"run": "MSH-1", "stage": "mash", "measure": "share"}
    put("derived.recipe_bill", material="rye", lots=["R-1", "R-2"], is_charged=True, charged_quantity=0.6,
        recipe_quantity=0.75, ratio=0.8, in_recipe="rye", **bill)  # fmt: skip
    put("derived.recipe_bill", material="oats", is_charged=False, recipe_quantity=0.25, in_recipe="oats", **bill)
    put("derived.recipe_bill", material="yeast", lots=["Y-1"], is_charged=True, charged_quantity=0.01, **bill)
    put("derived.recipe_bill", run="MSH-1", stage="steep", measure="g/LPA", material="quince", lots=["Q-1"],
        is_charged=True, charged_quantity=28.0, recipe_quantity=30.0, ratio=0.9)  # fmt: skip
    put("derived.recipe_bill", run="MSH-1", stage="steep", measure="g/L", material="sugar", is_charged=True)

    rye, oats, yeast, quince, sugar = (
        row_of(frames()["bills"], material=name) for name in ("rye", "oats", "yeast", "quince", "sugar")
    )

    names = "ratio asked_quantity looked_at_in source_id line"
    assert columns(rye, names) == (0.8, "measured", "bills", 5, 12)
    assert columns(oats, names) == (0.0, "measured", "bills", 1, 8)
    assert columns(yeast, names) == (None, "any", "bills", 1, 8)
    assert columns(quince, names) == (0.9, "measured", "botanicals", 1, 8)
    assert sugar["looked_at_in"] == "bills"
    assert (rye["note"], quince["note"]) == (
        "60.0 % against 75.0, lots R-1, R-2",
        "28.00 g/LPA against 30.00, lots Q-1",
    )


def test_a_botanical_that_was_weighed_has_its_own_ratio(put, frames, row_of):
    """The ratio of the bill where something was charged, the recipe's condition beside the charge's."""
    put("typed.runs", run="BOT-1", stage="botanical", equipment="G1", recipe="gin", started_at="2031-01-01", line=8)
    put("derived.botanical_bill", run="BOT-1", stage="botanical", recipe="gin", botanical="juniper berry",
        recipe_g_per_lpa=28.0, charged_kg=2.1, charged_g_per_lpa=21.0, ratio=0.75, lots=["J-1", "J-2"])  # fmt: skip
    for lot, at, line in (("J-1", "2031-01-01 09:00", 30), ("J-2", "2031-01-01 08:00", 40)):
        put("derived.openings", lot=lot, origin="received", material="juniper berry", kind="botanical")
        put(
            "derived.gauges",
            run="BOT-1",
            direction="in",
            lot=lot,
            part="botanical",
            gauged_at=at,
            source_id=5,
            line=line,
        )
    put("derived.gauges", run="BOT-1", direction="out", lot="J-1", part="botanical", gauged_at="2031-01-01 07:00",
        source_id=5, line=1)  # fmt: skip

    row = row_of(frames()["botanicals"], botanical="juniper berry")

    assert columns(row, "ratio recipe_g_per_lpa in_recipe line") == (0.75, 28.0, "juniper berry", 40)
    assert row["note"] == "21.00 g/LPA against 28.00, lots J-1, J-2"


def test_a_botanical_that_was_forgotten_is_a_charge_of_nothing(put, frames, row_of):
    """Lemon peel is asked and nobody charged it: 0 of it. Orris is of no recipe: no ratio, and it keeps its row."""
    put("typed.runs", run="BOT-1", stage="botanical", equipment="G1", recipe="gin", started_at="2031-01-01", line=8)
    bill = {"run": "BOT-1", "stage": "botanical", "recipe": "gin"}
    put("derived.botanical_bill", botanical="lemon peel", recipe_g_per_lpa=6.0, **bill)
    put("derived.botanical_bill", botanical="orris", charged_kg=0.3, charged_g_per_lpa=3.0, lots=["O-1"], **bill)
    frame = frames()["botanicals"]

    lemon, orris = (row_of(frame, botanical=name) for name in ("lemon peel", "orris"))

    assert columns(lemon, "ratio in_recipe line") == (0.0, "lemon peel", 8)
    assert columns(orris, "ratio in_recipe note") == (None, None, "3.00 g/LPA, lots O-1")


def test_which_runs_have_a_charge(put, frames):
    """Botanical runs and steeps, runs that name a recipe, and those of a stage for which the house has one."""
    for run, stage, recipe in [
        ("BOT-1", "botanical", None), ("STE-1", "steep", "gin"), ("BLD-1", "blend", "gin"), ("STR-1", "strip", None),
    ]:  # fmt: skip
        put("typed.runs", run=run, stage=stage, recipe=recipe, equipment="G1", started_at="2031-01-01")

    rows = frames()["charges"].select("run", "recipe_in_profile").sort("run").rows()

    assert rows == [("BLD-1", None), ("BOT-1", None), ("STE-1", None)]  # "gin" is of another stage


@pytest.mark.parametrize(
    ("part", "alcohol_l", "mass_kg", "strength"),
    [
        ("water", None, 61.205, 40.0), ("spirit", None, 61.205, None), ("water", 0.0, None, None),
        ("spirit", 0.0, 61.205, 40.0), ("yeast", None, None, 94.6),
    ],
)  # fmt: skip
def test_a_charge_is_known_where_all_its_liquids_are(put, frames, row_of, part, alcohol_l, mass_kg, strength):
    """Beside 33.6 kg of spirit with 40 LPA: water needs no alcohol and spirit does, both need a mass, solids do not
    count. 94.805 kg are 100 L of 40 % vol; alone the spirit is 40 x 0.78924 / 33.6 = 93.96 % by mass, which is about
    96.2 % vol (OIML R 22)."""
    put("typed.runs", run="BOT-1", stage="botanical", equipment="G1", recipe="gin", started_at="2031-01-01")
    spirit = {"run": "BOT-1", "lot": "NS", "part": "spirit", "alcohol_l": 40.0, "mass_kg": 33.6}
    put("derived.gauges", direction="in", **spirit)
    put("derived.gauges", direction="out", **spirit)
    put("derived.gauges", run="BOT-1", direction="in", lot="B", part=part, alcohol_l=alcohol_l, mass_kg=mass_kg)

    found = row_of(frames()["charges"], run="BOT-1")["charge_strength_pct_vol"]

    assert found is None if strength is None else found == pytest.approx(strength, abs=0.01 if strength == 40 else 2.0)


def test_a_reduction_is_judged_by_the_lot_that_holds_most(put, frames, row_of):
    """Of two that came out the one of 39 LPA; what is not gauged is none; a blend or a run that goes on has no row."""
    for run, stage, end in [
        ("RED-1", "reduce", "2031-01-02"),
        ("RED-2", "reduce", None),
        ("BLD-1", "blend", "2031-01-02"),
    ]:
        put("typed.runs", run=run, stage=stage, equipment="P1", started_at="2031-01-01", ended_at=end)
    put("derived.gauges", run="RED-1", direction="in", lot="NS", part="spirit", stage="reduce", mass_kg=33.6)
    for lot, alcohol_l, strength in (("MOST", 39.0, 40.5), ("LEAST", 1.0, 40.0), ("NONE", None, 41.0)):
        put("derived.gauges", run="RED-1", direction="out", lot=lot, part="spirit", stage="reduce", alcohol_l=alcohol_l,
            strength_pct_vol=strength, u_strength_pct_vol=0.1)  # fmt: skip

    reductions = frames()["reductions"]

    assert reductions["run"].to_list() == ["RED-1"]
    row = row_of(reductions, run="RED-1")
    assert columns(row, "lot strength_pct_vol predicted_pct_vol") == ("MOST", 40.5, None)


@pytest.mark.parametrize(
    ("readings", "may_hold_from", "expected"),
    [
        ([("spirit", "true"), ("spirit", "apparent"), ("spirit", "apparent")], "sweetening", ("apparent", "added")),
        ([("spirit", "estimated"), ("spirit", "true")], "cask", ("estimated", "cask")),
        ([("spirit", "true"), ("bottles", "apparent")], "fruit", ("true", "added")),
        ([("spent", "apparent")], "grain", ("apparent", "stillage")),
        ([("spent", "apparent"), ("spirit", "true")], "grain", ("apparent", "added")),
        ([("spirit", "apparent")], None, None), ([("spirit", None)], "cask", None),
    ],
)  # fmt: skip
def test_the_worst_kind_of_strength_stands_for_a_lot(put, frames, readings, may_hold_from, expected):
    """Apparent before estimated before true, bottles aside; a lot that can hold nothing has no row."""
    put("derived.extracts", lot="L", extract_g_l=12.34, may_hold_from=may_hold_from)
    for line, (part, kind) in enumerate(readings, start=1):
        put("derived.gauges", run="R", direction="in", lot="L", part=part, strength_is=kind,
            strength_pct_vol=30.0 + line, source_id=1, line=line)  # fmt: skip

    rows = frames()["true_strengths"].select("strength_is", "holds", "line", "note").rows()

    assert [row[:2] for row in rows] == [expected] * (expected is not None)
    for kind, _, line, note in rows:
        assert line == next(at for at, (_, one) in enumerate(readings, start=1) if one == kind)
        apparent = sum(part != "bottles" and one == "apparent" for part, one in readings)
        counted = ("", ", 1 gauge apparent", ", 2 gauges apparent")[apparent]
        assert note == f"extract from {may_hold_from}, 12.3 g/L, {30 + line:.2f} % vol as booked{counted}"


def test_a_distillate_is_told_with_its_run(put, bottle, frames, row_of):
    """What goes in is asked nothing, what comes out of a run what its batches ask; solids have no row."""
    bottle("A-1", "APPLE", "PROOF-1")
    put("derived.lineage", batch="A-1", run="STR-A", lot="WSH", into_lot="PROOF", depth=2)
    for direction, part, lot in (("in", "wash", "W"), ("out", "hearts", "H"), ("in", "grain", "G")):
        put("derived.gauges", run="STR-A", direction=direction, lot=lot, part=part)

    gauges = frames()["gauges"].filter(run="STR-A")

    assert dict(gauges.select("record", "distilled_below_pct_vol").rows()) == {
        "wash lot W into run STR-A": None, "hearts lot H out of run STR-A": 86.0,
    }  # fmt: skip


def test_what_a_batch_asks_of_a_distillate_is_asked_of_its_runs_alone(put, bottle, frames):
    """The run of another batch, a vodka, is asked nothing of the apple spirit's 86 % vol."""
    bottle("A-1", "APPLE", "PROOF-A")
    bottle("V-1", "VODKA", "PROOF-V")
    for batch in "AV":
        put("derived.lineage", batch=f"{batch}-1", run=f"STR-{batch}", lot="W", into_lot=f"PROOF-{batch}", depth=2)
        put("derived.gauges", run=f"STR-{batch}", direction="out", part="hearts", lot=f"H-{batch}")

    asked = dict(frames()["gauges"].filter(direction="out").select("run", "distilled_below_pct_vol").rows())

    assert asked == {"STR-A": 86.0, "STR-V": None}


def test_a_still_is_told_its_loss_in_words(put, frames, row_of):
    """Runs enough for a baseline and a fall beyond it: the last loss of stripping, with twice its uncertainty."""
    for number, recovery in enumerate([0.95, 0.96] * 10 + [0.90] * 8):
        put("derived.run_balances", run=f"R-{number:02}", stage="strip", equipment="S1", recovery=recovery,
            started_at=f"2031-01-{number + 1:02}")  # fmt: skip
    put("derived.run_balances", run="X", stage="wash", equipment="S1", started_at="2031-02-01", recovery=0.1)
    put("derived.run_balances", run="Y", stage="strip", equipment="S1", started_at="2031-02-01")
    signal = {"equipment": "S1", "first_run": "R-20", "last_run": "R-27", "signal_run": "R-24", "u_excess_l": 1.5}
    put("derived.loss_signals", stage="strip", week="2031-W04", excess_l=12.0, first_at="2031-01-21", **signal)
    put("derived.loss_signals", stage="strip", week="2031-W01", excess_l=99.0, first_at="2031-01-02", **signal)
    put("derived.loss_signals", stage="spirit", week="2031-W09", excess_l=77.0, first_at="2031-02-21", **signal)

    row = row_of(frames()["stills"], equipment="S1")

    assert row["runs_low"] == 8
    assert row["note"].endswith(
        "runs R-20 to R-27: mean 0.900; lost 12.0 ± 3.0 LPA more than usual from R-20 to R-27, significant with R-24 "
        "in week 2031-W04"
    )


def test_a_reduction_without_alcohol_has_no_relative_uncertainty_of_it(put, frames, row_of):
    """0.2 by nothing is unknown, which leaves that of the mass: 0.1 of 50 L, 0.002; of 1 LPA it is 0.2 beside it."""
    for run, alcohol_l in (("RED-0", 0.0), ("RED-1", 1.0)):
        put("typed.runs", run=run, stage="reduce", equipment="P1", started_at="2031-01-01", ended_at="2031-01-02")
        put("derived.gauges", run=run, direction="in", lot="NS", part="spirit", stage="reduce", alcohol_l=alcohol_l,
            u_alcohol_l=0.2, mass_kg=50.0, volume_l=50.0, u_volume_l=0.1)  # fmt: skip
    rows = frames()["reductions"]

    assert row_of(rows, run="RED-0")["ur_predicted"] == pytest.approx(0.002)
    assert row_of(rows, run="RED-1")["ur_predicted"] == pytest.approx((0.2**2 + 0.002**2) ** 0.5)
