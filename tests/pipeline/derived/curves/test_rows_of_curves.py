"""What a curve rests on besides its log, and the rows that are made of it; on runs put in by hand."""

from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np
import pytest
from small_house import HOUSE

from gaugebook.pipeline.derived.curves.good_run_comparison import Comparison
from gaugebook.pipeline.derived.curves.records import Cut, PartOfCurve, RunCurve
from gaugebook.pipeline.derived.curves.run_curves import (
    _compared,
    _curve_row,
    _cut_rows,
    _finding_row,
    _fingerprint,
    _groups,
    _read_together,
    circumstances,
    is_good,
)
from gaugebook.pipeline.engineering.run_curve import FLOW_U_PART
from gaugebook.pipeline.house.settings import parse_house
from gaugebook.pipeline.statistics.log_finding import Finding

TEN = datetime(2031, 1, 1, 10)
METER = """
[[instruments]]
code = "FM"
kind = "flow meter"
name = "Flow meter"
u = 0.5
unit = "pct"
"""


def at(minutes):
    return TEN + timedelta(minutes=minutes)


GAUGED = [
    {"part": part, "volume_l": litres, "u_volume_l": 0.3, "alcohol_l": None if part == "tails" else 0.8 * litres,
     "u_alcohol_l": 0.2, "strength_pct_vol": 80.0}
    for part, litres in (("heads", 10.0), ("hearts", 40.0), ("tails", 10.0), ("spent", 300.0), ("foreshots", 1.0))
]  # fmt: skip
ROW = {
    "run": "R", "equipment": "S1", "stage": "strip", "recipe": "r", "files": ["a"], "first_at": TEN, "last_at": at(360),
    "gauged": GAUGED, "offset_min": 0.0, "charge_strength_pct_vol": 9.5, "hearts_from": at(60), "hearts_to": at(240),
    "is_unusual": False,
}  # fmt: skip


def given(profile="", **row):
    return circumstances(ROW | row, parse_house(HOUSE + profile, "house.toml"))


def test_what_a_curve_rests_on():
    """Gauges by part, the strength of the spent apart, cut times as seconds of the log, and what the profile says."""
    rests_on = given()

    assert (rests_on.u_strength_pct_vol, rests_on.u_temperature_c) == (0.15, 0.3)
    assert rests_on.u_flow_part == FLOW_U_PART
    assert (rests_on.charge_strength_pct_vol, rests_on.spent_strength_pct_vol) == (9.5, 80.0)
    assert list(rests_on.gauged) == ["heads", "hearts", "tails"]
    assert rests_on.gauged["hearts"].alcohol_l == 32.0
    assert np.isnan(rests_on.gauged["tails"].alcohol_l)
    assert (rests_on.hearts_from_s, rests_on.hearts_to_s) == (3600.0, 14400.0)
    assert given(METER).u_flow_part == pytest.approx(0.005)
    nothing = given(gauged=None, charge_strength_pct_vol=None, hearts_from=None, equipment="UNKNOWN")
    assert nothing.gauged == {}
    unknown = (nothing.charge_strength_pct_vol, nothing.spent_strength_pct_vol, nothing.hearts_from_s)
    assert np.isnan(unknown).all()
    assert (nothing.plates, nothing.is_continuous) == (0, False)


@pytest.mark.parametrize(
    ("offset", "moved"), [(None, 0.0), (20.0, 0.0), (-20.0, 0.0), (21.0, 1260.0), (-21.0, -1260.0)]
)
def test_a_log_whose_clock_is_far_off_has_its_cuts_moved(offset, moved):
    """By more than twenty minutes; less is no reason to doubt the clock."""
    rests_on = given(offset_min=offset)

    assert (rests_on.hearts_from_s, rests_on.hearts_to_s) == (3600.0 + moved, 14400.0 + moved)


def test_a_curve_is_kept_under_all_that_it_rests_on():
    """Run, still, stretch, files and circumstances; other columns of the run change nothing."""
    print_ = _fingerprint(ROW, given())

    assert _fingerprint(ROW | {"recipe": "other"}, given()) == print_
    for more in ({"run": "Q"}, {"equipment": "S2"}, {"first_at": at(1)}, {"last_at": at(1)}, {"files": ["b"]}):
        assert _fingerprint(ROW | more, given()) != print_, more
    assert _fingerprint(ROW, given(charge_strength_pct_vol=9.6)) != print_


def test_runs_of_the_same_files_are_read_together():
    """Eight at most, in their order; those of another still or another file apart."""
    runs = [ROW | {"equipment": "S2" if place % 2 else "S1"} for place in range(20)]
    runs[4] = runs[4] | {"files": ["z"]}

    assert list(_read_together(runs, list(range(20)))) == [
        [0, 2, 6, 8, 10, 12, 14, 16], [18], [4], [1, 3, 5, 7, 9, 11, 13, 15], [17, 19],
    ]  # fmt: skip
    assert list(_read_together(runs, [3, 1])) == [[1, 3]]
    assert list(_read_together(runs, [])) == []


FOUND = Finding("gap", "pot_temperature_c", 60.0, 120.0, 1.0, "words")
GOOD = RunCurve(3, 60.0, hearts_to=Cut(1.0, 1.0, "receivers"), profile={"pot_temperature_c": (1.0,) * 64})


def test_a_run_that_may_stand_in_a_band():
    """Whole, with its cut to tails, nothing found and no unusual loss."""
    assert is_good(GOOD, False)
    assert not is_good(GOOD, True)
    assert not is_good(replace(GOOD, hearts_to=Cut()), False)
    assert not is_good(replace(GOOD, findings=(FOUND,)), False)
    assert not is_good(replace(GOOD, profile={}), False)


