"""The frames over run curves: what SQL makes of curve, cuts and findings, on small books filled by hand, made up."""

import pytest

CURVE = {
    "run": "STR-1", "equipment": "S1", "stage": "strip", "hearts_from_sheet_at": "2031-01-01 06:00",
    "hearts_from_at": "2031-01-01 06:02", "u_hearts_from_min": 0.5, "hearts_to_sheet_at": "2031-01-01 10:00",
    "hearts_to_at": "2031-01-01 09:48", "u_hearts_to_min": 0.5, "vapour_residual_c": 0.1, "u_vapour_residual_c": 0.4,
    "reached_pct_vol": 80.0, "stages_needed": 2.5, "stages_available": 4.0, "band": "within", "band_runs": 12,
    "distance": 0.9, "distance_limit": 1.8,
}  # fmt: skip


@pytest.fixture
def curve(put):
    """A run with a curve; keywords replace columns of it."""
    put("typed.runs", run="STR-1", stage="strip", equipment="S1", started_at="2031-01-01 05:00", line=7)
    return lambda **other: put("derived.run_curves", **(CURVE | other))


def test_cuts_stand_against_the_sheet_on_the_log_s_own_clock(curve, put, frames, row_of):
    """Minutes by the log less the sheet's; an hour that the log's clock is off is taken off first."""
    curve(hearts_from_at="2031-01-01 07:02", hearts_to_at="2031-01-01 10:48")
    put("derived.log_clocks", run="STR-1", offset_min=60.0)

    row = row_of(frames()["run_curves"], run="STR-1")

    assert (row["hearts_from_apart_min"], row["hearts_to_apart_min"], row["line"]) == (2.0, -12.0, 7)


def test_what_the_log_has_no_strength_for_is_compared_by_volume(curve, put, frames, row_of):
    """Alcohol where the log and the receiver both have it, else volume, never both."""
    curve()
    put(
        "derived.curve_cuts", run="STR-1", part="hearts", volume_l=250.0, u_volume_l=3.0, alcohol_l=200.0,
        gauged_volume_l=248.0, u_gauged_volume_l=4.0, gauged_alcohol_l=198.0, u_difference_l=2.0,
    )  # fmt: skip
    by_alcohol = row_of(frames()["run_curves"], run="STR-1")
    put("typed.runs", run="REC-1", stage="rectify", equipment="R1", started_at="2031-01-02 05:00")
    put("derived.run_curves", run="REC-1", equipment="R1", band="no band yet", band_runs=0)
    put(
        "derived.curve_cuts", run="REC-1", part="hearts", volume_l=250.0, u_volume_l=3.0, gauged_volume_l=248.0,
        u_gauged_volume_l=4.0, gauged_alcohol_l=230.0,
    )  # fmt: skip
    by_volume = row_of(frames()["run_curves"], run="REC-1")

    assert (by_alcohol["logged_alcohol_l"], by_alcohol["gauged_alcohol_l"]) == (200.0, 198.0)
    assert by_alcohol["gauged_volume_l"] is None
    assert (by_volume["logged_volume_l"], by_volume["gauged_volume_l"], by_volume["u_volume_difference_l"]) == (
        250.0, 248.0, 5.0,
    )  # fmt: skip
    assert by_volume["gauged_alcohol_l"] is None
    assert by_volume["stages_needed"] is None


@pytest.mark.parametrize(
    ("band", "distance", "expected"),
    [
        ("within", 0.9, 0.5),
        ("within", 1.79, 1.0),
        ("left", 1.81, 1.1),
        ("left", 3.6, 2.0),
        ("left", 2.23, 1.2),
        ("within", 0.83, 0.5),
        ("no band yet", None, None),
    ],
)
def test_the_band_is_told_in_tenths(curve, frames, row_of, band, distance, expected):
    """Rounded, yet a run that left the band never reads as within it, nor one within as out."""
    curve(band=band, distance=distance)

    assert row_of(frames()["run_curves"], run="STR-1")["of_the_band"] == expected


def test_a_strength_above_the_azeotrope_needs_no_end_of_stages(curve, frames, row_of):
    """Where no number of stages is enough, the number is infinite and not unknown."""
    curve(stages_needed=None)

    assert row_of(frames()["run_curves"], run="STR-1")["stages_needed"] == float("inf")


def test_findings_are_counted_by_kind(curve, put, frames, row_of):
    """Each kind of each logged run has its row, with 0 where nothing was found; the note names sensor and size."""
    curve(vapour_residual_c=0.1)
    for tag, kind, detail in [
        ("column_temperature_c", "stuck", "78.67 for 94 min"),
        ("distillate_flow_l_h", "spike", "3 readings"),
        ("vapour_temperature_c", "spike", "1 reading"),
        ("pot_temperature_c", "off equilibrium", "pot +3.0 K from equilibrium; most likely the pot thermometer"),
    ]:
        put("derived.curve_findings", run="STR-1", tag=tag, kind=kind, detail=detail, from_at="2031-01-01 07:00")

    findings = frames()["curve_findings"]

    found = {row["kind"]: (row["times_found"], row["note"]) for row in findings.to_dicts()}
    assert found["stuck"] == (1, "column temperature 78.67 for 94 min")
    assert found["spike"][0] == 2
    assert found["pot off equilibrium"][0] == 1
    assert found["drift"] == (0, None)


def test_vapour_off_equilibrium_is_no_finding_of_the_pot(curve, put, frames, row_of):
    """What the vapour's residual tells is told by its own rule alone, with the sensor that is most likely wrong."""
    curve(vapour_residual_c=3.0, likely_wrong="vapour_temperature_c")
    words = "vapour +3.0 K from equilibrium; most likely the vapour thermometer (+3.0 K)"
    put("derived.curve_findings", run="STR-1", tag="vapour_temperature_c", kind="off equilibrium", detail=words)

    frames = frames()

    assert row_of(frames["curve_findings"], kind="pot off equilibrium")["times_found"] == 0
    assert row_of(frames["run_curves"], run="STR-1")["note"] == words
