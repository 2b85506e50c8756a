"""How much of a measure's scatter goes with still, malt lot, recipe, operator and season."""

from collections import defaultdict

from gaugebook.pipeline.statistics.shares import attribute_shares
from gaugebook.reports.trends.measures import Breakdown, Chart, Point, Share

FEWEST = 24  # runs; below that the shares are mostly chance
_NEWEST = 400  # runs

SEASONS = {12: "winter", 1: "winter", 2: "winter", 3: "spring", 4: "spring", 5: "spring", 6: "summer", 7: "summer",
           8: "summer", 9: "autumn", 10: "autumn", 11: "autumn"}  # fmt: skip


def levels(point: Point) -> dict[str, tuple[str, ...]]:
    """What a run has of each attribute; nothing where that is not on record."""
    return {
        "still": (point.still,) if point.still else (),
        "malt lot": point.malt_lots,
        "recipe": tuple(filter(None, (point.recipe, point.product))),
        "operator": (point.operator,) if point.operator else (),
        "season": (SEASONS[point.when.month],),
    }


def breakdowns(charts: tuple[Chart, ...]) -> tuple[Breakdown, ...]:
    """One breakdown a watched measure with enough runs, over all its groups that are drawn."""
    by_measure: dict[str, list[Point]] = defaultdict(list)
    for chart in charts:
        if chart.measure.watched and chart.limits is not None:
            by_measure[chart.measure.code] += chart.points
    drawn = []
    for code, points in by_measure.items():
        points = sorted(points, key=lambda point: point.when)[-_NEWEST:]
        if len(points) < FEWEST:
            continue
        rows = [levels(point) for point in points]
        attributes = {name: [row[name] for row in rows] for name in rows[0]}
        shares = attribute_shares([point.value for point in points], attributes)
        drawn.append(
            Breakdown(code, len(points), tuple(
                Share(s.attribute, s.levels, s.alone, s.unique, s.p, s.confounded_with) for s in shares
            ))
        )  # fmt: skip
    return tuple(drawn)
