"""Sums over a stage, with the errors that its gauges share."""

from dataclasses import fields
from typing import Any

import pytest

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import profile_in_force
from gaugebook.reports.dossier.alcohol_flow import flow_steps
from gaugebook.reports.dossier.batch import batch_codes, gather_batch
from gaugebook.reports.dossier.gauge_errors import GaugeErrors
from gaugebook.reports.dossier.records import Balance, Gauge, Stage
from gaugebook.reports.dossier.stage_sums import balance_of, contraction, part_sums
from gaugebook.reports.dossier.stages import flags_by_stage

STOPS = "stops release"


def gauge(number: int, run: str, direction: str, part: str, volume_l: float | None, alcohol_l: float | None) -> Gauge:
    """A gauge of which only this is known."""
    known: dict[str, Any] = dict.fromkeys(field.name for field in fields(Gauge))
    known |= {"gauge": number, "run": run, "direction": direction, "lot": f"L{number}", "part": part}
    return Gauge(**known | {"volume_l": volume_l, "alcohol_l": alcohol_l})


def test_contraction_carries_the_uncertainty_of_all_volumes():
    """50 L and 30 L made 77 L: 3 L are missing, 3.75 % of 80, with 0.3, 0.4 and 1.2 L put together by squares (made
    up)."""
    gauges = [gauge(1, "R", "in", "spirit", 50.0, None), gauge(2, "R", "in", "water", 30.0, None)]
    gauges.append(gauge(3, "R", "out", "spirit", 77.0, None))
    alone = GaugeErrors({1: {"gauge 1": 0.3}, 2: {"gauge 2": 0.4}, 3: {"gauge 3": 1.2}}, {})

    missing = contraction(gauges, alone)

    assert missing is not None
    assert (missing.missing_l, missing.u_missing_l, missing.share) == pytest.approx((3.0, 1.3, 0.0375))


def test_one_scale_cancels_between_in_and_out():
    """Gauged in one tank that is wrong by 1 %, what is missing is wrong by 1 % of itself."""
    gauges = [gauge(1, "R", "in", "spirit", 80.0, None), gauge(2, "R", "out", "spirit", 77.0, None)]
    missing = contraction(gauges, GaugeErrors({1: {"vessel T": 0.8}, 2: {"vessel T": 0.77}}, {}))

    assert missing is not None
    assert missing.u_missing_l == pytest.approx(0.03)


def test_no_contraction_is_told_of_one_side_alone():
    """What did not come out, or came out without a volume, cannot be compared."""
    gauges = [gauge(1, "R", "in", "spirit", 50.0, None), gauge(2, "R", "out", "spirit", None, None)]

    assert contraction(gauges, GaugeErrors({1: {"gauge 1": 0.3}}, {})) is None


def test_runs_by_one_instrument_make_one_balance():
    """Two runs of 100 LPA in and 90 out, all by one instrument that gives 1 % of each: the sums carry 1 %, the loss 1 %
    of itself, the recovery nothing; with errors of their own they add in squares (worked out by hand)."""
    gauges, balances = [], {}
    for n, run in enumerate(("A", "B")):
        gauges += [gauge(2 * n, run, "in", "wash", None, 100.0), gauge(2 * n + 1, run, "out", "hearts", None, 90.0)]
        known = dict.fromkeys(field.name for field in fields(Balance)) | {"run": run, "loss_l": 10.0}
        balances[run] = Balance(**known | {"alcohol_in_l": 100.0, "hearts_l": 90.0, "alcohol_out_l": 90.0})
    stage = Stage("strip", (), tuple(gauges), balances, {}, {})
    by_one = {row.gauge: {"instrument M": 0.01 * (row.alcohol_l or 0.0)} for row in gauges}
    by_each = {row.gauge: {f"gauge {row.gauge}": 0.01 * (row.alcohol_l or 0.0)} for row in gauges}

    shared, apart = (balance_of(stage, GaugeErrors({}, errors)) for errors in (by_one, by_each))

    assert shared is not None and apart is not None
    assert (shared.u_alcohol_in_l, shared.u_hearts_l, shared.u_loss_l) == pytest.approx((2.0, 1.8, 0.2))
    assert (shared.u_recovery, shared.u_closure) == pytest.approx((0.0, 0.0), abs=1e-12)
    assert (apart.u_alcohol_in_l, apart.u_loss_l) == pytest.approx((2**0.5, (2 * 1.0 + 2 * 0.81) ** 0.5))
    assert apart.u_recovery == pytest.approx(0.9 * (2 * 0.005**2 + 2 * (0.9 / 180) ** 2) ** 0.5)
    assert [part.u_alcohol_l for part in part_sums(stage.gauges, GaugeErrors({}, by_one))] == pytest.approx([2.0, 1.8])


def run_of(name: str, **known: float | str | int) -> Balance:
    """A run's balance with these figures and no other."""
    return Balance(**dict.fromkeys(field.name for field in fields(Balance)) | {"run": name} | known)


def test_a_stage_says_which_gauge_is_missing_and_closes_on_none():
    """Of two runs one lacks its stillage: charges and recovery (180 of 200) stand, closure does not (made up)."""
    whole = run_of("A", alcohol_in_l=100.0, alcohol_out_l=99.0, hearts_l=92.0, recovery=0.92, loss_l=1.0, closure=0.99)
    lacking = run_of(
        "B", alcohol_in_l=100.0, alcohol_out_l=90.0, hearts_l=88.0, recovery=0.88, parts_not_computed=1,
        missing_gauges="spent SPENT-B",
    )  # fmt: skip

    stage = balance_of(Stage("strip", (), (), {"A": whole, "B": lacking}, {}, {}), GaugeErrors({}, {}))

    assert stage is not None
    assert (stage.alcohol_in_l, stage.recovery, stage.closure) == (200.0, pytest.approx(0.90), None)
    assert (stage.missing_gauges, stage.parts_not_computed) == ("spent SPENT-B", 1)
    assert flow_steps([("strip", stage)]) == ()


def test_a_run_without_its_charge_does_not_raise_the_recovery_of_its_stage():
    """Hearts of a run whose charge is not known are not set against the charge of another (made up)."""
    whole = run_of("A", alcohol_in_l=100.0, hearts_l=92.0, recovery=0.92)
    lacking = run_of("B", hearts_l=88.0, parts_not_computed=1, missing_gauges="wash WASH-B")

    stage = balance_of(Stage("strip", (), (), {"A": whole, "B": lacking}, {}, {}), GaugeErrors({}, {}))

    assert stage is not None
    assert stage.recovery == pytest.approx(0.92)


def test_each_flag_is_counted_at_one_stage(sample_book):
    """Of every batch of the sample the stages' flags together are the batch's, each once: also the one on a lot or on
    the batch itself that stops the release. What stops the gin with too little coriander stands at the still where it
    was weighed; what stops the akvavit of a wrong label strength at the bottling (sample_logs/planted_faults.toml)."""
    stops = {}
    with open_book(sample_book) as book:
        house = profile_in_force(book)
        for code in batch_codes(book):
            batch = gather_batch(book, house, code)
            at = flags_by_stage(batch)
            told = [flag.flag for stage in batch.stages for flag in at.get(stage.name, ())]
            assert sorted(told) == sorted(flag.flag for flag in batch.flags)
            stops[code] = {(flag.rule, name) for name, flags in at.items() for flag in flags if flag.severity == STOPS}
    assert ("botanical-quantity", "botanical") in stops["GIN-2603A"]
    assert ("label-strength", "bottle") in stops["AKV-2609B"]
    assert any(rule == "lot-overdrawn" for rule, _ in set().union(*stops.values()))