def test_runs_are_compared_with_those_of_their_still_stage_and_recipe():
    """Places in their order, whatever else stands between them."""
    runs = [ROW | more for more in ({}, {"equipment": "S2"}, {"stage": "x"}, {"recipe": "x"}, {}, {"is_unusual": True})]

    assert list(_groups(runs)) == [[0, 4, 5], [1], [2], [3]]
    comparisons = _compared(runs, [GOOD] * 6)
    assert [comparison.runs for comparison in comparisons] == [1, 0, 0, 0, 1, 2]
    assert {comparison.band for comparison in comparisons} == {"no band yet"}


PART = PartOfCurve("hearts", 600.0, 3000.0, 40.5, 0.4, 32.5, 0.3, 0.1, 0.2)
CURVE = replace(
    GOOD, heat_from_s=0.0, vapour_at_s=60.0, first_drop_s=120.25, u_first_drop_s=30.0, end_s=3600.0, u_end_s=90.0,
    hearts_from=Cut(600.0, 120.0, "receivers"), hearts_to=Cut(3000.0, 60.0, "change of flow"), steam_kg=100.0,
    hearts_l_h=60.75, likely_wrong="pot_temperature_c", parts=(replace(PART, part="all", alcohol_l=50.0), PART),
)  # fmt: skip


def test_the_row_of_a_curve():
    """Times by the clock of the log, uncertainties in minutes, energy by the alcohol of the whole run: 100 kg of steam
    are 62.68 kWh (2256.5 kJ/kg), so 1.2536 kWh for each of 50 LPA."""
    row = _curve_row(ROW, CURVE, Comparison(9, "left", 2.0, 1.5))

    assert (row["run"], row["equipment"], row["stage"], row["log_started_at"]) == ("R", "S1", "strip", TEN)
    assert (row["heat_from_at"], row["vapour_at"]) == (TEN, at(1))
    assert row["first_drop_at"] == TEN + timedelta(seconds=120.25)
    assert (row["hearts_from_at"], row["hearts_to_at"], row["end_at"]) == (at(10), at(50), at(60))
    assert (row["u_first_drop_min"], row["u_hearts_from_min"], row["u_hearts_to_min"], row["u_end_min"]) == (
        0.5, 2.0, 1.0, 1.5,
    )  # fmt: skip
    assert (row["hearts_from_by"], row["hearts_to_by"]) == ("receivers", "change of flow")
    assert (row["hearts_from_sheet_at"], row["hearts_to_sheet_at"]) == (at(60), at(240))
    assert row["energy_kwh_per_alcohol_l"] == pytest.approx(100 * 2256.5 / 3600 / 50)
    assert (row["good"], row["band_runs"], row["band"], row["distance"], row["distance_limit"]) == (
        True, 9, "left", 2.0, 1.5,
    )  # fmt: skip
    assert (row["points"], row["hearts_l_h"], row["likely_wrong"]) == (3, 60.75, "pot_temperature_c")


def test_what_a_curve_does_not_show_is_blank():
    """No cut, no times, no energy; electric heat alone, or beside steam, counts too."""
    bare = _curve_row(ROW, RunCurve(3, 60.0), Comparison(0, "no curve"))
    none = [bare[name] for name in ("heat_from_at", "hearts_from_at", "hearts_to_by", "likely_wrong", "end_at")]

    def energy(**more):
        return _curve_row(ROW, replace(CURVE, **more), Comparison(0, "x"))["energy_kwh_per_alcohol_l"]

    assert none == [None] * 5
    assert np.isnan(bare["energy_kwh_per_alcohol_l"]) and not bare["good"]
    assert energy(steam_kg=np.nan, heating_kwh=25.0) == pytest.approx(0.5)
    assert energy(heating_kwh=25.0) == pytest.approx(0.5 + 100 * 2256.5 / 3600 / 50)
    assert np.isnan(energy(parts=(PART,))) and np.isnan(energy(steam_kg=np.nan))
    assert np.isnan(energy(parts=(replace(PART, part="all", alcohol_l=0.0),)))


def test_the_rows_of_its_parts():
    """Beside what the receivers held: 0.5 LPA more by the log, u sqrt(0.3^2 + 0.2^2); of the whole nothing was
    gauged."""
    whole, hearts = _cut_rows(ROW, CURVE)

    assert (hearts["run"], hearts["part"], hearts["from_at"], hearts["to_at"]) == ("R", "hearts", at(10), at(50))
    assert [hearts[name] for name in ("volume_l", "u_volume_l", "alcohol_l", "u_alcohol_l", "bridged")] == [
        40.5, 0.4, 32.5, 0.3, 0.1,
    ]  # fmt: skip
    assert (hearts["strength_bridged"], hearts["gauged_volume_l"], hearts["u_gauged_volume_l"]) == (0.2, 40.0, 0.3)
    assert (hearts["gauged_alcohol_l"], hearts["u_gauged_alcohol_l"]) == (32.0, 0.2)
    assert hearts["difference_l"] == pytest.approx(0.5)
    assert hearts["u_difference_l"] == pytest.approx((0.3**2 + 0.2**2) ** 0.5)
    assert whole["part"] == "all"
    assert np.isnan([whole["gauged_volume_l"], whole["difference_l"], whole["u_difference_l"]]).all()
    assert np.isnan(_cut_rows(ROW | {"gauged": None}, CURVE)[1]["gauged_alcohol_l"])


def test_the_row_of_a_finding():
    """With its times by the clock."""
    assert _finding_row(ROW, FOUND) == {
        "run": "R", "equipment": "S1", "tag": "pot_temperature_c", "kind": "gap", "from_at": at(1), "to_at": at(2),
        "size": 1.0, "detail": "words",
    }  # fmt: skip
