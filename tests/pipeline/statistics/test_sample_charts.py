"""Charts of samples against the printed constants, against reference tests of a package, and by simulation."""

import math
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from gaugebook.pipeline.statistics.run_rules import alarms, rule_signals
from gaugebook.pipeline.statistics.sample_charts import (
    sample_baseline,
    sample_chance_alarms,
    sample_scores,
    unlike_means,
    unlike_spreads,
)

REFERENCE = Path(__file__).parents[2] / "reference"
SIZES = np.array([5, 12, 30, 8, 20])


def samples(rng, sizes, off=0.0, sigma=1.4):
    return [rng.normal(501.5 + off * rng.standard_normal(), sigma, size) for size in sizes]


def figures_of(drawn):
    return [x.mean() for x in drawn], [x.std(ddof=1) for x in drawn], [x.size for x in drawn]


@pytest.mark.parametrize(
    ("size", "c4", "a3", "b3", "b4"),
    # NIST/SEMATECH e-Handbook 6.3.2.1 for c4; A3, B3 and B4 as tabled in every book on control charts (from memory)
    [(2, 0.7979, 2.659, 0.0, 3.267), (5, 0.9400, 1.427, 0.0, 2.089), (6, 0.9515, 1.287, 0.030, 1.970),
     (10, 0.9727, 0.975, 0.284, 1.716), (25, 0.9896, 0.606, 0.565, 1.435)],
)  # fmt: skip
def test_samples_of_one_size_have_the_limits_of_the_printed_constants(size, c4, a3, b3, b4):
    """Limits of the means are mean -+ A3 s, those of the spreads B3 s and B4 s: there a sample scores 3 or -3."""
    table = np.random.default_rng(3).normal(501.5, 1.4, (12, size))
    means, spreads, sizes = figures_of(table)
    base, mean, s = sample_baseline(means, spreads, sizes), np.mean(means), np.mean(spreads)

    assert (base.mean, base.sigma) == pytest.approx((mean, s / c4), rel=1e-4)
    ends = sample_scores([mean + a3 * s, mean - a3 * s], [size] * 2, base, of_spread=False)
    assert ends == pytest.approx([3.0, -3.0], abs=0.003)
    assert sample_scores([b4 * s], [size], base, of_spread=True) == pytest.approx([3.0], abs=0.006)
    if b3:
        assert sample_scores([b3 * s], [size], base, of_spread=True) == pytest.approx([-3.0], abs=0.006)


def test_published_subgroups():
    """Mean 12.940 and mean range 1.352 of 25 subgroups of five (book, from memory): the scatter by the standard
    deviations is that by the ranges, 1.352 / 2.326 = 0.581, within what two estimates of it differ by."""
    values = np.loadtxt(REFERENCE / "subgroups_of_five.csv", delimiter=",", comments="#")
    base = sample_baseline(*figures_of(values))

    assert base.mean == pytest.approx(12.940, abs=5e-4)
    assert base.sigma == pytest.approx(1.352 / 2.326, rel=0.03)


def test_unlike_samples_count_by_their_size():
    """Means 10 and 13 of 2 and 4 values: (2 x 10 + 4 x 13) / 6 = 12; s / c4 by degrees of freedom 1 and 3, with c4 of 2
    sqrt(2/pi) and of 4 2 sqrt(2 / (3 pi)) = 0.921318 (NIST/SEMATECH 6.3.2.1 prints 0.9213)."""
    base = sample_baseline([10.0, 13.0], [1.0, 2.0], [2, 4])

    assert base.mean == pytest.approx(12.0)
    assert base.sigma == pytest.approx((1.0 / math.sqrt(2 / math.pi) + 3 * 2.0 / 0.921318) / 4, rel=1e-6)


@pytest.mark.parametrize(
    ("means", "spreads", "sizes"),
    [([1.0], [1.0], [5]), ([1.0, 2.0], [1.0, 1.0], [5, 1]), ([1.0, 2.0], [1.0], [5, 5]), ([1.0, 2.0], [1.0, 1.0], [5]),
     ([1.0, math.nan], [1.0, 1.0], [5, 5])],
)  # fmt: skip
def test_what_is_no_baseline(means, spreads, sizes):
    """One sample, a sample of one value, rows of unlike length and a missing mean are errors."""
    with pytest.raises(ValueError, match="at least two samples"):
        sample_baseline(means, spreads, sizes)


