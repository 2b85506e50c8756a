"""What a verdict on a run rests on, on balances put in by hand."""

import pytest


def _balance(put, **more):
    row = {"run": "R", "stage": "strip", "alcohol_in_l": 100.0, "alcohol_out_l": 99.0, "hearts_l": 90.0, "loss_l": 1.0}
    put("derived.run_balances", **row | {"u_loss_l": 1.0} | more)
    put("derived.gauges", run="R", gauge=1, direction="in", lot="W", part="wash", u_alcohol_l=0.8, strength_is="true")
    put(
        "derived.gauges", run="R", gauge=2, direction="out", lot="S", part="hearts", u_alcohol_l=0.6, strength_is="true"
    )
    put("derived.run_uncertainties", run="R", limiting_gauge=1, limiting_share=0.64)


@pytest.mark.parametrize(
    ("loss_l", "u_loss_l", "verdict"),
    [
        (2.01, 1.0, "loses"), (2.0, 1.0, "closes"), (-2.0, 1.0, "closes"), (-2.01, 1.0, "gains"),
        # 2 u of 2.02 is above 2 % of 100 LPA: a loss of 2 LPA could not have been seen
        (1.0, 1.01, "cannot tell"), (2.5, 1.01, "loses"), (None, None, "cannot tell"),
    ],
)  # fmt: skip
def test_a_verdict_is_by_twice_the_uncertainty(put, made_by, loss_l, u_loss_l, verdict):
    """Both ways, and where that is more than 2 % of the charge nothing is said."""
    _balance(put, loss_l=loss_l, u_loss_l=u_loss_l)

    (row,) = made_by("run_verdicts")

    assert row["verdict"] == verdict


def test_the_limiting_gauge_is_named(put, made_by):
    """With its own uncertainty and its share; the share only where there is an uncertainty to share."""
    _balance(put)

    (row,) = made_by("run_verdicts")

    assert (row["limited_by_lot"], row["limited_by_direction"], row["limiting_u_l"]) == ("W", "in", 0.8)
    assert (row["limiting_share"], row["not_computed"]) == (0.64, None)


def test_without_a_balance_there_is_no_share_but_a_reason(put, made_by):
    """Each gauge that is missing, in order; where none is, that nothing was gauged on one side."""
    _balance(put, loss_l=None, u_loss_l=None)
    (row,) = made_by("run_verdicts")
    assert (row["limiting_share"], row["not_computed"]) == (None, "nothing was gauged in or nothing out")


def test_the_missing_gauges_are_told(put, made_by):
    """By lot, what goes in first."""
    _balance(put, loss_l=None)
    put("derived.gauges", run="R", direction="out", lot="T", part="tails", not_computed="no strength")
    put("derived.gauges", run="R", direction="in", lot="V", part="wash", not_computed="no volume")

    (row,) = made_by("run_verdicts")

    assert row["not_computed"] == "V: no volume; T: no strength"


def test_an_apparent_strength_leaves_no_verdict(put, made_by):
    """Whatever the loss seems to be."""
    _balance(put, loss_l=50.0)
    put("derived.gauges", run="R", direction="out", lot="L", part="liquid", strength_is="apparent")

    (row,) = made_by("run_verdicts")

    assert row["verdict"] == "cannot tell"


def test_the_usual_loss_is_of_this_stage_and_this_charge(put, made_by):
    """1.5 % and 0.4 % of 100 LPA; that of other stages and of lots is none of its."""
    _balance(put)
    put("derived.usual_losses", of_what="run", kind="strip", fraction=0.015, scatter=0.004)
    put("derived.usual_losses", of_what="run", kind="rectify", fraction=0.5, scatter=0.5)
    put("derived.usual_losses", of_what="lot", kind="strip", fraction=0.5, scatter=0.5)

    (row,) = made_by("run_verdicts")

    assert (row["usual_loss_l"], row["u_usual_loss_l"]) == (pytest.approx(1.5), pytest.approx(0.4))


def test_net_recovery_is_of_what_stayed_with_the_run(put, made_by):
    """10 LPA of feints came in; of its own 8 LPA of tails and 2 of heads went into a later run, 3 LPA did not."""
    _balance(put)
    put("derived.gauges", run="R", direction="in", lot="F-0", part="feints", alcohol_l=6.0)
    put("derived.gauges", run="R", direction="in", lot="F-1", part="heads", alcohol_l=4.0)
    for lot, part, alcohol_l, drawn in (("T", "tails", 8.0, 1), ("H", "heads", 2.0, 1), ("X", "foreshots", 3.0, 0)):
        put("derived.gauges", run="R", direction="out", lot=lot, part=part, alcohol_l=alcohol_l)
        put("derived.lots", lot=lot, drawn_by_runs=drawn)

    (row,) = made_by("run_verdicts")

    assert (row["feints_in_l"], row["feints_out_l"]) == (10.0, 10.0)
    assert row["net_recovery"] == pytest.approx(1.0)  # 90 LPA of hearts of the 100 - 10 that stayed


def test_net_recovery_needs_every_gauge(put, made_by):
    """With a missing one there is none, nor where all the charge was handed on."""
    _balance(put, missing_gauges="tails T")
    assert made_by("run_verdicts")[0]["net_recovery"] is None


def test_net_recovery_of_nothing_is_none(put, made_by):
    """All of the charge was handed on as feints."""
    _balance(put)
    put("derived.gauges", run="R", direction="out", lot="T", part="tails", alcohol_l=100.0)
    put("derived.lots", lot="T", drawn_by_runs=1)

    assert made_by("run_verdicts")[0]["net_recovery"] is None


@pytest.mark.parametrize(("mass_kg", "sums"), [(30.0, (100.0, 80.0)), (None, (100.0, None))])
def test_masses_are_added_up_where_all_were_weighed(put, made_by, mass_kg, sums):
    """On either side by itself; packaging is none of them."""
    put("derived.run_balances", run="R", stage="strip", loss_l=0.0, u_loss_l=1.0, alcohol_in_l=100.0)
    for direction, lot, part, weighed in (
        ("in", "A", "wash", 60.0), ("in", "B", "wash", 40.0), ("out", "C", "hearts", 50.0),
        ("out", "D", "tails", mass_kg), ("in", "G", "packaging", None), ("out", "P", "packaging", 5.0),
    ):  # fmt: skip
        put("derived.gauges", run="R", direction=direction, lot=lot, part=part, mass_kg=weighed)

    (row,) = made_by("run_verdicts")

    assert (row["mass_in_kg"], row["mass_out_kg"]) == sums
