"""Run lengths by integral equation against closed forms."""

import numpy as np
import pytest
from pytest import approx
from scipy import stats

from gaugebook.pipeline.statistics.run_lengths import fredholm_run_length


@pytest.mark.parametrize("start", [0.0, 0.3, 0.9])
def test_sums_of_uniform_values(start):
    """The number of uniform values whose sum passes 1 is e on the average, and e^(1 - z) from z on (Feller)."""
    length = fredholm_run_length(lambda to, z: (to > z).astype(float), 0.0, 1.0, start, nodes=400)

    assert length == approx(np.exp(1.0 - start), rel=5e-3)


@pytest.mark.parametrize(("lower", "upper"), [(-3.0, 3.0), (-1.0, 2.0)])
def test_independent_values(lower, upper):
    """One over the chance to lie outside, wherever the interval lies."""
    length = fredholm_run_length(lambda to, z: stats.norm.pdf(to) + 0 * z, lower, upper, 0.5)

    assert length == approx(1 / (1 - stats.norm.cdf(upper) + stats.norm.cdf(lower)), rel=1e-9)


@pytest.mark.parametrize("start", [0.0, 1.0])
def test_a_place_to_rest(start):
    """From anywhere it rests on the lower end with a chance of 1/2, and else goes where a uniform value on 0 to 4 says,
    of which 2 is the end: one over the chance of 1/4 to leave."""

    def density(to, z):
        return np.full(np.broadcast_shapes(to.shape, z.shape), 0.5 / 4)

    length = fredholm_run_length(density, 0.0, 2.0, start, lambda to, z: 0.5 + 0 * z)

    assert length == approx(1 / (0.5 * 0.5))


@pytest.mark.parametrize("start", [0.0, 1.5])
def test_a_place_that_is_hard_to_leave(start):
    """From the lower end only one in four gets away; from elsewhere every second rests there: two linear equations."""

    def density(to, z):
        return np.where(z == 0.0, 0.25 / 4, 0.5 / 4) + 0 * to

    def rest(to, z):
        return np.where(z == 0.0, 0.75, 0.5) + 0 * to

    # at rest: R = 1 + 0.75 R + 0.125 E; elsewhere: E = 1 + 0.5 R + 0.25 E
    at_rest, elsewhere = np.linalg.solve([[0.25, -0.125], [-0.5, 0.75]], [1.0, 1.0])

    found = fredholm_run_length(density, 0.0, 2.0, start, rest)

    assert found == approx(at_rest if start == 0.0 else elsewhere)
