"""One moment from several signs: near ones sharpen it, far ones leave it alone, rivals widen it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from gaugebook.pipeline.statistics.weighed_times import Sign, merged, weighed

RECEIVERS = Sign(1000.0, 60.0, "receivers")
SPAN_S = 20_000.0


@given(st.floats(-50.0, 50.0))
def test_a_sharp_sign_near_the_receivers_is_taken(apart_s):
    """It lies where the sign is, less sharp than that by the chance that the sign means something else."""
    found = weighed(RECEIVERS, [Sign(1000.0 + apart_s, 5.0, "flow")], 0.5, SPAN_S)

    assert found is not None and found.by == "flow"
    assert found.at_s == pytest.approx(1000.0 + apart_s, abs=1.0)
    assert 5.0 <= found.u_s < 20.0


@given(st.floats(400.0, 20_000.0), st.floats(0.5, 30.0))
def test_a_sign_far_from_the_receivers_is_of_something_else(apart_s, u_s):
    """However sharp it is; the receivers' time and uncertainty stay."""
    found = weighed(RECEIVERS, [Sign(1000.0 + apart_s, u_s, "flow")], 0.5, SPAN_S)

    assert found is not None and found.by == "receivers"
    assert (found.at_s, found.u_s) == (1000.0, pytest.approx(60.0, rel=0.05))


def test_sharp_receivers_outweigh_a_sign_that_is_less_sharp():
    """Each counts by its uncertainty."""
    found = weighed(Sign(1000.0, 5.0, "receivers"), [Sign(1060.0, 30.0, "flow")], 0.5, SPAN_S)

    assert found is not None and found.by == "receivers"
    assert found.at_s == pytest.approx(1000.0, abs=3.0)


def test_two_rival_signs_are_told_by_the_uncertainty():
    """The likelier is told; its uncertainty reaches the other."""
    found = weighed(RECEIVERS, [Sign(960.0, 5.0, "flow", 2.0), Sign(1050.0, 5.0, "flow", 1.5)], 0.5, SPAN_S)

    assert found is not None
    assert found.at_s == pytest.approx(960.0, abs=1.0)
    assert 30.0 < found.u_s < 90.0


def test_the_truth_lies_within_twice_the_uncertainty():
    """Of two thousand moments that leave a sign in every second case, with strangers about: 95 of 100."""
    rng = np.random.default_rng(5)
    within = []
    for _ in range(2000):
        true = rng.uniform(5000.0, 15_000.0)
        signs = [Sign(at, 20.0, "flow") for at in rng.uniform(0.0, SPAN_S, 2)]
        if rng.random() < 0.5:
            signs.append(Sign(rng.normal(true, 20.0), 20.0, "flow"))
        found = weighed(Sign(rng.normal(true, 200.0), 200.0, "receivers"), signs, 0.5, SPAN_S)
        assert found is not None
        within.append(abs(found.at_s - true) <= 2 * found.u_s)

    assert 0.94 <= np.mean(within) <= 0.99


def test_signs_of_one_moment_are_merged_and_others_are_not():
    """The sharper counts more and gives its name; errors are shared, so two are no sharper than the sharper."""
    one, other = merged([Sign(100.0, 2.0, "strength"), Sign(103.0, 4.0, "flow"), Sign(900.0, 2.0, "flow")])

    assert (one.by, other.at_s) == ("strength", 900.0)
    assert one.at_s == pytest.approx(100.6)
    assert 2.0 <= one.u_s < 4.0


def test_nothing_is_told_from_nothing():
    """No reference and no sign."""
    assert weighed(None, [], 0.5, SPAN_S) is None


SIGNS = st.lists(
    st.builds(Sign, st.floats(0.0, 3000.0), st.floats(1.0, 80.0), st.sampled_from(["flow", "strength"]),
              st.floats(0.1, 3.0)),
    max_size=4,
)  # fmt: skip


def mean_of(first: Sign, second: Sign) -> tuple[float, float]:
    """Mean by inverse variance, and the mean of the uncertainties with the same weights (GUM 5.2.2, correlation 1)."""
    a, b = first.u_s**-2, second.u_s**-2
    return (a * first.at_s + b * second.at_s) / (a + b), (a * first.u_s + b * second.u_s) / (a + b)


@given(SIGNS, st.floats(0.05, 0.95))
def test_the_moment_is_that_of_bayes_rule(signs, share):
    """Prior chance times the normal density of each reading (scipy), the likeliest told, the variance about it."""
    readings = [(1000.0, 60.0)] + [mean_of(RECEIVERS, sign) for sign in signs]
    whole = sum(sign.weight for sign in signs)
    chances = [(1.0 - share) / SPAN_S] + [
        share * sign.weight / whole * stats.norm.pdf(sign.at_s, 1000.0, np.sqrt(60.0**2 + sign.u_s**2))
        for sign in signs
    ]
    part = np.array(chances) / sum(chances) if signs else np.ones(1)
    at, _ = readings[int(part.argmax())]
    variance = sum(p * (u**2 + (one - at) ** 2) for p, (one, u) in zip(part, readings, strict=True))

    found = weighed(RECEIVERS, signs, share, SPAN_S)

    assert found is not None
    assert (found.at_s, found.u_s) == pytest.approx((at, np.sqrt(variance)), rel=1e-6)


@given(SIGNS.filter(bool))
def test_without_a_reference_signs_count_by_their_weight(signs):
    """The weightiest is told, and the variance about it is that of all."""
    weights = np.array([sign.weight for sign in signs])
    best = signs[int(weights.argmax())]
    square = np.average([sign.u_s**2 + (sign.at_s - best.at_s) ** 2 for sign in signs], weights=weights)

    found = weighed(None, signs, 0.5, SPAN_S)

    assert found is not None
    assert (found.at_s, found.by, found.u_s) == (best.at_s, best.by, pytest.approx(np.sqrt(square)))


def test_signs_that_count_nothing_tell_nothing():
    """Alone they give no moment; beside a reference they leave it as it was."""
    signs = [Sign(1000.0, 5.0, "flow", 0.0)]

    assert weighed(None, signs, 0.5, SPAN_S) is None
    assert weighed(RECEIVERS, signs, 0.5, SPAN_S) == RECEIVERS
    assert weighed(RECEIVERS, [], 1.0, SPAN_S) == RECEIVERS


@pytest.mark.parametrize(("apart_s", "signs"), [(14.9, 1), (15.0, 2)])
def test_three_joint_uncertainties_part_two_moments(apart_s, signs):
    """3 sqrt(3^2 + 4^2) s = 15 s; what is merged weighs what its parts do."""
    found = merged([Sign(100.0 + apart_s, 4.0, "flow", 0.5), Sign(100.0, 3.0, "strength", 2.0)])

    assert len(found) == signs
    assert sum(sign.weight for sign in found) == 2.5
    assert [sign.at_s for sign in found] == sorted(sign.at_s for sign in found)


def test_a_sign_joins_the_moment_of_the_one_before_it():
    """A row of signs, each near the last, is one moment, though its ends are far apart."""
    assert len(merged([Sign(100.0 + 10.0 * n, 3.0, "flow") for n in range(6)])) == 1


def test_a_sign_counts_one_where_nothing_is_said():
    """Two of one moment count two."""
    assert merged([Sign(100.0, 3.0, "flow"), Sign(100.0, 3.0, "strength")])[0].weight == 2.0
