"""The month's figures: ratios of sums, their standard error, the house's own calendar."""

from datetime import date

import pytest


def _rows(made_by, measure):
    return {(row["month"].month, row["equipment"]): row for row in made_by("monthly", f"measure = '{measure}'")}


def test_recovery_of_a_month_is_a_ratio_of_sums(put, made_by, empty_book):
    """Three strips on two stills; one that lacks its hearts is left out and counted, one that has not ended is not."""
    for run, still, end, hearts, charge in (
        ("A", "POT", "2031-03-05", 80.0, 100.0),
        ("B", "POT", "2031-03-31 23:30", 270.0, 300.0),  # 00:30 of April in a house one hour ahead of UTC
        ("C", "COLUMN", "2031-03-09", 150.0, 200.0),
        ("D", "POT", "2031-03-10", None, 100.0),
        ("E", "POT", None, 70.0, 100.0),
        ("F", "POT", "2031-03-12", 10.0, None),
    ):
        put(
            "derived.run_balances", run=run, stage="strip", equipment=still, ended_at=end, hearts_l=hearts,
            alcohol_in_l=charge, alcohol_out_l=95.0 if run == "A" else None, missing_gauges=None if run == "A" else "x",
        )  # fmt: skip
    empty_book.execute("SET VARIABLE house_zone = 'Etc/GMT-1'")

    rows = _rows(made_by, "strip_recovery")
    closures = _rows(made_by, "strip_closure")

    assert rows.keys() == {(3, "POT"), (3, "COLUMN"), (3, None), (4, "POT"), (4, None)}
    every = rows[3, None]
    assert every["month"] == date(2031, 3, 1)
    assert (every["numerator"], every["denominator"]) == (230.0, 300.0)
    assert every["ratio"] == pytest.approx(230.0 / 300.0)
    assert (every["runs"], every["runs_left_out"]) == (2, 2)
    # residuals of 80 - 0.76667 x 100 = 3.33333 and 150 - 0.76667 x 200 = -3.33333; sum of squares 22.2222;
    # sqrt(22.2222 / (2 x 1)) / (300 / 2) = 3.33333 / 150
    assert every["u_ratio"] == pytest.approx(0.0222222, abs=1e-6)
    pot = rows[3, "POT"]
    assert (pot["numerator"], pot["denominator"], pot["runs"], pot["runs_left_out"]) == (80.0, 100.0, 1, 2)
    assert pot["u_ratio"] is None
    assert (closures[3, None]["numerator"], closures[3, None]["runs"]) == (95.0, 1)
    assert closures[3, None]["runs_left_out"] == 3


def test_three_runs_share_their_scatter(put, made_by):
    """Of 90, 190 and 305 out of 100, 200 and 300: R = 0.975."""
    for run, hearts, charge in (("A", 90.0, 100.0), ("B", 190.0, 200.0), ("C", 305.0, 300.0)):
        put(
            "derived.run_balances", run=run, stage="rectify", equipment="COLUMN", ended_at="2031-03-05",
            hearts_l=hearts, alcohol_in_l=charge,
        )  # fmt: skip

    row = _rows(made_by, "rectify_recovery")[3, "COLUMN"]

    # residuals -7.5, -5 and 12.5: 56.25 + 25 + 156.25 = 237.5; sqrt(237.5 / (3 x 2)) / 200
    assert row["u_ratio"] == pytest.approx((237.5 / 6) ** 0.5 / 200)


def test_yields_go_by_tonne_and_by_prediction(put, made_by):
    """400 LPA of 1000 kg, of which 420 were predicted."""
    put(
        "derived.ferment_yields", run="F", ended_at="2031-05-02", alcohol_l=400.0, grain_kg=1000.0,
        predicted_alcohol_l=420.0,
    )  # fmt: skip

    assert _rows(made_by, "yield_l_per_t")[5, None]["ratio"] == pytest.approx(400.0)
    assert _rows(made_by, "yield_against_prediction")[5, None]["ratio"] == pytest.approx(400 / 420)


def test_batches_stand_in_the_month_of_their_bottling(put, made_by):
    """Of 50 LPA drawn 49 are in bottles, all fermented here, of 70 that the grain promised."""
    put("derived.bottlings", batch="B", bottled_at="2031-06-02", alcohol_in_l=50.0, alcohol_bottled_l=49.0)
    put("derived.batch_yields", batch="B", alcohol_bottled_l=49.0, own_alcohol_l=49.0, predicted_alcohol_l=70.0)

    assert _rows(made_by, "grain_to_bottle")[6, None]["ratio"] == pytest.approx(0.7)
    loss = _rows(made_by, "bottling_loss")[6, None]
    assert (loss["numerator"], loss["ratio"]) == (1.0, pytest.approx(0.02))


def test_a_month_without_a_charge_has_no_ratio(put, made_by):
    """Nought in."""
    put(
        "derived.run_balances", run="A", stage="botanical", equipment="POT", ended_at="2031-03-05", hearts_l=0.0,
        alcohol_in_l=0.0,
    )  # fmt: skip

    assert _rows(made_by, "botanical_recovery")[3, "POT"]["ratio"] is None
