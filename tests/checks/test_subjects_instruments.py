"""The frames over instruments, dips and clocks: which check stands for which reading; rows by hand, all made up."""

import pytest


def columns(row, names):
    """The values of these columns of a row, in their order."""
    return tuple(row[name] for name in names.split())


def test_readings_of_every_kind_are_counted_by_instrument(put, frames, row_of):
    """A movement, a result, a fill and a dip, of which the two after the due date are overdue; on the day of the check
    itself it counts, and a reading without a time does not."""
    put("typed.calibrations", instrument="HYD-1", checked_at="2031-01-01", reference_value=40, reading=40.1,
        unit="pct_vol", due_at="2031-07-01")  # fmt: skip
    move = {"run": "R", "direction": "out", "lot": "L", "part": "hearts", "instrument": "HYD-1"}
    put("typed.movements", gauged_at="2031-01-01", **move)
    put("typed.movements", **move)
    put("typed.movements", gauged_at="2031-07-01", **move)
    put("typed.laboratory", sample="S", lot="A", analyte="strength", value=40.0, below_limit=False, unit="pct_vol",
        instrument="HYD-1", measured_at="2031-08-02")  # fmt: skip
    put("typed.stock", vessel="V", lot="A", gauged_at="2031-08-01", volume_at_t_l=9.0, instrument="HYD-1")

    row = row_of(frames()["instruments"], instrument="HYD-1")

    assert columns(row, "readings_overdue note") == (2, "of 4 readings, first on 2031-08-01")
    assert row["instrument_in_profile"] == "HYD-1"


def test_a_check_at_several_references_is_told_by_the_worst(put, frames):
    """Off by 0.1 at 40 and by 0.6 at 60: 0.6 stands; a reading at the very moment of the check is before it."""
    for reference, reading in ((40, 40.1), (60, 59.4)):
        put("typed.calibrations", instrument="HYD-1", checked_at="2031-02-01", reference_value=reference,
            reading=reading, unit="pct_vol")  # fmt: skip
    move = {"direction": "out", "lot": "L", "part": "hearts", "instrument": "HYD-1"}
    put("typed.movements", run="R-1", gauged_at="2031-02-01", line=5, **move)
    put("typed.movements", run="R-1", gauged_at="2031-01-01", line=9, **move)
    put("typed.movements", run="R-2", **move)

    (row,) = frames()["vouched"].to_dicts()

    assert row["error"] == pytest.approx(0.6)
    assert columns(row, "run line note") == ("R-1", 9, "2 readings, pct_vol")
    assert row["record"] == "run R-1, read with HYD-1 before its check on 2031-02-01"


def test_each_dip_has_its_own_reading(put, frames):
    """Written down twice for the same moment, and of another tank in the same file: each line with what it reads."""
    for vessel, line, reading in (("T1", 4, 60.0), ("T1", 5, 61.0), ("T2", 6, 62.0)):
        place = {"vessel": vessel, "lot": "L-1", "gauged_at": "2031-02-28 18:00", "source_id": 1, "line": line}
        put("typed.stock", volume_at_t_l=9.0, strength_reading=reading, reading_kind="pct_vol_20c", **place)
        put("derived.stock_gauges", **place)

    assert frames()["dips"].select("line", "strength_reading").rows() == [(4, 60.0), (5, 61.0), (6, 62.0)]


def test_a_tag_that_is_not_known_is_counted_all_the_same(put, frames, row_of):
    """A probe of the house's own keeps its row, as no temperature."""
    put("typed.runs", run="R-1", stage="strip", equipment="S1", started_at="2031-01-01")
    put("derived.log_summaries", run="R-1", equipment="S1", tag="hum_of_the_pump", points=9, expected_points=10)

    assert columns(row_of(frames()["log_tags"], run="R-1"), "kind points_present") == ("other", 0.9)


def test_the_worst_of_several_references_is_worst_by_its_own_uncertainty(put, frames):
    """0.15 % vol of the alcoholmeter are about 0.2 kg/m3 at 950 kg/m3 (some 40 % vol) and 0.5 at 810 (some 96 %),
    since there the density falls faster with strength (OIML R 22): 0.40 is two of the first, 0.45 less than one of the
    second, and 0.1 % vol less than one of its own."""
    for unit, reference, error in (("pct_vol", 40.0, 0.1), ("kg/m3", 950.0, 0.40), ("kg/m3", 810.0, 0.45)):
        put("typed.calibrations", instrument="HYD-1", checked_at="2031-02-01", reference_value=reference,
            reading=reference + error, unit=unit)  # fmt: skip
    put("typed.movements", run="R-1", gauged_at="2031-01-01", direction="out", lot="L", part="hearts",
        instrument="HYD-1")  # fmt: skip

    (row,) = frames()["vouched"].to_dicts()

    assert (row["error"], row["note"]) == (pytest.approx(0.40), "1 readings, kg/m3")
    assert row["u_instrument"] == pytest.approx(0.2, abs=0.05)


def test_a_clock_is_placed_at_its_own_run(put, frames):
    """Of two runs each has the line of its run sheet."""
    for run, line, offset_min in (("R-1", 4, 0.0), ("R-2", 9, 61.0)):
        put("typed.runs", run=run, stage="strip", equipment="S1", started_at=f"2031-01-0{line}", line=line)
        put("derived.log_clocks", run=run, equipment="S1", started_at=f"2031-01-0{line}", offset_min=offset_min)

    rows = frames()["log_clocks"].select("record", "line", "offset_min").rows()

    assert rows == [("run R-1", 4, 0.0), ("run R-2", 9, 61.0)]
