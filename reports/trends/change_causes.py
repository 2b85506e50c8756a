"""What the runs of a change have in common that the others have not.

A level of an attribute (a malt lot, an operator) is named as the cause where its runs are those of the change and it
explains nearly as much of the scatter as the change does. It is not, where runs of another chart of the same measure
had it too and did not change: a malt lot that both stills worked up is not why one of them fell.
"""

from collections import defaultdict

import numpy as np

from gaugebook.pipeline.statistics.change_scan import Stretch
from gaugebook.reports.trends.group_shares import levels
from gaugebook.reports.trends.measures import Cause, Chart, Point

EXPLAINS = 0.8  # of what the change explains
INSIDE = 0.75  # of the runs of the change have the level
OUTSIDE = 0.15  # of the runs with the level, at most, lie outside
ALIKE = 0.8  # runs in common over runs of either
_ELSEWHERE = 3  # runs of another chart that can speak against a level
_ATTRIBUTES = ("malt lot", "operator", "recipe", "still")


def causes_of(chart: Chart, points: list[Point], stretch: Stretch, charts: tuple[Chart, ...]) -> tuple[Cause, ...]:
    """Levels that fall on the runs of a change, the most telling first; those on the same runs make one entry."""
    changed = np.zeros(len(points), dtype=bool)
    changed[stretch.first : stretch.last + 1] = True
    values = np.array([point.value for point in points])
    masks = _masks(points)
    causes = []
    for (attribute, level), has in masks.items():
        inside, outside = int((has & changed).sum()), int((has & ~changed).sum())
        if inside < INSIDE * changed.sum() or outside > OUTSIDE * has.sum():
            continue
        explains = _explained(values, has) / max(stretch.explained, 1e-12)
        if explains >= EXPLAINS and not _refuted(chart, attribute, level, stretch, charts):
            alike = tuple(f"{a} {name}" for (a, name), other in masks.items()
                          if (a, name) != (attribute, level) and _likeness(has, other) >= ALIKE)  # fmt: skip
            causes.append(Cause(attribute, level, inside, outside, explains, alike))
    causes.sort(key=lambda cause: (-cause.explains, cause.attribute, cause.level))
    named: list[Cause] = []
    for cause in causes:
        if not any(f"{cause.attribute} {cause.level}" in other.alike for other in named):
            named.append(cause)
    return tuple(named)


def _masks(points: list[Point]) -> dict[tuple[str, str], np.ndarray]:
    masks: dict[tuple[str, str], np.ndarray] = defaultdict(lambda: np.zeros(len(points), dtype=bool))
    for place, point in enumerate(points):
        for attribute, names in levels(point).items():
            if attribute in _ATTRIBUTES:
                for name in names:
                    masks[attribute, name][place] = True
    return {key: mask for key, mask in masks.items() if 0 < mask.sum() < len(points)}


def _explained(values: np.ndarray, has: np.ndarray) -> float:
    off = values - values.mean()
    total = float(off @ off)
    between = float(has.sum() * (off[has].mean() ** 2) + (~has).sum() * (off[~has].mean() ** 2))
    return between / total if total else 0.0


def _likeness(first: np.ndarray, other: np.ndarray) -> float:
    return float((first & other).sum()) / float((first | other).sum())


def _refuted(chart: Chart, attribute: str, level: str, stretch: Stretch, charts: tuple[Chart, ...]) -> bool:
    for other in charts:
        if other.measure is not chart.measure or other.key == chart.key:
            continue
        has = np.array([level in levels(point)[attribute] for point in other.points], dtype=bool)
        if has.sum() < _ELSEWHERE or (~has).sum() < _ELSEWHERE:
            continue
        values = np.array([point.value for point in other.points])
        if (values[has].mean() - values[~has].mean()) / stretch.change < 0.5:
            return True
    return False
