"""The subjects' frames: what SQL joins to a run, lot, batch or log, on small books filled by hand (all made up)."""

import pytest


def test_an_overlap_names_the_run_that_was_still_going(put, frames, row_of):
    """The later run overlaps the one before by the time that was left of it; runs elsewhere do not count."""
    for run, equipment, start, end in [
        ("STR-1", "S1", "2031-01-01 06:00", "2031-01-01 12:00"),
        ("STR-2", "S1", "2031-01-01 11:00", "2031-01-01 17:00"),
        ("STR-3", "S1", "2031-01-01 17:00", "2031-01-01 20:00"),
        ("ELSE", "MT1", "2031-01-01 06:30", "2031-01-01 20:00"),
    ]:
        put("typed.runs", run=run, stage="strip", equipment=equipment, started_at=start, ended_at=end)

    still_runs = frames()["still_runs"]

    assert dict(still_runs.select("run", "overlap_min").rows()) == {"STR-1": 0.0, "STR-2": 60.0, "STR-3": 0.0}
    assert row_of(still_runs, run="STR-2")["note"] == "with run STR-1"


def test_what_a_lot_may_give_at_most(put, frames, row_of):
    """Most drawn = drawn less overdraw; first draw against when the lot was there, last against its date."""
    put(
        "typed.intake",
        lot="MALT-1",
        material="rye malt",
        kind="malt",
        received_at="2031-01-02",
        best_before="2031-01-10",
    )
    put(
        "derived.lots",
        lot="MALT-1",
        origin="received",
        basis="kg",
        made_at="2031-01-02 06:00",
        quantity_out=120.0,
        u_remaining=5.0,
        overdraw=20.0,
    )
    put("typed.runs", run="MSH-1", stage="mash", equipment="MT1", started_at="2031-01-01 06:00")
    put("typed.runs", run="MSH-2", stage="mash", equipment="MT1", started_at="2031-01-11")
    for run in ("MSH-1", "MSH-2"):
        put("derived.gauges", run=run, direction="in", lot="MALT-1", part="grain")

    row = row_of(frames()["lots"], lot="MALT-1")

    assert (row["most_drawn"], row["hours_drawn_before_made"], row["days_past_best_before"]) == (100.0, 24.0, 1.0)
    assert row["u_balance"] == 5.0
    assert row["note"] == "counted in kg, first drawn by run MSH-1"


def test_a_dip_stands_against_what_moved_before_it(put, frames, row_of):
    """Made 100, drawn 30 before the dip and 20 after it: the book says 70. Of the uncertainty, what one instrument
    gives to all three gauges is their sum with signs: 0.69 - (1 - 0.3) = -0.01 LPA (by hand)."""
    put("derived.lots", lot="NS-1", origin="produced")
    for run, at in [("REC-1", "2031-01-01"), ("RED-1", "2031-01-10"), ("RED-2", "2031-02-10")]:
        put("typed.runs", run=run, stage="rectify", equipment="R1", started_at=at)
    moves = [("REC-1", "out", 100.0), ("RED-1", "in", 30.0), ("RED-2", "in", 20.0)]
    for gauge, (run, direction, alcohol_l) in enumerate(moves):
        put("derived.gauges", gauge=gauge, run=run, direction=direction, lot="NS-1", alcohol_l=alcohol_l)
        put("derived.gauge_errors", gauge=gauge, error=f"gauge {gauge}", alcohol_l=0.3)
        put("derived.gauge_errors", gauge=gauge, error="instrument M", alcohol_l=0.01 * alcohol_l)
    put("derived.stock_gauges", gauge=9, vessel="N1", lot="NS-1", gauged_at="2031-01-31 16:00", alcohol_l=69.5)
    put("derived.gauge_errors", gauge=9, error="gauge 9", alcohol_l=0.4)
    put("derived.gauge_errors", gauge=9, error="instrument M", alcohol_l=0.69)

    row = row_of(frames()["stock"], lot="NS-1")

    assert (row["dipped_alcohol_l"], row["book_alcohol_l"]) == (69.5, 70.0)
    assert row["u_difference_l"] == pytest.approx((0.4**2 + 2 * 0.3**2 + 0.01**2) ** 0.5)


