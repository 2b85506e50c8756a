"""Limits of measures whose points are samples of several values, as the fills of a batch: X-bar and S charts.

They rest on the scatter within the samples of the baseline. Where the samples differ among themselves by more than that
scatter explains, as when a filler is set up anew for every batch, it is no measure of them, and the chart gets the
limits of single values instead.
"""

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from gaugebook.pipeline.statistics.chart_constants import c4
from gaugebook.pipeline.statistics.sample_charts import (
    SampleBaseline,
    sample_baseline,
    sample_chance_alarms,
    sample_scores,
    unlike_means,
    unlike_spreads,
)
from gaugebook.reports.trends.measure_list import SAMPLES
from gaugebook.reports.trends.measures import Limits, Measure, Point

UNLIKE = 0.01  # chance below which samples differ by more than the scatter within explains
_MOST_SIMULATED = 300  # samples; the alarms of longer series grow in proportion


def limits_of_samples(measure: Measure, points: list[Point], single: Limits) -> Limits:
    """Limits of the X-bar or S chart in place of those of single values, where the samples allow it."""
    spreads = [spread_of(measure, point) for point in points]
    if len(points) < 2 or any(point.size < 2 or not spread > 0 for point, spread in zip(points, spreads, strict=True)):
        return single
    means, sizes = [point.value for point in points], [point.size for point in points]
    kind = SAMPLES[measure.code]
    chance = unlike_means(means, spreads, sizes) if kind == "means" else unlike_spreads(spreads, sizes)
    if chance < UNLIKE:
        return single
    base = sample_baseline(means, spreads, sizes)
    size = round(float(np.mean(sizes)))
    share = c4(size)
    centre, sd = (
        (base.mean, base.sigma / math.sqrt(size))
        if kind == "means"
        else (share * base.sigma, base.sigma * math.sqrt(1 - share**2))
    )
    lower = centre - 3 * sd if kind == "means" else max(0.0, centre - 3 * sd)
    return replace(single, kind=kind, centre=centre, lower=lower, upper=centre + 3 * sd, sd=sd, size=size)


def spread_of(measure: Measure, point: Point) -> float:
    """Standard deviation within a sample: the value itself, or the standard error of a mean times the root of its n."""
    return point.value if SAMPLES[measure.code] == "spreads" else point.u * math.sqrt(point.size)


def scores_of_samples(values: list[float], points: list[Point], limits: Limits) -> NDArray[np.float64]:
    """Standard deviations of its own from the centre, by the size of each sample."""
    is_spread = limits.kind == "spreads"
    sigma = limits.centre / c4(limits.size) if is_spread else limits.sd * math.sqrt(limits.size)
    sizes = [max(2 if is_spread else 1, point.size) for point in points]
    return sample_scores(values, sizes, SampleBaseline(limits.centre, sigma), of_spread=is_spread)


def trials_of_samples(limits: Limits, after: int, trials: int) -> NDArray[np.float64]:
    """Numbers of alarms that so many samples after such a baseline give in stable series."""
    simulated = min(after, _MOST_SIMULATED)
    of_spread = limits.kind == "spreads"
    counts = sample_chance_alarms(limits.points, limits.size, simulated, of_spread=of_spread, trials=trials)
    return np.array(counts) * (after / simulated if simulated else 0.0)
