"""The frames over what was measured: batches, fills, samples, duplicates, logs, checks; rows by hand, all made up."""

import pytest


def columns(row, names):
    """The values of these columns of a row, in their order."""
    return tuple(row[name] for name in names.split())


def test_rejects_are_a_share_of_all_that_were_filled(bottle, put, frames, row_of):
    """5 of 95 + 5 are 0.05; of no bottles nothing is a share. Numbers of the bottling, people of the record."""
    bottle("V-1", "VODKA", "PROOF-1", bottles_filled=95, bottles_rejected=5, bottling_loss=0.02, u_bottling_loss=0.01,
           extract_g_l=0.0, laboratory_strength_is="apparent")  # fmt: skip
    bottle("V-2", "VODKA", "PROOF-2", bottles_filled=0, bottles_rejected=0)

    first, second = (row_of(frames()["batches"], batch=batch) for batch in ("V-1", "V-2"))

    assert columns(first, "rejected bottling_loss u_bottling_loss operator") == (0.05, 0.02, 0.01, "AQ")
    assert columns(first, "product_in_profile profile_nominal_ml profile_strength_pct_vol") == ("VODKA", 700.0, 40.0)
    assert first["profile_age_years"] == 0  # a product whose profile names no age promises none
    assert columns(first, "bottled_strength_is jurisdiction jurisdiction_held") == ("apparent", "EU", "EU")
    assert second["rejected"] is None


def test_the_furthest_fill_on_either_side_counts(bottle, frames, row_of):
    """Of 700 mL: 714 is 2 % over, 679 is 3 % under. Mean plus deficit 700 + 1.5; 20 over less 16 under are 4, whose
    chance deviation is the root of 36 (binomial with one half, doubled: n - 2k has the variance n). None measured is
    fewer than one."""
    bottle("V-1", "VODKA", "PROOF-1", fill_most_ml=714.0, fill_least_ml=699.0, fill_mean_ml=700.0,
           fill_mean_deficit_ml=1.5, fills=36, fills_over=20, fills_under=16, fills_asked=36)  # fmt: skip
    bottle("V-2", "VODKA", "PROOF-2", fill_most_ml=701.0, fill_least_ml=679.0)
    bottle("V-3", "VODKA", "PROOF-3", bottles_filled=1, fills_asked=1)

    first, second = (row_of(frames()["fills"], batch=batch) for batch in ("V-1", "V-2"))

    assert first["fill_greatest_variation"] == pytest.approx(0.02)
    assert second["fill_greatest_variation"] == pytest.approx(0.03)
    assert row_of(frames()["fills"], batch="V-3")["note"].endswith("a sample of 1, and 0 were measured")
    assert columns(first, "least_fill_mean_ml fills_over_less_under sd_over_less_under note") == (701.5, 4, 6.0, None)


@pytest.mark.parametrize(
    ("below", "is_told"), [(2, False), (3, True), (4, True), (5, False)]
)  # fmt: skip
def test_a_second_sample_is_asked_between_accepted_and_refused(bottle, frames, row_of, below, is_told):
    """So many as 2 accept and so many as 5 refuse (Directive 76/211/EEC, Annex II, 2.2.1): only 3 and 4 are neither."""
    bottle("V-1", "VODKA", "PROOF-1", bottles_filled=3000, fills=50, fills_asked=50, fills_below_tne=below,
           accepted_below_tne=2, rejected_below_tne=5)  # fmt: skip

    assert (row_of(frames()["fills"], batch="V-1")["note"] is not None) == is_told


