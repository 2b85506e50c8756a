"""Gauges behind a batch whose strength is not the true one: what the first page says of them."""

from dataclasses import dataclass

from gaugebook.reports.dossier.records import Batch


@dataclass(frozen=True)
class NotTrue:
    """Lots gauged by strengths that are apparent or estimated, and the litres that rest on them [LPA]."""

    strength_is: str
    lots: tuple[str, ...]
    alcohol_l: float


def not_true(batch: Batch) -> tuple[NotTrue, ...]:
    """Apparent first, then estimated; of a lot that was gauged several times its largest gauge counts."""
    strengths = []
    for strength_is in ("apparent", "estimated"):
        largest: dict[str, float] = {}
        for stage in batch.stages:
            for gauge in stage.gauges:
                if gauge.strength_is == strength_is:
                    largest[gauge.lot] = max(largest.get(gauge.lot, 0.0), gauge.alcohol_l or 0.0)
        if largest:
            strengths.append(NotTrue(strength_is, tuple(sorted(largest)), sum(largest.values())))
    return tuple(strengths)
