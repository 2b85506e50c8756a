"""The subjects' frames: what SQL joins to a result or an instrument, on small books filled by hand (all made up)."""

import pytest


def test_results_of_a_bottled_liquid_meet_the_limits_of_its_category(put, bottle, frames, row_of):
    """Methanol of the liquid stands beside the 1200 g/hl of apple spirit; of a lot not bottled, beside none."""
    bottle("A-1", "APPLE", "PROOF-1")
    for lot in ("PROOF-1", "HRT-1"):
        put(
            "derived.laboratory",
            lot=lot,
            analyte="methanol",
            value=900.0,
            unit="g/hL pa",
            u_value=5.0,
            below_limit=False,
        )

    laboratory = frames()["laboratory"]

    assert row_of(laboratory, lot="PROOF-1")["most"] == 1200.0
    assert row_of(laboratory, lot="HRT-1")["most"] is None


def test_a_liquid_bottled_under_two_categories_is_judged_as_both(put, bottle, frames):
    """One row a category, each with its own limit."""
    bottle("A-1", "APPLE", "PROOF-1")
    bottle("V-1", "VODKA", "PROOF-1")
    put("derived.laboratory", lot="PROOF-1", analyte="methanol", value=9.0, unit="g/hL pa", below_limit=False)

    methanol = frames()["laboratory"].filter(lot="PROOF-1", analyte="methanol")

    assert sorted(methanol["most"].to_list()) == [10.0, 1200.0]


def test_below_a_limit_of_quantification_that_is_too_high_settles_nothing(put, bottle, frames, row_of):
    """ "<20" against a limit of 10 has no value to judge; "<5" counts as 5."""
    bottle("V-1", "VODKA", "PROOF-1")
    bottle("V-2", "VODKA", "PROOF-2")
    put("derived.laboratory", lot="PROOF-1", analyte="methanol", value=20.0, unit="g/hL pa", below_limit=True)
    put("derived.laboratory", lot="PROOF-2", analyte="methanol", value=5.0, unit="g/hL pa", below_limit=True)

    laboratory = frames()["laboratory"]

    assert row_of(laboratory, lot="PROOF-1")["value"] is None
    assert row_of(laboratory, lot="PROOF-2")["value"] == 5.0


def test_a_result_per_litre_is_judged_per_pure_alcohol(put, bottle, frames, row_of):
    """40 mg/L at 40 % vol is 10 g/hL of pure alcohol (40 mg/L / 0.4 = 100 mg per litre of alcohol)."""
    bottle("V-1", "VODKA", "PROOF-1")
    put(
        "derived.laboratory",
        lot="PROOF-1",
        analyte="methanol",
        value=40.0,
        unit="mg/L",
        u_value=4.0,
        below_limit=False,
        per_alcohol_g_hl=10.0,
    )

    row = row_of(frames()["laboratory"], lot="PROOF-1")

    assert (row["value"], row["unit"], row["u_value"]) == (10.0, "g/hL pa", 1.0)


def test_another_unit_than_the_limit_cannot_be_judged(put, bottle, frames, row_of):
    """A result in a unit that cannot be brought to the limit's has no value to judge."""
    bottle("V-1", "VODKA", "PROOF-1")
    put("derived.laboratory", lot="PROOF-1", analyte="methanol", value=4.0, unit="mg/L", below_limit=False)

    assert row_of(frames()["laboratory"], lot="PROOF-1")["value"] is None


def test_volatile_substances_are_summed_without_methanol(put, bottle, frames, row_of):
    """The sum takes what was measured, a result below its limit as nothing, and leaves methanol out."""
    bottle("A-1", "APPLE", "PROOF-1")
    for analyte, value, below in [
        ("methanol", 900.0, False),
        ("ethyl_acetate", 100.0, False),
        ("isoamyl_alcohol", 120.0, False),
        ("furfural", 1.0, True),
    ]:
        put("derived.laboratory", lot="PROOF-1", analyte=analyte, value=value, unit="g/hL pa", below_limit=below)

    row = row_of(frames()["laboratory"], analyte="volatile_substances")

    assert (row["value"], row["least"]) == (220.0, 200.0)


def test_a_sum_is_placed_at_its_first_file_and_line(put, bottle, frames, row_of):
    """Of two results the first file, and the first line of either."""
    bottle("A-1", "APPLE", "PROOF-1")
    for analyte, source_id, line in (("ethyl_acetate", 3, 4), ("isoamyl_alcohol", 2, 9)):
        put("derived.laboratory", lot="PROOF-1", analyte=analyte, value=100.0, unit="g/hL pa", below_limit=False,
            source_id=source_id, line=line)  # fmt: skip

    row = row_of(frames()["laboratory"], analyte="volatile_substances")

    assert (row["source_id"], row["line"], row["value"]) == (2, 4, 200.0)


