"""Usual losses: median and scaled median absolute deviation of eight of a kind and more."""

import pytest


def test_median_and_scatter_of_eight_runs(put, made_by):
    """Eight of 200 LPA that lose 1 to 8 LPA; runs without a loss or without a charge are none of them."""
    for number in range(1, 9):
        put("derived.run_balances", run=f"S-{number}", stage="strip", alcohol_in_l=200.0, loss_l=float(number))
    put("derived.run_balances", run="S-9", stage="strip", alcohol_in_l=200.0, loss_l=None)
    put("derived.run_balances", run="S-10", stage="strip", alcohol_in_l=0.0, loss_l=0.0)

    (row,) = made_by("usual_losses")

    assert (row["of_what"], row["kind"], row["number"]) == ("run", "strip", 8)
    # 0.005, 0.010 ... 0.040: middle of 0.020 and 0.025; distances 0.0025 and 0.0075, 0.0125, 0.0175, each twice: 0.010
    assert row["fraction"] == pytest.approx(0.0225)
    assert row["scatter"] == pytest.approx(1.4826 * 0.010)


def test_lots_that_all_leave_the_same_still_scatter_by_half_a_thousandth(put, made_by):
    """Eight lots of hearts of 50 LPA that leave 0.2 LPA."""
    for number in range(8):
        put("derived.lots", lot=f"H-{number}", material="hearts", quantity_in=50.0)
        put("derived.used_up_lots", lot=f"H-{number}", left_l=0.2)

    (row,) = made_by("usual_losses")

    assert (row["of_what"], row["kind"], row["number"]) == ("lot", "hearts", 8)
    assert (row["fraction"], row["scatter"]) == (pytest.approx(0.004), 0.0005)


def test_seven_are_no_usage(put, made_by):
    """Not of runs of one stage, even where another has seven more."""
    for number in range(7):
        for stage in ("strip", "rectify"):
            put("derived.run_balances", run=f"{stage}-{number}", stage=stage, alcohol_in_l=100.0, loss_l=1.0)

    assert made_by("usual_losses") == []