@pytest.mark.parametrize(
    ("replicates", "factor"), [(2, 2.8), (3, 3.3), (4, 3.6), (5, 3.9), (9, 3.9)]
)  # fmt: skip
def test_the_critical_range_grows_with_the_number(put, frames, row_of, replicates, factor):
    """f(n) of ISO 5725-6, table 1: 2.8, 3.3, 3.6, 3.9 for n = 2 to 5 (from memory); the published r of 0.2 is 2.8 s."""
    put("derived.laboratory", lot="A", analyte="strength", unit="pct_vol", spread=0.1, replicates=replicates,
        samples="S-1, S-2")  # fmt: skip
    put("derived.laboratory", lot="B", analyte="strength", unit="g/L", spread=0.1, replicates=replicates)

    duplicates = frames()["duplicates"]

    assert duplicates["lot"].to_list() == ["A"]  # nothing is published in the other unit
    row = row_of(duplicates, lot="A")
    assert row["allowed_spread"] == pytest.approx(0.2 * factor / 2.8)
    assert columns(row, "record note") == ("lot A, strength", f"{replicates} results, samples S-1, S-2")


def test_who_measured_and_when_is_told_by_sample(put, frames, row_of):
    """All results by one analyst whom the house knows; the worst order of time counts: 3 h, though another is right."""
    for number, (sample, analyst, taken) in enumerate(
        [("S-1", "EV", "13:00"), ("S-1", "EV", "09:00"), ("S-2", "EV", "09:00")]
    ):
        put("typed.laboratory", sample=sample, lot="A", analyte="strength", value=40.0, below_limit=False,
            unit="pct_vol", analyst=analyst, taken_at=f"2031-01-01 {taken}", measured_at="2031-01-01 10:00",
            line=8 - number)  # fmt: skip

    samples = frames()["samples"]

    first, second = (row_of(samples, record=f"sample S-{n} of lot A") for n in (1, 2))
    assert columns(first, "analyst analysts_known hours_measured_before_taken note line") == (
        "EV", "true", 3.0, "2 results", 7,
    )  # fmt: skip
    assert columns(second, "hours_measured_before_taken note") == (-1.0, "1 results")


def test_ways_are_compared_by_what_was_found(put, frames):
    """A result below its limit is no value to compare, an apparent strength none beside a distilled one."""

    def result(lot, instrument, value, **more):
        put("typed.laboratory", **({"sample": "S", "lot": lot, "analyte": "strength", "value": value, "unit": "pct_vol",
            "below_limit": False, "instrument": instrument} | more))  # fmt: skip

    for lot, second in [("A", {}), ("B", {"below_limit": True}), ("C", {}), ("D", {"preparation": "distilled"})]:
        result(lot, "DM-1", 40.0, **({"preparation": "distilled"} if lot == "D" else {}))
        result(lot, "DM-2", 41.5, **second)
    for lot in "CD":
        put("derived.extracts", lot=lot, may_hold_from="cask")

    result("A", "DM-1", 40.0, source_id=0, line=0)

    methods = frames()["methods"]

    assert methods.select("lot", "apart").rows() == [("A", 1.5), ("D", 1.5)]
    assert methods.select("source_id", "line").rows() == [(0, 0), (1, 1)]  # where the first of them stands


@pytest.mark.parametrize(
    ("offset_min", "apart"), [(20.0, 2.0), (-20.0, 2.0), (20.5, -18.5), (-20.5, 22.5)]
)  # fmt: skip
def test_a_clock_is_moved_only_where_it_is_wrong(put, frames, row_of, offset_min, apart):
    """Up to 20 minutes the clock is right, and what the cuts lie apart is the cuts' own: 2 min, or 2 - 20.5."""
    put("typed.runs", run="STR-1", stage="strip", equipment="S1", started_at="2031-01-01 05:00")
    put("derived.run_curves", run="STR-1", equipment="S1", hearts_from_sheet_at="2031-01-01 06:00",
        hearts_from_at="2031-01-01 06:02")  # fmt: skip
    put("derived.log_clocks", run="STR-1", offset_min=offset_min)

    assert row_of(frames()["run_curves"], run="STR-1")["hearts_from_apart_min"] == apart


