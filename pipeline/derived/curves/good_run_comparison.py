"""Each run beside the good runs of its still and recipe: in the band, out of it, or without one yet."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gaugebook.pipeline.derived.curves.phase_profiles import PLACES, TAGS, floors, stacked, times_of_places
from gaugebook.pipeline.derived.curves.records import COLUMN, FLOW, NAN, POT, REFLUX, STRENGTH, VAPOUR, RunCurve
from gaugebook.pipeline.statistics.log_finding import Finding
from gaugebook.pipeline.statistics.run_band import LEAST_RUNS, Band, band, distance, outside

Array = NDArray[np.float64]

MOST_RUNS = 40  # the latest good ones: a still changes, and an old band would not know
UNITS = {POT: "K", COLUMN: "K", VAPOUR: "K", STRENGTH: "% vol", FLOW: "L/h", REFLUX: ""}
_ALL = sum(PLACES.values())


@dataclass(frozen=True)
class Comparison:
    """What the band says of one run."""

    runs: int
    band: str
    distance: float = NAN
    limit: float = NAN
    findings: tuple[Finding, ...] = ()


def compared(curves: Sequence[RunCurve], good: Sequence[bool]) -> list[Comparison]:
    """The runs of one still and recipe, in order of time, each against the good ones; never against itself."""
    rows = stacked([curve.profile for curve in curves]) if curves else np.empty((0, 0))
    chosen = [place for place, fit in enumerate(good) if fit][-MOST_RUNS:]
    least = floors(rows)
    whole = band(rows[chosen], least) if len(chosen) >= LEAST_RUNS else None
    return [_one(curve, rows, place, chosen, least, whole) for place, curve in enumerate(curves)]


def _one(curve: RunCurve, rows: Array, place: int, chosen: list[int], least: Array, whole: Band | None) -> Comparison:
    against = whole
    if place in chosen:
        others = [other for other in chosen if other != place]
        against = band(rows[others], least) if len(others) >= LEAST_RUNS else None
    count = len(chosen) - (place in chosen)
    if against is None or not curve.profile:
        return Comparison(count, "no band yet" if against is None else "no curve")
    away = distance(rows[place], against)
    if not away > against.limit:
        return Comparison(count, "within", away, against.limit)
    return Comparison(count, "left", away, against.limit, tuple(_left(curve, rows[place], against)))


def _left(curve: RunCurve, row: Array, against: Band) -> list[Finding]:
    """Where, in which tag, and how far."""
    at = times_of_places(curve)
    names = [name for name, count in PLACES.items() for _ in range(count)]
    findings = []
    for number, tag in enumerate(TAGS):
        span = slice(number * _ALL, (number + 1) * _ALL)
        part = Band(against.mean[span], against.sd[span], against.low[span], against.high[span], against.runs, NAN)
        for first, last in outside(row[span], part):
            away = row[span][first : last + 1] - part.mean[first : last + 1]
            most = float(away[int(np.argmax(np.abs(away)))])
            far = f"{most:+.3g} {UNITS[tag]}".rstrip()
            words = f"{far} from its mean, {_where(names[first], names[last])}"
            findings.append(Finding("left the band", tag, float(at[first]), float(at[last]), most, words))
    return findings


def _where(first: str, last: str) -> str:
    return first if first == last else f"{first} to {last}"


def band_against(curves: Sequence[RunCurve], good: Sequence[bool], place: int) -> Band | None:
    """The band that the run at a place stands against; None with fewer than eight other good runs."""
    chosen = [other for other, fit in enumerate(good) if fit][-MOST_RUNS:]
    others = [other for other in chosen if other != place]
    if len(others) < LEAST_RUNS:
        return None
    rows = stacked([curve.profile for curve in curves])
    return band(rows[others], floors(rows))
