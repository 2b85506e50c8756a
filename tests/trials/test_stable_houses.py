"""How often a report of a stable house is wrong: five hundred years each of three kinds of scatter."""

import numpy as np
import pytest
from stable_houses import stable_watch

YEARS = 500


@pytest.mark.parametrize(
    ("name", "tails", "alike", "most"),
    [("normal", None, 0.0, 0.10), ("heavy tails", 5.0, 0.0, 0.10), ("alike neighbours", None, 0.2, 0.10)],
)
def test_stable_years(name, tails, alike, most):
    """Of 500 stable years fewer than 10 % have a report that tells of a change or a single run.

    Neighbours alike by 0.2 cannot be seen on one chart, but on all together.
    """
    rng = np.random.default_rng(7)
    changes = lone = either = 0
    alarms, by_chance, beyond_most = [], [], 0
    for _ in range(YEARS):
        found = stable_watch(rng, tails=tails, alike=alike)
        changes += bool(found.findings)
        lone += bool(found.lone_runs)
        either += bool(found.findings or found.lone_runs)
        alarms.append(found.alarms_seen)
        by_chance.append(found.alarms_by_chance)
        beyond_most += found.alarms_seen > found.alarms_by_chance_most
    print(
        f"\n{name}: of {YEARS} stable years {changes / YEARS:.1%} with a false change, {lone / YEARS:.1%} with a "
        f"false single run, {either / YEARS:.1%} with either; {np.mean(alarms):.1f} alarms a report, "
        f"{np.mean(by_chance):.1f} stated, more than stated for 19 of 20 in {beyond_most / YEARS:.1%}"
    )
    assert either / YEARS < most
    if tails is None:  # heavy tails give more alarms than are stated, since limits are those of normal values
        assert np.mean(alarms) == pytest.approx(np.mean(by_chance), rel=0.15)
