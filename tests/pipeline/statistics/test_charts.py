"""Constants, limits of proportions and capability against printed tables and the reference package."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.statistics.capability import cpk
from gaugebook.pipeline.statistics.chart_constants import c4
from gaugebook.pipeline.statistics.proportions import TAIL, proportion_limits

REFERENCE = Path(__file__).parents[2] / "reference"


# NIST's table, as printed in the source of its program Dataplot (src/dp10.F90, read).
C4 = {2: 0.7979, 3: 0.8862, 4: 0.9213, 5: 0.94, 6: 0.9515, 7: 0.9594, 8: 0.965, 9: 0.9693, 10: 0.9727, 15: 0.9823,
      20: 0.9869, 25: 0.9896}  # fmt: skip


@pytest.mark.parametrize("n", C4)
def test_c4_is_that_of_the_table(n):
    """To the four figures printed."""
    assert c4(n) == pytest.approx(C4[n], abs=5.1e-5)


def test_c4_of_two_has_a_closed_form():
    """sqrt(2 / pi); one value has no standard deviation."""
    assert c4(2) == pytest.approx(math.sqrt(2 / math.pi), rel=1e-12)
    with pytest.raises(ValueError, match="2 or more"):
        c4(1)


@given(st.integers(1, 3000), st.floats(0.0, 0.3))
def test_binomial_limits_keep_their_tail(size, centre):
    """No more than the stated chance lies beyond either limit, whatever the size."""
    from scipy.stats import binom

    limits = proportion_limits([size], centre)
    assert binom.sf(round(limits.upper[0] * size), size, centre) <= TAIL + 1e-12
    assert binom.cdf(round(limits.lower[0] * size) - 1, size, centre) <= TAIL + 1e-12


def test_capability_example():
    """NIST/SEMATECH 6.1.6 (from memory): limits 8 and 20, mean 16, s 2 give Cpk 0.6667."""
    assert cpk(8, 20, 16, 2, 50).value == pytest.approx(0.6667, abs=5e-5)


def test_capability_of_gears():
    """The gears with 0.99 to 1.01 and their overall s: Cpk 0.4056 (0.3192, 0.4920).

    Data read in Dataplot; the figures are computed by the formulas of its help, no published output is known.
    """
    values = np.loadtxt(REFERENCE / "gear_diameters.csv", delimiter=",", comments="#").ravel()
    mean, s = values.mean(), values.std(ddof=1)
    nearer = cpk(0.99, 1.01, mean, s, 100)
    assert (nearer.value, nearer.low, nearer.high) == pytest.approx((0.4056, 0.3192, 0.4920), abs=1e-4)
    assert cpk(0.99, None, mean, s, 100).value >= nearer.value


def test_capability_interval_holds_what_it_says():
    """The 95 % interval of Cpk covers the true value in about 95 of 100 samples."""
    rng = np.random.default_rng(8)
    covered = 0
    for _ in range(600):
        values = rng.normal(16, 2, 40)
        index = cpk(8, 20, values.mean(), values.std(ddof=1), 40)
        covered += index.low <= 2 / 3 <= index.high
    assert covered / 600 == pytest.approx(0.95, abs=0.03)


@pytest.mark.parametrize(("size", "centre"), [(0, 0.1), (5, -0.1), (5, 1.1)])
def test_what_is_no_proportion(size, centre):
    """An empty sample, or a centre outside nought to one."""
    with pytest.raises(ValueError, match=rf"the centre is {centre} and the least sample {size}; expected 0 to 1"):
        proportion_limits([size, 7], centre)


def test_limits_of_a_proportion_belong_to_each_sample():
    """One, and a tail that is asked for: 5 % of 10 at 0.5 by the table of the binomial distribution: 2 to 8 of 10."""
    limits = proportion_limits([1, 10], 0.5, 0.05)
    assert limits.lower.tolist() == [0.0, 0.2] and limits.upper.tolist() == [1.0, 0.8]
    assert proportion_limits([10], 0.0).upper[0] == 0.0 and proportion_limits([10], 1.0).lower[0] == 1.0


@pytest.mark.parametrize(
    ("lower", "upper", "sigma", "points"),
    [(None, None, 1.0, 9), (2.0, 1.0, 1.0, 9), (1.0, 1.0, 1.0, 9), (1.0, 2.0, 0.0, 9), (1.0, 2.0, math.nan, 9),
     (1.0, 2.0, math.inf, 9), (1.0, 2.0, 1.0, 1)],
)  # fmt: skip
def test_what_has_no_capability(lower, upper, sigma, points):
    """No limit, an empty tolerance, no scatter, one value."""
    with pytest.raises(ValueError):
        cpk(lower, upper, 1.5, sigma, points)


def test_a_tolerance_of_one_side():
    """Room to the limit that there is; two values are enough: Cpk -+ z sqrt(1/18 + Cpk^2/2) with z = 1.959964."""
    above, below = cpk(None, 20.0, 16.0, 2.0, 2), cpk(8.0, None, 16.0, 2.0, 2, confidence=0.9)
    assert (above.value, below.value) == pytest.approx((4 / 6, 8 / 6))
    assert above.high - above.value == pytest.approx(1.959964 * math.sqrt(1 / 18 + (4 / 6) ** 2 / 2), rel=1e-6)
    assert below.value - below.low == pytest.approx(1.644854 * math.sqrt(1 / 18 + (8 / 6) ** 2 / 2), rel=1e-6)


def test_a_quantile_that_is_reached_exactly_is_the_limit():
    """Of one item at 0.5 none is faulty with a chance of 0.5: with that tail the limits are nought."""
    limits = proportion_limits([1], 0.5, 0.5)
    assert (limits.lower.tolist(), limits.upper.tolist()) == ([0.0], [0.0])
