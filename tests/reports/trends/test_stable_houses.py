"""A house in which nothing changes is seldom told that something did; five hundred years of it are in the trials."""

import numpy as np
from stable_houses import stable_watch


def test_stable_years_are_left_alone():
    """Of twenty-five stable years no more than three have a report that tells of a change or of a single run."""
    rng = np.random.default_rng(2031)
    watched = [stable_watch(rng) for _ in range(25)]
    assert sum(bool(found.findings or found.lone_runs) for found in watched) <= 3
    seen = np.array([found.alarms_seen for found in watched])
    stated = np.mean([found.alarms_by_chance for found in watched])
    assert 0.5 * stated < seen.mean() < 1.6 * stated


def test_alike_neighbours_are_left_alone():
    """Neighbours alike by 0.2, which no single chart can show, make three of twenty-five reports wrong at most."""
    rng = np.random.default_rng(2032)
    watched = [stable_watch(rng, alike=0.2) for _ in range(25)]
    assert sum(bool(found.findings or found.lone_runs) for found in watched) <= 3
    seen, stated = (np.mean([getattr(f, name) for f in watched]) for name in ("alarms_seen", "alarms_by_chance"))
    assert 0.75 * stated < seen < 1.3 * stated
