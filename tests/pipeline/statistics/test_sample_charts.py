"""Charts of samples against those of equal subgroups, against reference tests of a package, and by simulation."""

import math

import numpy as np
import pytest
from scipy import stats

from gaugebook.pipeline.statistics.sample_charts import (
    sample_baseline,
    sample_chance_alarms,
    sample_scores,
    unlike_means,
    unlike_spreads,
)
from gaugebook.pipeline.statistics.subgroup_charts import xbar_s_limits

SIZES = np.array([5, 12, 30, 8, 20])


def samples(rng, sizes, off=0.0, sigma=1.4):
    return [rng.normal(501.5 + off * rng.standard_normal(), sigma, size) for size in sizes]


def figures_of(drawn):
    return [x.mean() for x in drawn], [x.std(ddof=1) for x in drawn], [x.size for x in drawn]


def test_samples_of_one_size_are_the_subgroups():
    """With one size, centre, sigma and limits are those of the X-bar and S charts of the handbook."""
    table = np.random.default_rng(3).normal(501.5, 1.4, (12, 6))
    means, spreads, sizes = figures_of(table)
    base, limits = sample_baseline(means, spreads, sizes), xbar_s_limits(table)
    assert (base.mean, base.sigma) == pytest.approx((limits.mean, limits.sigma))
    assert sample_scores([limits.mean_upper], [6], base, of_spread=False) == pytest.approx([3.0])
    assert sample_scores([limits.spread_upper], [6], base, of_spread=True) == pytest.approx([3.0])


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
