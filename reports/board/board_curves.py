"""Run curves small enough for a page: whole numbers, each the step from the one before.

A line keeps the least and the greatest value of each stretch of time, so a spike stays one. How many stretches there
are follows from what the page may weigh: a year of a large house has a thousand runs.
"""

import json
from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Any

from gaugebook.reports.runs.run_figures import RunFigure

MOST_POINTS, FEWEST_POINTS = 160, 60  # of one line
ROOM = 1_300_000  # bytes that the curves of one page may take; what is older has none
_BYTES_A_POINT = 9  # its part of the band and of the names counted
_PER_HOUR = 1000  # hours are kept to a thousandth, values to the decimals of their tag
DECIMALS = {"pressure_kpa": 2, "reflux_ratio": 2}
_BAND_POINTS = 32
_ASIDE_POINTS = 40


def packed_curves(figures: dict[str, RunFigure]) -> tuple[dict[str, int], list[dict[str, Any]]]:
    """By run the place of its curve, -1 where the page has no room for it, and the curves; the newest come first."""
    lines = sum(len(figure.series) for figure in figures.values())
    points = max(FEWEST_POINTS, min(MOST_POINTS, ROOM // (_BYTES_A_POINT * lines))) if lines else MOST_POINTS
    places: dict[str, int] = {}
    curves: list[dict[str, Any]] = []
    room = ROOM
    for run, figure in reversed(figures.items()):
        curve = _packed(figure, points) if room > 0 else None
        places[run] = -1 if curve is None else len(curves)
        if curve is not None:
            curves.append(curve)
            room -= len(json.dumps(curve, separators=(",", ":")))
    return places, curves


def _packed(figure: RunFigure, points: int) -> dict[str, Any]:
    return {
        "series": {tag: _line(tag, line, points) for tag, line in figure.series.items()},
        "aside": {tag: _line(tag, line, _ASIDE_POINTS) for tag, line in figure.set_aside.items() if line},
        "clock": round(figure.clock_off_min),
        "cuts": [[cut.name, _hour(cut.sheet_h), _hour(cut.curve_h), _hour(cut.expanded_h), cut.by or ""]
                 for cut in figure.cuts],
        "band": {tag: _band(tag, line.hours, line.low, line.high) for tag, line in figure.band.items()},
        "standing": figure.band_standing,
        "good_runs": figure.band_runs,
        "findings": [[mark.kind, mark.tag or "", _hour(mark.from_h), _hour(mark.to_h), mark.detail]
                     for mark in figure.findings],
    }  # fmt: skip


def thinned(points: Sequence[tuple[float, float]], most: int) -> list[tuple[float, float]]:
    """The least and the greatest value of each of `most` / 2 stretches of time, with the first and the last point.

    Examples
    --------
    >>> thinned([(0, 1), (1, 9), (2, 1), (3, 1), (4, 2), (5, 1)], 4)
    [(0, 1), (1, 9), (3, 1), (4, 2), (5, 1)]
    """
    if len(points) <= most:
        return list(points)
    start, length = points[0][0], points[-1][0] - points[0][0] or 1.0
    stretches = max(most // 2, 1)
    by_stretch: dict[int, list[tuple[float, float]]] = {}
    for point in points:
        place = min(int((point[0] - start) / length * stretches), stretches - 1)
        by_stretch.setdefault(place, []).append(point)
    kept = {points[0], points[-1]}
    for part in by_stretch.values():
        kept |= {min(part, key=lambda point: point[1]), max(part, key=lambda point: point[1])}
    return sorted(kept)


def _line(tag: str, points: Sequence[tuple[float, float | None]], most: int) -> list[Any]:
    """Scale, steps of hours and steps of values; a step of None interrupts the line."""
    known = sum(value is not None for _, value in points)
    kept: list[tuple[float, float | None]] = []
    for there, group in groupby(points, key=lambda point: point[1] is not None):
        part = list(group)
        piece = [(hour, value) for hour, value in part if value is not None]
        kept += thinned(piece, max(2, most * len(piece) // known)) if there else [(part[0][0], None)]
    scale = 10 ** DECIMALS.get(tag, 1)
    hours = _steps(round(_PER_HOUR * hour) for hour, _ in kept)
    return [scale, hours, _steps(None if value is None else round(scale * value) for _, value in kept)]


def _band(tag: str, hours: Sequence[float], low: Sequence[float], high: Sequence[float]) -> list[Any]:
    every = max(1, len(hours) // _BAND_POINTS)
    scale = 10 ** DECIMALS.get(tag, 1)
    return [
        scale, _steps(round(_PER_HOUR * hour) for hour in hours[::every]),
        _steps(round(scale * value) for value in low[::every]), _steps(round(scale * value) for value in high[::every]),
    ]  # fmt: skip


def _steps(numbers: Iterable[int | None]) -> list[int | None]:
    """Each number as the step from the one before, the first from zero; None stays None.

    Examples
    --------
    >>> _steps([100, 101, None, 99])
    [100, 1, None, -2]
    """
    steps: list[int | None] = []
    before = 0
    for number in numbers:
        steps.append(None if number is None else number - before)
        before = before if number is None else number
    return steps


def _hour(hours: float | None) -> float | None:
    return None if hours is None else round(hours, 3)