def test_points_are_a_share_of_those_expected(put, frames, row_of):
    """45 of 90 are a half, of none expected nothing; a pressure is no temperature; gaps stand beside the interval."""
    put("typed.runs", run="R-1", stage="strip", equipment="S1", started_at="2031-01-01", line=3)
    for tag, expected in (("pressure_kpa", 90), ("pot_temperature_c", 0)):
        put("derived.log_summaries", run="R-1", equipment="S1", tag=tag, points=45, expected_points=expected,
            longest_gap_min=7.0, longest_stuck_min=3.4)  # fmt: skip

    tags = frames()["log_tags"]
    pressure, pot = (row_of(tags, tag=tag) for tag in ("pressure_kpa", "pot_temperature_c"))

    names = "kind points_present longest_gap_min interval_min usual_stuck_min line"
    assert columns(pressure, names) == ("other", 0.5, 7.0, 1.0, 3.0, 3)
    assert columns(pot, "kind points_present") == ("temperature", None)


@pytest.mark.parametrize(
    ("u_gauge", "u_laboratory", "allowed"), [(0.3, 0.4, 1.5), (0.03, 0.04, 0.5)]
)  # fmt: skip
def test_how_far_gauge_and_laboratory_may_differ(put, frames, row_of, u_gauge, u_laboratory, allowed):
    """Three of the difference's own standard uncertainties, 3 x 0.5, and not less than half a per cent."""
    put("derived.lots", lot="A", origin="produced")
    put("derived.gauges", run="R", direction="out", lot="A", part="hearts", strength_pct_vol=61.0,
        u_strength_pct_vol=u_gauge)  # fmt: skip
    put("derived.laboratory", lot="A", analyte="strength", unit="pct_vol", value=60.0, u_value=u_laboratory)

    row = row_of(frames()["lot_strengths"], lot="A")

    assert row["allowed_pct_vol"] == pytest.approx(allowed)
    assert row["note"] == "gauged out of run R, laboratory 60.00"


@pytest.mark.parametrize(("residual_c", "times"), [(1.0, 1), (-1.0, 1), (1.1, 0), (None, 1)])
def test_a_finding_off_equilibrium_is_the_pot_s_where_the_vapour_agrees(put, frames, row_of, residual_c, times):
    """Up to 2.5 uncertainties of 0.4 K, which is 1.0 K, the vapour agrees, and so does one that nobody knows."""
    put("typed.runs", run="STR-1", stage="strip", equipment="S1", started_at="2031-01-01 05:00")
    put("derived.run_curves", run="STR-1", equipment="S1", vapour_residual_c=residual_c, u_vapour_residual_c=0.4)
    put("derived.curve_findings", run="STR-1", tag="pot_temperature_c", kind="off equilibrium", detail="pot +3.0 K")

    assert row_of(frames()["curve_findings"], kind="pot off equilibrium")["times_found"] == times


@pytest.mark.parametrize(
    ("correct", "assessors", "chance"),
    [(3, 3, 1 / 27), (2, 3, 7 / 27), (0, 3, 1.0), (4, 3, None), (-1, 3, None)],
)  # fmt: skip
def test_a_small_panel_by_counting(put, frames, correct, assessors, chance):
    """Three guess one of three: all right (1/3)^3; two or more right 1/27 + 3 x 2/27."""
    put("typed.panel", session="P", lot="A", reference_lot="B", test="triangle", assessors=assessors,
        correct_answers=correct)  # fmt: skip

    found = frames()["panels"]["chance"].item()

    assert found == (chance if chance is None else pytest.approx(chance))


def test_a_reduction_may_miss_by_three_uncertainties_and_half_a_per_cent_at_least(put, frames, row_of):
    """948.05 kg/m3 (OIML R 22): 40 LPA in 94.805 kg are 40 % vol. With 1 % of alcohol's uncertainty it is 0.4, with the
    0.3 gauged 3 x 0.5 = 1.5 % vol; with none at all half a per cent."""
    for run, u_alcohol_l, u_gauged in (("RED-1", 0.4, 0.3), ("RED-2", 0.0, 0.0)):
        put("typed.runs", run=run, stage="reduce", equipment="P1", started_at="2031-01-01", ended_at="2031-01-02")
        put("derived.gauges", run=run, direction="in", lot="NS", part="spirit", stage="reduce", alcohol_l=40.0,
            u_alcohol_l=u_alcohol_l, mass_kg=94.805, volume_l=100.0, u_volume_l=0.0)  # fmt: skip
        put("derived.gauges", run=run, direction="out", lot="PROOF", part="spirit", stage="reduce", alcohol_l=40.0,
            strength_pct_vol=40.0, u_strength_pct_vol=u_gauged)  # fmt: skip

    first, second = (row_of(frames()["reductions"], run=run) for run in ("RED-1", "RED-2"))

    assert columns(first, "u_predicted_pct_vol allowed_pct_vol") == pytest.approx((0.4, 1.5), abs=0.001)
    assert second["allowed_pct_vol"] == 0.5


