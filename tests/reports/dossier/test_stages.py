"""Sums over a stage."""

import pytest

from pipeline.database import open_book
from pipeline.flow import house_of
from reports.dossier.batch import batch_codes, gather_batch
from reports.dossier.stages import PartSum, contraction, flags_by_stage

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
            told = [flag.flag for stage in batch.stages for flag in at.get(stage.name, ())]
            assert sorted(told) == sorted(flag.flag for flag in batch.flags)
            stops[code] = {(flag.rule, name) for name, flags in at.items() for flag in flags if flag.severity == STOPS}
    assert ("botanical-quantity", "botanical") in stops["GIN-2603A"]
    assert ("label-strength", "bottle") in stops["AKV-2609B"]
    assert any(rule == "lot-overdrawn" for rule, _ in set().union(*stops.values()))