def test_what_nobody_charged_is_a_charge_of_nothing(put, frames, row_of):
    """A botanical of the recipe that is not in the charge has the ratio 0, and one not of the recipe is told."""
    put("typed.runs", run="BOT-1", stage="botanical", equipment="G1", recipe="gin", started_at="2031-01-01")
    put(
        "derived.botanical_bill",
        run="BOT-1",
        stage="botanical",
        recipe="gin",
        botanical="lemon peel",
        recipe_g_per_lpa=6.0,
    )
    put("derived.botanical_bill", run="BOT-1", stage="botanical", recipe="gin", botanical="orris root", charged_kg=1.0)

    botanicals = frames()["botanicals"]

    assert row_of(botanicals, botanical="lemon peel")["ratio"] == 0.0
    assert row_of(botanicals, botanical="orris root")["in_recipe"] is None


def test_a_botanical_is_placed_where_it_was_weighed(put, frames, row_of):
    """The flag points at the balance's line; what nobody weighed points at the run sheet's."""
    put("typed.runs", run="BOT-1", stage="botanical", equipment="G1", recipe="gin", started_at="2031-01-01", line=8)
    put("derived.openings", lot="JUN-1", origin="received", material="juniper berry", kind="botanical")
    put("derived.gauges", run="BOT-1", direction="in", lot="JUN-1", part="botanical", source_id=5, line=23)
    for botanical in ("juniper berry", "lemon peel"):
        put("derived.botanical_bill", run="BOT-1", stage="botanical", recipe="gin", botanical=botanical)

    botanicals = frames()["botanicals"]

    weighed, missing = row_of(botanicals, botanical="juniper berry"), row_of(botanicals, botanical="lemon peel")
    assert (weighed["source_id"], weighed["line"]) == (5, 23)
    assert (missing["source_id"], missing["line"]) == (1, 8)


def test_the_strength_of_a_charge_goes_by_mass(put, frames, row_of):
    """Spirit and water that weigh as 100 L of 40 % vol (948.05 kg/m3, OIML R 22) are 40 % vol."""
    put("typed.runs", run="BOT-1", stage="botanical", equipment="G1", recipe="gin", started_at="2031-01-01")
    put("derived.gauges", run="BOT-1", direction="in", lot="NS-1", part="spirit", alcohol_l=40.0, mass_kg=33.6)
    put("derived.gauges", run="BOT-1", direction="in", lot="WAT", part="water", alcohol_l=0.0, mass_kg=94.805 - 33.6)
    put("derived.gauges", run="BOT-1", direction="in", lot="JUN", part="botanical", alcohol_l=0.0, mass_kg=1.0)

    row = row_of(frames()["charges"], run="BOT-1")

    assert row["charge_strength_pct_vol"] == pytest.approx(40.0, abs=0.005)
    assert row["recipe_strength_pct_vol"] == 50.0


def test_a_steep_lasts_from_start_to_end(put, frames, row_of):
    """Four days where the recipe has seven."""
    put(
        "typed.runs",
        run="STE-1",
        stage="steep",
        equipment="Q1",
        recipe="quince steep",
        started_at="2031-01-01 08:00",
        ended_at="2031-01-05 08:00",
    )

    row = row_of(frames()["charges"], run="STE-1")

    assert (row["days"], row["steep_days"], row["charge_strength_pct_vol"]) == (4.0, 7.0, None)


def test_a_sample_too_small_or_undecided_is_told_with_what_the_plan_asks(bottle, frames, row_of):
    """Directive 76/211/EEC, Annex II, 2.2.1: 80 of 5000 bottles, where 30 were measured; 3 short of 50 are
    neither."""
    eu = {"jurisdiction": "EU", "fills_below_tne": 3}
    bottle("V-1", "VODKA", "PROOF-1", bottles_filled=5000, fills=30, fills_asked=80, **eu)
    bottle("V-2", "VODKA", "PROOF-2", bottles_filled=3000, fills=50, fills_asked=50, accepted_below_tne=2,
           rejected_below_tne=5, **eu)  # fmt: skip
    bottle("V-3", "VODKA", "PROOF-3", bottles_filled=90, fills_asked=90, jurisdiction="EU")

    notes = [row_of(frames()["fills"], batch=batch)["note"] for batch in ("V-1", "V-2", "V-3")]

    assert notes == [
        "for 5000 bottles the reference test asks a sample of 80, and 30 were measured",
        "neither accepted nor refused, so the reference test asks a second sample of 50",
        "for 90 bottles the reference test asks a sample of 90, and 0 were measured",
    ]


