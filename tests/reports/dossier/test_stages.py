"""Sums over a stage."""

from dataclasses import fields

import pytest

from pipeline.database import open_book
from pipeline.flow import house_of
from reports.dossier.alcohol_flow import flow_steps
from reports.dossier.batch import batch_codes, gather_batch
from reports.dossier.records import Balance
from reports.dossier.stages import PartSum, balance_of, contraction, flags_by_stage

STOPS = "stops release"


def part(direction: str, volume_l: float | None, u_volume_l: float | None) -> PartSum:
    """A sum of gauges with this volume."""
    return PartSum(direction, "spirit", 1, None, volume_l, u_volume_l, None, None, 0)


def test_contraction_carries_the_uncertainty_of_all_volumes():
    """50 L and 30 L made 77 L: 3 L are missing, 3.75 % of 80, with 0.3, 0.4 and 1.2 L put together by squares (made
    up)."""
    missing = contraction([part("in", 50.0, 0.3), part("in", 30.0, 0.4), part("out", 77.0, 1.2)])
    assert missing == pytest.approx((3.0, 1.3, 0.0375))


def test_no_contraction_is_told_of_one_side_alone():
    """What did not come out, or came out without a volume, cannot be compared."""
    assert contraction([part("in", 50.0, 0.3), part("out", None, None)]) is None


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

    stage = balance_of([whole, lacking], "strip")

    assert stage is not None
    assert (stage.alcohol_in_l, stage.recovery, stage.closure) == (200.0, pytest.approx(0.90), None)
    assert (stage.missing_gauges, stage.parts_not_computed) == ("spent SPENT-B", 1)
    assert flow_steps([("strip", stage)]) == ()


def test_a_run_without_its_charge_does_not_raise_the_recovery_of_its_stage():
    """Hearts of a run whose charge is not known are not set against the charge of another (made up)."""
    whole = run_of("A", alcohol_in_l=100.0, hearts_l=92.0, recovery=0.92)
    lacking = run_of("B", hearts_l=88.0, parts_not_computed=1, missing_gauges="wash WASH-B")

    stage = balance_of([whole, lacking], "strip")

    assert stage is not None
    assert stage.recovery == pytest.approx(0.92)


def test_each_flag_is_counted_at_one_stage(sample_book):
    """Of every batch of the sample the stages' flags together are the batch's, each once: also the one on a lot or on
    the batch itself that stops the release. What stops the gin with too little coriander stands at the still where it
    was weighed; what stops the akvavit of a wrong label strength at the bottling (sample_logs/planted_faults.toml)."""
    stops = {}
    with open_book(sample_book) as book:
        house = house_of(book)
        for code in batch_codes(book):
            batch = gather_batch(book, house, code)
            at = flags_by_stage(batch)
            told = [flag.flag for flags in at.values() for flag in flags]
            assert sorted(told) == sorted(flag.flag for flag in batch.flags)
            stops[code] = {(flag.rule, name) for name, flags in at.items() for flag in flags if flag.severity == STOPS}
    assert ("botanical-quantity", "botanical") in stops["GIN-2603A"]
    assert ("label-strength", "bottle") in stops["AKV-2609B"]
    assert any(rule == "lot-overdrawn" for rule, _ in set().union(*stops.values()))
