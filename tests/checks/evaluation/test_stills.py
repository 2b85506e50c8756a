"""Drift of a still: a fall that stays is found, noise, a single bad run and a repair are not."""

import numpy as np
import polars as pl
import pytest

from gaugebook.checks.evaluation.stills import BASELINE, drifts, low_row

STEADY = [0.955, 0.965] * (BASELINE // 2)  # mean 0.96, mean moving range 0.01, lower limit 0.96 - 0.03/1.128 = 0.9334


@pytest.mark.parametrize(
    ("later", "expected"),
    [
        ([0.965, 0.955] * 4, (0, 0)),  # nothing changed
        ([0.965] * 8, (0, 0)),  # a rise
        ([0.955] * 8, (0, 0)),  # low, but none beyond the limit
        ([0.965] + [0.955] * 6 + [0.90], (0, 0)),  # seven in a row are no signal
        ([0.965] + [0.955] * 7 + [0.90], (21, 29)),  # eight are, once one is beyond
        ([0.965] + [0.95 - 0.005 * n for n in range(10)] + [0.965] * 5, (21, 31)),  # a fall, then a repair
        ([0.955] * 7 + [0.90], (20, 28)),
        ([0.955] * 6, None),  # too few runs to judge
    ],
)
def test_the_longest_low_row(later, expected):
    """The row of runs that lies low and passes the lower limit, and nothing else."""
    assert low_row(STEADY + later) == expected


def test_a_fall_that_begins_within_the_baseline_is_seen():
    """The row may begin before the baseline ends, as long as what passes the limit comes after."""
    values = [0.965, 0.955] * (BASELINE // 2) + [0.95 - 0.005 * n for n in range(8)]

    assert low_row(values) == (BASELINE - 1, BASELINE + 8)


def test_noise_alone_is_seldom_a_drift():
    """Of 500 stills of 60 runs each in control at most 1 in 50 is called drifting (seeded, normal noise)."""
    rng = np.random.default_rng(20260101)

    called = sum(low_row(rng.normal(0.955, 0.008, 60)) != (0, 0) for _ in range(500))

    assert called <= 10


def test_each_still_is_judged_by_its_own_runs():
    """One row a still, NULL where there are too few runs, and a note that names the first and last low run."""
    falling = STEADY + [0.965] + [0.95 - 0.005 * n for n in range(8)]
    recoveries = pl.DataFrame(
        [("S1", f"A-{n}", value, "lost 9 LPA") for n, value in enumerate(falling)]
        + [("S2", "B-0", 0.9, None), ("S2", "B-1", 0.8, None)],
        schema=["equipment", "run", "recovery", "loss"],
        orient="row",
    )

    rows = {row["equipment"]: row for row in drifts(recoveries).to_dicts()}

    assert rows["S1"]["runs_low"] == 8
    assert "runs A-21 to A-28" in rows["S1"]["note"]
    assert rows["S1"]["note"].endswith("lost 9 LPA")
    assert rows["S2"]["runs_low"] is None
