"""Years of a house in which nothing changes: charts of independent or related values, to count what a report cries out.

Each house has the charts of the sample: forty of them, of 8 to 99 runs a year, several of the same runs. Its values are
normal or heavy-tailed, and charts of the same runs share part of their scatter, as losses and recoveries of one run do.
"""

from datetime import datetime, timedelta

import numpy as np

from gaugebook.pipeline.house.settings import House
from gaugebook.reports.trends.change_findings import Watch, watch
from gaugebook.reports.trends.chart_limits import score
from gaugebook.reports.trends.measures import Chart, Measure, Point

HOUSE = House(name="stable", time_zone="UTC")
START = datetime(2031, 1, 1)
# Charts of the same runs, as (number of charts, runs a year): mashes and ferments, two strip stills, ...
SHAPES = ((4, 99), (6, 49), (6, 50), (7, 18), (5, 19), (5, 8), (5, 47), (2, 15))


def stable_watch(rng: np.random.Generator, *, tails: float | None = None, alike: float = 0.0) -> Watch:
    """What a report finds in one stable year.

    `tails` are degrees of freedom of Student's t, None for normal values; `alike` is the correlation of neighbouring
    runs.
    """
    judged = []
    for group, (charts, runs) in enumerate(SHAPES):
        shared = _noise(rng, runs, tails, alike)
        for number in range(charts):
            values = 50 + 0.6 * shared * rng.choice((-1, 1)) + 0.8 * _noise(rng, runs, tails, alike)
            code = f"m{group}-{number}"
            measure = Measure(code, code, "%", "strip", "higher", "", "")
            points = [_point(n, runs, value) for n, value in enumerate(values.tolist())]
            scored = score(measure, "", points, HOUSE)
            limits = scored.limits[-1] if scored.limits else None
            chart = Chart(code, measure, "", code, scored.points, (), limits)
            judged.append((chart, scored.spans))
    return watch(judged, {}, START + timedelta(days=365), "UTC")


def _noise(rng: np.random.Generator, runs: int, tails: float | None, alike: float) -> np.ndarray:
    shocks = rng.standard_normal(runs) if tails is None else rng.standard_t(tails, runs) / np.sqrt(tails / (tails - 2))
    for n in range(1, runs):
        shocks[n] = alike * shocks[n - 1] + np.sqrt(1 - alike**2) * shocks[n]
    return shocks


def _point(n: int, runs: int, value: float) -> Point:
    at = START + timedelta(days=365 * n / runs)
    return Point(f"R{n}", "", at, value, float("nan"), value, 100.0)