def test_samples_that_scatter_not_at_all():
    """Standard deviations of nought have no measure of the means, and the chance is one."""
    assert unlike_means([1.0, 2.0], [0.0, 0.0], [5, 5]) == 1.0


def test_two_samples_of_two_values_are_a_baseline():
    """The fewest there can be."""
    assert sample_baseline([1.0, 2.0], [1.0, 1.0], [2, 2]).mean == 1.5


def test_alike_spreads_are_certainly_of_one_process():
    """Bartlett's statistic is nought, however the arithmetic rounds it."""
    assert unlike_spreads([0.1, 0.1, 0.1], [3, 7, 11]) == pytest.approx(1.0)


def test_each_sample_by_its_own_size():
    """Of samples of unlike size sigma is met on the average, and scores have mean 0 and standard deviation 1."""
    rng = np.random.default_rng(4)
    drawn = samples(rng, np.tile(SIZES, 800))
    means, spreads, sizes = figures_of(drawn)
    base = sample_baseline(means, spreads, sizes)
    assert base.sigma == pytest.approx(1.4, rel=0.01)
    for values, of_spread in ((means, False), (spreads, True)):
        scores = sample_scores(values, sizes, base, of_spread=of_spread)
        assert (scores.mean(), scores.std()) == pytest.approx((0.0, 1.0), abs=0.04)
    assert math.isnan(sample_scores([math.nan], [5], base, of_spread=True)[0])
    with pytest.raises(ValueError, match="at least two samples"):
        sample_baseline([1.0, 2.0], [0.1, math.nan], [5, 5])


def test_unlike_samples_by_the_reference():
    """The chances are those of scipy's one-way analysis of variance and of its Bartlett's test."""
    drawn = samples(np.random.default_rng(5), SIZES, off=0.5)
    means, spreads, sizes = figures_of(drawn)
    assert unlike_means(means, spreads, sizes) == pytest.approx(stats.f_oneway(*drawn).pvalue)
    assert unlike_spreads(spreads, sizes) == pytest.approx(stats.bartlett(*drawn).pvalue)


@pytest.mark.parametrize("of_spread", [False, True])
def test_chance_alarms_of_known_limits(of_spread):
    """With a long baseline of means chance speaks once in 216.7 samples, the run length of the two rules; of standard
    deviations, which are skewed, somewhat oftener; with a short baseline oftener still."""
    long = np.mean(sample_chance_alarms(400, 30, 100, of_spread=of_spread))
    short = np.mean(sample_chance_alarms(15, 30, 100, of_spread=of_spread))
    assert long == pytest.approx(100 / 216.7, rel=0.15) or (of_spread and 0.4 < long < 0.8)
    assert short > 1.2 * long


@pytest.mark.parametrize("of_spread", [False, True])
@pytest.mark.parametrize(("samples", "size", "after"), [(10, 3, 40), (25, 8, 20), (3, 2, 30)])
def test_chance_alarms_by_drawing_every_bottle(samples, size, after, of_spread):
    """As many alarms as on charts of samples whose every value is drawn, by their own baseline and scores."""
    rng = np.random.default_rng(8)
    counts = []
    for _ in range(600):
        values = rng.normal(700.0, 1.3, (samples + after, size))
        means, spreads, sizes = figures_of(values)
        base = sample_baseline(means[:samples], spreads[:samples], sizes[:samples])
        judged = (spreads if of_spread else means)[samples:]
        counts.append(int(alarms(rule_signals(sample_scores(judged, sizes[samples:], base, of_spread=of_spread)))))
    found = sample_chance_alarms(samples, size, after, of_spread=of_spread)

    joint = math.hypot(np.std(counts) / math.sqrt(600), np.std(found) / math.sqrt(2000))
    assert np.mean(found) == pytest.approx(np.mean(counts), abs=3 * joint)
    assert list(found) == sorted(found, reverse=True) and len(found) == 2000


def test_no_further_sample_no_alarm():
    """Nothing judged, no alarm in any of the trials; of one further sample there may be one."""
    assert sample_chance_alarms(15, 30, 0, of_spread=False, trials=7) == (0.0,) * 7
    assert max(sample_chance_alarms(5, 4, 1, of_spread=False)) == 1.0
