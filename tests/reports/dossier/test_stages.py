"""Sums over a stage."""

import pytest

from reports.dossier.stages import PartSum, contraction


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