def test_a_sum_with_an_unknown_term_is_unknown(put, bottle, frames, row_of):
    """Where one result was not accepted there is no sum, rather than a smaller one."""
    bottle("A-1", "APPLE", "PROOF-1")
    put("derived.laboratory", lot="PROOF-1", analyte="ethyl_acetate", value=250.0, unit="g/hL pa", below_limit=False)
    put("derived.laboratory", lot="PROOF-1", analyte="furfural", value=None, unit="g/hL pa", below_limit=False)

    assert row_of(frames()["laboratory"], analyte="volatile_substances")["value"] is None


@pytest.mark.parametrize(("product", "judged"), [("VODKA", 1), ("STEEP", 1), ("APPLE", 0)])
def test_neutral_spirit_is_judged_where_the_category_is_made_from_it(put, bottle, frames, product, judged, row_of):
    """Rectified hearts behind a vodka are ethyl alcohol of agricultural origin; behind an apple spirit they are not."""
    bottle("B-1", product, "PROOF-1")
    put(
        "derived.gauges",
        run="REC-1",
        direction="out",
        lot="NS-1",
        part="hearts",
        stage="rectify",
        strength_pct_vol=96.3,
        u_strength_pct_vol=0.1,
        gauged_at="2031-02-01",
    )
    put("derived.lineage", batch="B-1", run="RED-1", lot="NS-1", into_lot="PROOF-1", depth=2)

    neutral = frames()["neutral_spirit"]

    assert len(neutral) == judged
    if judged:
        assert row_of(neutral, analyte="strength")["least"] == 96.0


def test_the_gauge_that_differs_most_stands_for_the_lot(put, frames, row_of):
    """One row a lot, with the worst of its gauges and what may differ: 3 combined uncertainties, at least 0.5 % vol."""
    put("derived.lots", lot="HRT-1", origin="produced", overdraw=0.0)
    put("derived.laboratory", lot="HRT-1", analyte="strength", value=90.0, unit="pct_vol", u_value=0.05)
    for run, direction, strength in [("STR-1", "out", 90.1), ("REC-1", "in", 92.9)]:
        put(
            "derived.gauges",
            run=run,
            direction=direction,
            lot="HRT-1",
            part="hearts",
            strength_pct_vol=strength,
            u_strength_pct_vol=0.2,
        )

    row = row_of(frames()["lot_strengths"], lot="HRT-1")

    assert (row["run"], row["strength_pct_vol"]) == ("REC-1", 92.9)
    assert row["allowed_pct_vol"] == pytest.approx(3 * (0.2**2 + 0.05**2) ** 0.5)


@pytest.mark.parametrize("order", [1, -1])
def test_of_gauges_that_differ_alike_one_stands_for_the_lot_whatever_the_order(put, frames, row_of, order):
    """Though their differences are not the same to the last digit; the first by name, not by file or line."""
    put("derived.lots", lot="NS-1", origin="received", overdraw=0.0)
    put("derived.laboratory", lot="NS-1", analyte="strength", value=90.0, unit="pct_vol", u_value=0.05)
    gauges = [("BOT-1", 92.9), ("BOT-2", 92.9 + 2e-13), ("BOT-3", 92.9 - 2e-13)]
    for line, (run, strength) in enumerate(gauges[::order]):
        put(
            "derived.gauges",
            run=run,
            direction="in",
            lot="NS-1",
            part="spirit",
            strength_pct_vol=strength,
            u_strength_pct_vol=0.2,
            source_id=1 + line,
            line=9 - line,
        )

    assert row_of(frames()["lot_strengths"], lot="NS-1")["run"] == "BOT-1"


def test_a_draw_from_an_overdrawn_lot_says_nothing_of_its_strength(put, frames):
    """What was drawn under its name was something else; the overdraw is flagged, the strength is not."""
    put("derived.lots", lot="HRT-1", origin="produced", overdraw=50.0)
    put("derived.laboratory", lot="HRT-1", analyte="strength", value=90.0, unit="pct_vol", u_value=0.05)
    put(
        "derived.gauges",
        run="REC-1",
        direction="in",
        lot="HRT-1",
        part="hearts",
        strength_pct_vol=80.0,
        u_strength_pct_vol=0.2,
    )

    assert frames()["lot_strengths"].is_empty()


