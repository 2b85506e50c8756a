"""The errors that the gauges of a batch carry, from which sums of them get their uncertainty."""

import math
from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class GaugeErrors:
    """What a standard uncertainty of each error gives to volume and alcohol of each gauge, by its number."""

    volume_l: dict[int, dict[str, float]]
    alcohol_l: dict[int, dict[str, float]]

    def u_volume_l(self, weights: Mapping[int, float]) -> float:
        """Standard uncertainty of a weighted sum of gauges' volumes."""
        return _u_of_sum(self.volume_l, weights)

    def u_alcohol_l(self, weights: Mapping[int, float]) -> float:
        """The same of their alcohol."""
        return _u_of_sum(self.alcohol_l, weights)


def _u_of_sum(given: dict[int, dict[str, float]], weights: Mapping[int, float]) -> float:
    """Each error's contributions are added with their signs before they are squared (GUM, JCGM 100:2008, 5.2.2)."""
    sums: dict[str, float] = {}
    for gauge, weight in sorted(weights.items()):
        for error, part in given.get(gauge, {}).items():
            sums[error] = sums.get(error, 0.0) + weight * part
    return math.fsum(value * value for value in sums.values()) ** 0.5
