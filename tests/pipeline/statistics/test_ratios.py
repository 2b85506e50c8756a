"""Ratios of sums and their standard error."""

import math

import numpy as np
import pytest
from scipy import stats

from gaugebook.pipeline.statistics.ratios import ratio_of_sums


def test_weighted_by_the_charge():
    """Charges 100 and 900 with outputs 80 and 810 give 0.890; the mean of the two ratios is 0.850."""
    result = ratio_of_sums([80, 810], [100, 900])
    assert result.ratio == pytest.approx(0.890)
    assert (result.numerator, result.denominator, result.runs) == (890, 1000, 2)


def test_better_in_each_class_and_worse_together():
    """The mixture effect: 0.81 and 0.71 against 0.80 and 0.70, yet 0.72 against 0.79 together."""
    first = ratio_of_sums([8.1, 63.9], [10, 90])
    second = ratio_of_sums([72, 7], [90, 10])
    assert (round(first.ratio, 2), round(second.ratio, 2)) == (0.72, 0.79)


def test_equal_charges_reduce_to_the_mean():
    """With equal charges the ratio is the mean, its error the standard error of the mean (scipy.stats)."""
    outputs = np.array([0.93, 0.95, 0.97, 0.92, 0.96])
    result = ratio_of_sums(outputs * 250, np.full(5, 250.0))
    assert result.ratio == pytest.approx(outputs.mean())
    assert result.u_ratio == pytest.approx(stats.sem(outputs))


def test_error_against_resampling():
    """The standard error agrees with a bootstrap of the runs, within what 200 runs and 4000 draws allow."""
    random = np.random.default_rng(7)
    charges = random.uniform(100, 300, 200)
    outputs = charges * random.normal(0.95, 0.02, 200)
    draws = random.integers(0, 200, (4000, 200))
    resampled = outputs[draws].sum(axis=1) / charges[draws].sum(axis=1)
    assert ratio_of_sums(outputs, charges).u_ratio == pytest.approx(resampled.std(), rel=0.06)


def test_one_run_has_no_scatter():
    """One run gives a ratio and no standard error."""
    result = ratio_of_sums([95], [100])
    assert result.ratio == 0.95
    assert math.isnan(result.u_ratio)


@pytest.mark.parametrize(
    ("outputs", "charges", "words"),
    [
        ([], [], "same length"),
        ([1, 2], [1], "same length"),
        ([1, math.nan], [1, 1], "left out"),
        ([0, 1], [0, 0], "more than 0"),
    ],
)
def test_what_cannot_be_summed(outputs, charges, words):
    """Nothing to sum, a missing value and an empty charge are errors that say which."""
    with pytest.raises(ValueError, match=words):
        ratio_of_sums(outputs, charges)


def test_two_runs_have_a_scatter():
    """80 of 100 and 90 of 100: R = 0.85, residuals -5 and 5, sqrt(50 / (2 x 1)) / 100 = 0.05."""
    assert ratio_of_sums([80, 90], [100, 100]).u_ratio == pytest.approx(0.05)


def test_charges_below_one_can_be_summed():
    """Half a tonne is a charge."""
    assert ratio_of_sums([0.1, 0.1], [0.2, 0.3]).ratio == pytest.approx(0.4)
