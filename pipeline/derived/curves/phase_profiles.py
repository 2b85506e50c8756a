"""Curves laid over each other by phase, not by clock, and the band of the good ones."""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from gaugebook.pipeline.derived.curves.records import COLUMN, FLOW, POT, REFLUX, STRENGTH, VAPOUR, RunCurve

Array = NDArray[np.float64]

# Places by phase, and what a tag's sensor cannot tell apart (flow and reflux: a part of the mean).
PLACES = {"heating": 12, "hearts": 40, "tails": 12}  # the heads, a few minutes, belong to the hearts' first place
FLOORS = {POT: 0.3, COLUMN: 0.3, VAPOUR: 0.3, STRENGTH: 0.3, FLOW: 0.03, REFLUX: 0.03}
RELATIVE = (FLOW, REFLUX)
TAGS = tuple(FLOORS)


def edges(curve: RunCurve) -> list[tuple[str, float, float]]:
    """The phases with their times; a cut that the curve does not show joins its neighbours."""
    stop = curve.hearts_to.at_s if np.isfinite(curve.hearts_to.at_s) else curve.end_s
    spans = [
        ("heating", curve.heat_from_s, curve.first_drop_s),
        ("hearts", curve.first_drop_s, stop),
        ("tails", stop, curve.end_s),
    ]
    return [(name, start, end) for name, start, end in spans if end > start]


def times_of_places(curve: RunCurve) -> Array:
    """Times of the places in this run [s]; NaN where it has no such phase."""
    spans = {name: (start, end) for name, start, end in edges(curve)}
    parts = []
    for name, count in PLACES.items():
        start, end = spans.get(name, (np.nan, np.nan))
        parts.append(start + (end - start) * (np.arange(count) + 0.5) / count)
    return np.concatenate(parts)


def profile(times_s: Array, values: Mapping[str, Array], curve: RunCurve) -> dict[str, tuple[float, ...]]:
    """Means of each tag over the stretch of each place; NaN where nothing was measured."""
    at = times_of_places(curve)
    values_of_tag = {}
    for tag in TAGS:
        series = values.get(tag)
        if series is None or not np.isfinite(series).any():
            continue
        there = np.isfinite(series) & (times_s >= curve.heat_from_s if np.isfinite(curve.heat_from_s) else True)
        values_of_tag[tag] = tuple(_means(times_s[there], series[there], at).tolist())
    return values_of_tag


def _means(t: Array, y: Array, at: Array) -> Array:
    """Mean of what lies nearer to a place than to its neighbours, else NaN."""
    order = np.flatnonzero(np.isfinite(at))
    means = np.full(at.size, np.nan)
    if order.size < 2 or not t.size:
        return means
    middles = (at[order][1:] + at[order][:-1]) / 2
    bounds = np.concatenate([[2 * at[order][0] - middles[0]], middles, [2 * at[order][-1] - middles[-1]]])
    place = np.searchsorted(bounds, t) - 1
    inside = (place >= 0) & (place < order.size)
    count = np.bincount(place[inside], minlength=order.size)
    total = np.bincount(place[inside], weights=y[inside], minlength=order.size)
    means[order] = np.where(count > 0, total / np.maximum(count, 1), np.nan)
    return means


def stacked(profiles: Sequence[Mapping[str, Sequence[float]]]) -> Array:
    """One row a run, all tags one after another; NaN where a run lacks a tag."""
    empty = [np.nan] * sum(PLACES.values())
    return np.array(
        [[value for tag in TAGS for value in profile.get(tag, empty)] for profile in profiles], dtype=np.float64
    )


def floors(rows: Array) -> Array:
    """Least standard deviation of each place."""
    places = sum(PLACES.values())
    least = np.concatenate([np.full(places, FLOORS[tag]) for tag in TAGS])
    for tag in RELATIVE:
        span = slice(TAGS.index(tag) * places, (TAGS.index(tag) + 1) * places)
        known = np.abs(rows[:, span])
        mean = float(np.nanmean(known)) if np.isfinite(known).any() else 1.0
        least[span] = FLOORS[tag] * mean
    return least