def test_neutral_spirit_has_its_last_known_strength_and_its_own_uncertainties(put, bottle, frames):
    """The later gauge has no strength, so the earlier one's 96.5 stands; what must not be detected is a yes or no, and
    only that has no uncertainty."""
    bottle("V-1", "VODKA", "PROOF-1")
    for at, strength in (("2031-01-01", 96.5), ("2031-01-02", None)):
        put("derived.gauges", run="REC-1", direction="out", lot="PROOF-1", part="hearts", stage="rectify", gauged_at=at,
            strength_pct_vol=strength, u_strength_pct_vol=strength and 0.1)  # fmt: skip
    for analyte in ("methanol", "furfural"):
        put("derived.laboratory", lot="PROOF-1", analyte=analyte, value=4.0, u_value=0.5, unit="g/hL pa",
            below_limit=False)  # fmt: skip

    rows = frames()["neutral_spirit"].select("analyte", "value", "u_value", "most").rows()

    found = {analyte: rest for analyte, *rest in rows}
    assert found["strength"] == [96.5, 0.1, None]
    assert found["methanol"][:2] == [4.0, 0.5]
    assert found["furfural"][1] == (0.0 if found["furfural"][2] == 0 else 0.5)


def test_a_dip_stands_beside_the_strongest_spirit_that_can_be(put, frames, row_of):
    """With its reading and what came of it: a tank, and a cask gauged again; the site's azeotrope is 97.2 % vol."""
    put(
        "typed.stock",
        vessel="T1",
        lot="L-1",
        gauged_at="2031-02-28 18:00",
        volume_at_t_l=100.0,
        strength_reading=99.0,
        reading_kind="pct_vol_20c",
        source_id=1,
        line=4,
    )
    put(
        "derived.stock_gauges",
        vessel="T1",
        lot="L-1",
        gauged_at="2031-02-28 18:00",
        strength_pct_vol=99.0,
        u_strength_pct_vol=0.1,
        alcohol_l=99.0,
        source_id=1,
        line=4,
    )
    put(
        "derived.cask_events",
        cask="C1",
        event="regauged",
        happened_at="2031-03-01",
        filling=1,
        contents="C1/1",
        strength_reading=700.0,
        reading_kind="density",
        source_id=2,
        line=9,
    )
    put(
        "derived.stock_gauges",
        vessel="C1",
        lot="C1/1",
        gauged_at="2031-03-01",
        not_computed="no mixture",
        source_id=2,
        line=9,
    )
    rows = frames()["dips"]

    tank, cask = row_of(rows, lot="L-1"), row_of(rows, lot="C1/1")
    assert tank["record"] == "dip of T1, lot L-1, 2031-02-28 18:00"
    assert columns(tank, "strength_pct_vol strength_reading") == (99.0, 99.0)
    assert tank["highest_strength_pct_vol"] == pytest.approx(97.2, abs=0.1)
    assert columns(cask, "strength_reading alcohol_l note line") == (700.0, None, "no mixture", 9)


def test_a_sample_is_placed_at_its_first_file_and_line(put, frames, row_of):
    """Of two results the first file, and the first line of either."""
    for source_id, line in ((3, 4), (2, 9)):
        put("typed.laboratory", sample="S-1", lot="A", analyte="strength", value=40.0, below_limit=False,
            unit="pct_vol", source_id=source_id, line=line)  # fmt: skip

    assert columns(row_of(frames()["samples"], lot="A"), "source_id line") == (2, 4)
