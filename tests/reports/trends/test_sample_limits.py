"""Limits of the fills: X-bar and s charts by the scatter within samples, single values where batches differ by more."""

from datetime import datetime, timedelta

import numpy as np
import pytest

from gaugebook.pipeline.house.settings import House
from gaugebook.reports.trends.chart_limits import alarms_by_chance, score
from gaugebook.reports.trends.measure_list import BY_CODE
from gaugebook.reports.trends.measures import Point

START = datetime(2031, 1, 1)
HOUSE = House(name="h", time_zone="UTC")


def judged(code, samples):
    points = []
    for n, x in enumerate(samples):
        mean, s, size = x.mean(), x.std(ddof=1), x.size
        value, u = (mean, s / size**0.5) if code == "fill_deviation" else (s, s / (2 * size - 2) ** 0.5)
        points.append(Point(f"P{n}", f"B{n}", START + timedelta(days=n), value, u, value, 100.0, size=size))
    return score(BY_CODE[code], "", points, HOUSE)


def fills(off=0.0, batches=40, sizes=(30,)):
    rng = np.random.default_rng(6)
    return [1.5 + off * rng.standard_normal() + rng.normal(0, 1.4, sizes[n % len(sizes)]) for n in range(batches)]


@pytest.mark.parametrize(("code", "kind"), [("fill_deviation", "means"), ("fill_scatter", "spreads")])
def test_limits_are_those_of_the_subgroups(code, kind):
    """With samples of one size the limits are the handbook's of the first twenty batches, and later ones are judged."""
    samples = fills()
    samples[30] = samples[30] * 4 - 12
    found = judged(code, samples)
    mean, s = np.mean(samples[:20]), np.std(samples[:20], axis=1, ddof=1).mean()
    a3, b4 = 0.552, 1.396  # for 30 values: 3 / (c4 sqrt n) and 1 + 3 sqrt(1 - c4^2) / c4 with c4 = 0.99142
    [limits] = found.limits
    centre, upper = (mean, mean + a3 * s) if kind == "means" else (s, b4 * s)
    assert (limits.kind, limits.size, limits.points) == (kind, 30, 20)
    assert limits.centre == pytest.approx(centre)
    assert limits.upper == pytest.approx(upper, abs=0.001)
    assert [point.batch for point in found.points if "beyond" in point.signals] == ["B30"]
    assert 0 < np.mean(alarms_by_chance(found.spans, 0.0)) < 1


def test_each_batch_by_its_own_sample():
    """A mean that is within the limits of ten bottles is beyond those of sixty."""
    samples = fills(sizes=(10, 60))
    for n in (30, 31):
        samples[n] = samples[n] - samples[n].mean() + 1.5 + 1.0
    found = judged("fill_deviation", samples)
    assert found.limits[0].size == 35
    assert [point.batch for point in found.points if "beyond" in point.signals] == ["B31"]


def test_batches_that_differ_get_limits_of_single_values():
    """Where the filler is set anew for every batch, the scatter within samples is no measure of the means."""
    assert judged("fill_deviation", fills(off=1.0)).limits[0].kind == "individuals"
    assert judged("fill_scatter", fills(off=1.0)).limits[0].kind == "spreads"