def test_a_lot_without_an_accepted_strength_has_one_row_to_say_so(put, frames, row_of):
    """Where the replicates disagree the laboratory has no value, and the lot is there to be not evaluated."""
    put("derived.lots", lot="NS-1", origin="produced", overdraw=0.0)
    put("derived.laboratory", lot="NS-1", analyte="strength", value=None, unit="pct_vol", u_value=0.05, replicates=2)
    put("derived.gauges", run="REC-1", direction="out", lot="NS-1", part="hearts", strength_pct_vol=96.0)

    assert row_of(frames()["lot_strengths"], lot="NS-1")["laboratory_strength_pct_vol"] is None


def test_duplicates_are_held_to_the_critical_range_of_their_number(put, frames):
    """Two results may differ by r, three by 3.3/2.8 of it (ISO 5725-6, from memory); one result is no duplicate."""
    for lot, replicates in [("A", 1), ("B", 2), ("C", 3)]:
        put("derived.laboratory", lot=lot, analyte="strength", unit="pct_vol", spread=0.1, replicates=replicates)

    duplicates = frames()["duplicates"]

    assert dict(duplicates.select("lot", "allowed_spread").rows()) == {"B": 0.2, "C": pytest.approx(0.2 * 3.3 / 2.8)}


def test_a_required_result_is_sought_on_liquid_and_batch(put, bottle, frames, row_of):
    """Found on the liquid, found on the batch, found but not accepted: on record; else NULL."""
    bottle("V-1", "VODKA", "PROOF-1")
    put("derived.laboratory", lot="PROOF-1", analyte="strength", value=None, unit="pct_vol", replicates=2)
    put("derived.laboratory", lot="V-1", analyte="strength", value=40.0, unit="pct_vol", replicates=1)
    put("derived.laboratory", lot="ANOTHER", analyte="methanol", value=1.0, unit="g/hL pa", replicates=1)

    required = frames()["required_laboratory"]

    assert row_of(required, analyte="strength")["results"] == 3
    assert row_of(required, analyte="methanol")["results"] is None


def test_a_panel_has_the_exact_chance_of_its_answers(put, frames):
    """Of 18 assessors in a triangle test 10 are the fewest correct answers at 5 % (ISO 4120, computed)."""
    for session, correct in [("P-1", 10), ("P-2", 9), ("P-3", 19)]:
        put(
            "typed.panel",
            session=session,
            lot="A",
            reference_lot="B",
            test="triangle",
            assessors=18,
            correct_answers=correct,
        )

    chances = dict(frames()["panels"].select("record", "chance").rows())

    assert chances["panel P-1, lot A"] < 0.05 < chances["panel P-2, lot A"]
    assert chances["panel P-3, lot A"] is None


def test_readings_after_the_calibration_ran_out_are_counted(put, frames, row_of):
    """Of three readings the one after the date is overdue; an instrument never checked cannot be judged."""
    put(
        "typed.calibrations",
        instrument="HYD-1",
        checked_at="2031-01-01",
        reference_value=40,
        reading=40.1,
        unit="pct_vol",
        due_at="2031-07-01",
    )
    for at in ("2031-02-01", "2031-06-30", "2031-07-02"):
        put("typed.movements", run="R", direction="out", lot="L", part="hearts", instrument="HYD-1", gauged_at=at)
    put("typed.movements", run="R", direction="out", lot="L", part="hearts", instrument="HYD-9", gauged_at="2031-02-01")

    instruments = frames()["instruments"]
    known, unknown = row_of(instruments, instrument="HYD-1"), row_of(instruments, instrument="HYD-9")

    assert (known["readings_overdue"], known["note"]) == (1, "of 3 readings, first on 2031-07-02")
    assert (unknown["readings_overdue"], unknown["instrument_in_profile"]) == (None, None)


def test_a_calibration_is_judged_in_its_own_unit(put, frames, row_of):
    """Reading less reference, beside the instrument's uncertainty where that is stated in the same unit."""
    for unit in ("pct_vol", "kg/m3"):
        put(
            "typed.calibrations",
            instrument="HYD-1",
            checked_at="2031-01-01",
            reference_value=40,
            reading=40.5,
            unit=unit,
        )

    calibrations = frames()["calibrations"]

    assert row_of(calibrations, note="pct_vol")["u_instrument"] == 0.15
    assert row_of(calibrations, note="kg/m3")["u_instrument"] is None
    assert row_of(calibrations, note="pct_vol")["error"] == pytest.approx(0.5)