@pytest.mark.parametrize(
    ("product", "tolerance", "least"), [("VODKA", 0.3, 37.5), ("STEEP", 1.5, 15.0), ("NEW", None, None)]
)
def test_a_batch_stands_beside_what_its_label_and_category_ask(bottle, frames, product, tolerance, least, row_of):
    """Tolerance by maceration, least strength by category; a product that the profile does not have has neither."""
    bottle("B-1", product, "PROOF-1")

    row = row_of(frames()["batches"], batch="B-1")

    assert (row["tolerance_pct_vol"], row["least_strength_pct_vol"]) == (tolerance, least)
    assert row["product_in_profile"] == (product if tolerance else None)


@pytest.mark.parametrize(
    ("nominal_ml", "allowed", "bound"),
    [(700.0, 700.0, "from memory"), (750.0, None, "from memory"), (50.0, None, None)],
)
def test_sizes_are_bound_between_100_and_2000_ml(bottle, frames, nominal_ml, allowed, bound, row_of):
    """700 mL is on the list, 750 mL is not, and a miniature of 50 mL is not bound by it (Directive 2007/45/EC, by
    transcriptions alone, so the list stops nothing)."""
    bottle("V-1", "VODKA", "PROOF-1", nominal_ml=nominal_ml)

    row = row_of(frames()["batches"], batch="V-1")

    assert (row["allowed_ml"], row["volume_is_bound"]) == (allowed, bound)


def test_a_still_that_logs_is_seen_with_and_without_its_log(put, frames, row_of):
    """A run with a log has its tags counted; a run without has none; other equipment has no interval."""
    for run, equipment in [("STR-1", "S1"), ("STR-2", "S1"), ("MSH-1", "MT1")]:
        put("typed.runs", run=run, stage="strip", equipment=equipment, started_at="2031-01-01", operator="ZZ")
    put("derived.log_summaries", run="STR-1", equipment="S1", tag="pot_temperature_c", points=300)

    runs = frames()["runs"]

    assert row_of(runs, run="STR-1")["logged_tags"] == 1
    assert row_of(runs, run="STR-2")["logged_tags"] is None
    assert row_of(runs, run="MSH-1")["log_interval_s"] is None
    assert row_of(runs, run="MSH-1")["operator_in_profile"] is None


def test_a_tag_stands_beside_what_is_usual_for_it(put, frames, row_of):
    """Stuck minutes against the median of the same tag on the same still; points against those expected."""
    for number, stuck in enumerate([4.0, 6.0, 120.0]):
        put("typed.runs", run=f"R-{number}", stage="strip", equipment="S1", started_at=f"2031-01-0{number + 1}")
        put(
            "derived.log_summaries",
            run=f"R-{number}",
            equipment="S1",
            tag="pot_temperature_c",
            points=90,
            expected_points=100,
            longest_stuck_min=stuck,
        )

    row = row_of(frames()["log_tags"], run="R-2")

    assert (row["usual_stuck_min"], row["kind"], row["points_present"], row["interval_min"]) == (
        6.0,
        "temperature",
        0.9,
        1.0,
    )


def test_a_distillate_is_asked_what_its_batches_ask(put, bottle, frames, row_of):
    """Hearts behind an apple spirit must stay below 86 % vol; behind a vodka nothing is asked (Annex I, 9 and 15)."""
    bottle("A-1", "APPLE", "PROOF-1")
    bottle("V-1", "VODKA", "PROOF-2")
    for batch, run in [("A-1", "STR-A"), ("V-1", "STR-V")]:
        put("derived.lineage", batch=batch, run=run, lot="WSH", into_lot="PROOF", depth=2)
        put("derived.gauges", run=run, direction="out", lot=f"HRT-{batch}", part="hearts", strength_pct_vol=85.0)

    gauges = frames()["gauges"]

    assert row_of(gauges, run="STR-A")["distilled_below_pct_vol"] == 86.0
    assert row_of(gauges, run="STR-V")["distilled_below_pct_vol"] is None
    # Perry's handbook, 4th edition, p. 13-5: azeotrope 97.19 % vol at 101.325 kPa
    assert row_of(gauges, run="STR-A")["highest_strength_pct_vol"] == pytest.approx(97.19, abs=0.2)


def test_every_frame_has_its_keys(empty_frames):
    """Each subject says what a flag hangs on, and an empty book has every subject without a row."""
    for name, frame in empty_frames.items():
        assert frame.columns[:8] == ["record", "run", "lot", "batch", "equipment", "note", "source_id", "line"], name
        assert frame.is_empty()
