"""Reconciliation against a published example, against dense algebra, and by planting errors whose place is known."""

import numpy as np
import pytest
import scipy.sparse
from flow_networks import balance_matrix, tank_farm
from hypothesis import given, settings
from hypothesis import strategies as st

from gaugebook.pipeline.statistics.reconciliation import (
    chi_square_critical,
    detectable_error,
    reconcile,
    sidak_critical,
)
from gaugebook.pipeline.statistics.unmeasured import worked_out_from

# Narasimhan and Jordache, Data Reconciliation and Gross Error Detection (2000), chapters 1 and 7: a heat exchanger with
# a bypass, four nodes and six flows of unit variance, one of which is wrong.
SOURCE, TARGET = [-1, 0, 0, 1, 2, 3], [0, 1, 2, 3, 3, -1]
BALANCES = np.array([[1, -1, -1, 0, 0, 0], [0, 1, 0, -1, 0, 0], [0, 0, 1, 0, -1, 0], [0, 0, 0, 1, 1, -1]], dtype=float)
MEASURED = np.array([101.91, 68.45, 34.65, 64.20, 36.44, 98.88])


def test_the_published_example_to_the_printed_digits():
    """Residuals, global test, measurement test and its critical value are those of the book."""
    assert pytest.approx([-1.19, 4.25, -1.79, 1.76], abs=5e-11) == BALANCES @ MEASURED

    found = reconcile(SOURCE, TARGET, MEASURED, np.ones(6), most_set_aside=1)

    assert found.chi_square.round(3).tolist() == [16.674]
    assert found.degrees.tolist() == [4]
    assert round(chi_square_critical(4), 3) == 9.488
    assert found.z.round(3).tolist() == [1.253, 3.205, 0.494, 2.000, 1.698, 2.458]
    assert round(sidak_critical(6), 3) == 2.631
    # stream 2 is beyond the critical value; without it the rest balances
    assert found.set_aside.tolist() == [False, True, False, False, False, False]
    assert found.chi_square_after.round(3).tolist() == [6.404]
    assert found.chi_square_after[0] < chi_square_critical(3)


def test_a_measurement_set_aside_comes_from_the_others():
    """The value of a stream set aside is what the balances make of the rest, as if it had not been measured."""
    found = reconcile(SOURCE, TARGET, MEASURED, np.ones(6), most_set_aside=1)
    without = MEASURED.copy()
    without[1] = np.nan

    unmeasured = reconcile(SOURCE, TARGET, without, np.ones(6))

    assert found.value == pytest.approx(unmeasured.value, abs=1e-12)
    assert found.u == pytest.approx(unmeasured.u, abs=1e-12)
    assert unmeasured.chi_square[0] == pytest.approx(found.chi_square_after[0], rel=1e-12)


@settings(max_examples=40)
@given(st.integers(0, 10**6), st.integers(2, 25))
def test_sparse_algebra_is_the_dense_one(seed, nodes):
    """Values, uncertainties and tests equal those of the textbook's formulas written out with full matrices."""
    source, target = tank_farm(seed, nodes)
    rng = np.random.default_rng(seed + 1)
    y, u = rng.uniform(10, 100, len(source)), rng.uniform(0.1, 3.0, len(source))
    balances, covariance = balance_matrix(source, target), np.diag(u**2)
    inverse = np.linalg.inv(balances @ covariance @ balances.T)
    gain = covariance @ balances.T @ inverse
    dense = y - gain @ (balances @ y)
    moved = gain @ balances @ covariance

    found = reconcile(source, target, y, u)

    assert found.value == pytest.approx(dense, abs=1e-8)
    assert found.u == pytest.approx(np.sqrt(np.clip(np.diag(covariance - moved), 0, None)), abs=1e-6)
    assert found.z == pytest.approx(np.abs(y - dense) / np.sqrt(np.diag(moved)), rel=1e-6, abs=1e-8)
    residual = balances @ y
    assert found.chi_square.sum() == pytest.approx(residual @ inverse @ residual, rel=1e-8)
    assert found.degrees.sum() == np.linalg.matrix_rank(balances)


@settings(max_examples=60)
@given(st.integers(0, 10**6), st.integers(2, 25), st.integers(1, 6))
def test_shared_errors_are_the_dense_algebra_with_covariances(seed, nodes, instruments):
    """With errors that streams share, values, uncertainties, tests and sums of squares are those of the full covariance
    matrix S = D + G G' in the formulas of the textbook; the network is one, so that no error is split."""
    source, target = tank_farm(seed, nodes)
    source[target == 0], target[-1] = -1, -1
    rng = np.random.default_rng(seed + 4)
    y, u = rng.uniform(10, 100, len(source)), rng.uniform(0.1, 3.0, len(source))
    errors = np.where(rng.random((len(source), instruments)) < 0.5, rng.normal(0, 2.0, (len(source), instruments)), 0.0)
    balances, covariance = balance_matrix(source, target), np.diag(u**2) + errors @ errors.T
    plain = reconcile(source, target, y, u)
    if len(plain.chi_square) != 1 or (plain.network < 0).any():
        return
    inverse = np.linalg.inv(balances @ covariance @ balances.T)
    gain = covariance @ balances.T @ inverse
    dense, moved = y - gain @ (balances @ y), gain @ balances @ covariance
    push, pull = balances.T @ inverse @ (balances @ y), np.diag(balances.T @ inverse @ balances)

    found = reconcile(source, target, y, u, shared=scipy.sparse.csr_matrix(errors))

    assert found.value == pytest.approx(dense, abs=1e-7)
    assert found.u == pytest.approx(np.sqrt(np.clip(np.diag(covariance - moved), 0, None)), abs=1e-5)
    assert found.z == pytest.approx(np.abs(push) / np.sqrt(pull), rel=1e-5, abs=1e-7)
    assert found.sensitivity == pytest.approx(np.sqrt(pull), rel=1e-6)
    assert found.redundancy == pytest.approx(np.diag(moved) / np.diag(covariance), abs=1e-7)
    assert found.chi_square.sum() == pytest.approx((balances @ y) @ inverse @ (balances @ y), rel=1e-7)
    assert np.abs(balances @ found.value).max() < 1e-8


def test_one_balance_cannot_see_the_error_of_its_own_instrument():
    """What went in and what came out, gauged with one instrument that is wrong by the same part of both: the loss is
    surer than either, to the scatter of the readings (GUM 5.2.2, note 1, worked out by hand)."""
    wrong = scipy.sparse.csr_matrix(np.array([[2.0], [2.0], [0.0]]))

    found = reconcile([-1, 0, 0], [0, -1, -1], [100.0, 97.0, np.nan], [0.3, 0.4, np.nan], shared=wrong)

    assert found.value[2] == pytest.approx(3.0)
    assert found.u[2] == pytest.approx(0.5)
    assert found.u[:2] == pytest.approx([np.hypot(2.0, 0.3), np.hypot(2.0, 0.4)])


def test_a_wrong_instrument_accuses_no_gauge():
    """A lot handed on forty times, every other time gauged with one instrument: when that is wrong by two of its
    standard uncertainties, no gauge is suspect while the error is named as one; as many, it accuses by the sum."""
    steps = 40
    source, target = np.arange(-1, steps - 1), np.append(np.arange(steps - 1), -1)
    by_instrument = np.tile([1.0, 0.0], steps // 2)
    rng = np.random.default_rng(5)
    named, independent = 0, 0
    for _ in range(40):
        y = 100.0 + 0.3 * rng.standard_normal(steps) + 2.0 * by_instrument
        shared = scipy.sparse.csr_matrix(by_instrument[:, None])
        named += reconcile(source, target, y, np.full(steps, 0.3), 10, shared).set_aside.any()
        apart = reconcile(source, target, y, np.hypot(0.3, by_instrument), 10)
        independent += (apart.chi_square > chi_square_critical(steps - 1)).any()

    assert named <= 5  # 5 % of 40 trials are 2
    assert independent >= 35


@settings(max_examples=40)
@given(st.integers(0, 10**6), st.integers(2, 60))
def test_alcohol_is_conserved_after_reconciliation(seed, nodes):
    """Every balance closes to 1e-9 of what flows through it."""
    source, target = tank_farm(seed, nodes)
    rng = np.random.default_rng(seed + 2)
    y, u = rng.uniform(1, 500, len(source)), rng.uniform(0.05, 5.0, len(source))

    value = reconcile(source, target, y, u, most_set_aside=3).value

    known = np.isfinite(value)
    balances = balance_matrix(source, target)
    complete = (np.abs(balances[:, ~known]) > 0).sum(
        axis=1
    ) == 0  # a node with a stream that nothing tells is no balance
    through = np.abs(balances[:, known]) @ np.abs(value[known])
    assert (np.abs(balances[:, known] @ value[known])[complete] <= 1e-9 * np.maximum(through, 1.0)[complete]).all()


@settings(max_examples=60)
@given(st.integers(0, 10**6), st.integers(2, 15), st.floats(0.1, 0.6))
def test_unmeasured_streams_are_told_where_the_balances_tell_them(seed, nodes, left_out):
    """A stream is worked out exactly where every solution of the balances has the same value for it."""
    source, target = tank_farm(seed, nodes)
    rng = np.random.default_rng(seed + 3)
    missing = rng.random(len(source)) < left_out
    balances = balance_matrix(source, target)
    truth = np.linalg.svd(balances)[2][np.linalg.matrix_rank(balances) :].T @ rng.uniform(
        1, 9, len(source) - np.linalg.matrix_rank(balances)
    )
    y = np.where(missing, np.nan, truth)

    found = reconcile(source, target, y, np.ones(len(source)))

    own = balances[:, missing]
    free = np.linalg.svd(own)[2][np.linalg.matrix_rank(own) :] if own.size else np.zeros((0, 0))
    told = np.abs(free).max(axis=0, initial=0.0) < 1e-9
    assert np.isfinite(found.value[missing]).tolist() == told.tolist()
    assert found.value[missing][told] == pytest.approx(truth[missing][told], abs=1e-7)


def test_an_estimate_has_its_uncertainty():
    """A loss that is not measured is in less out, with the two uncertainties in quadrature (GUM, first order)."""
    found = reconcile([-1, 0, 0], [0, -1, -1], [100.0, 97.0, np.nan], [0.8, 0.6, np.nan])

    assert found.value[2] == pytest.approx(3.0)
    assert found.u[2] == pytest.approx(1.0)
    assert found.redundancy.tolist() == [0.0, 0.0, 0.0]
    assert detectable_error(found.redundancy, sidak_critical(1)).tolist() == [np.inf] * 3


# A spirit store as it is: two strip runs feed a rectifying run, whose spirit goes to three products; each lot is gauged
# when it is made and when it is drawn, and each loss is the usual one. Made up.
HOUSE_STREAMS = [
    # from, to, value, u                  nodes: 0, 1 strip runs; 2, 3 hearts lots; 4 rectifying run; 5 its spirit lot;
    (-1, 0, 247.0, 1.2), (0, 2, 238.0, 0.8), (0, -1, 9.0, 0.5),  # 6 reduction, 7 its lot; 8 botanical run, 9 its lot
    (-1, 1, 247.0, 1.2), (1, 3, 238.0, 0.8), (1, -1, 9.0, 0.5),
    (2, 4, 237.0, 0.8), (2, -1, 1.0, 0.3), (3, 4, 237.0, 0.8), (3, -1, 1.0, 0.3),
    (4, 5, 420.0, 1.3), (4, -1, 54.0, 0.9),
    (5, 6, 280.0, 0.9), (5, 8, 130.0, 0.5), (5, -1, 10.0, 0.3),
    (6, 7, 279.0, 0.9), (6, -1, 1.0, 0.3), (7, -1, 279.0, 0.9),
    (8, 9, 112.0, 0.4), (8, -1, 18.0, 0.3), (9, -1, 112.0, 0.4),
]  # fmt: skip


@pytest.mark.parametrize("streams", ["published", "house"])
def test_power_of_the_tests_against_one_gross_error(streams):
    """An error of five standard uncertainties in each measurement in turn: the right one is named in 80 % of trials,
    wherever it was reckoned beforehand that the network can name it; where it cannot, that too was known beforehand."""
    if streams == "published":
        source, target = np.array(SOURCE), np.array(TARGET)
        truth, u = np.array([100.0, 64.0, 36.0, 64.0, 36.0, 100.0]), np.ones(6)
    else:
        table = np.array(HOUSE_STREAMS)
        source, target, truth, u = table[:, 0].astype(int), table[:, 1].astype(int), table[:, 2], table[:, 3]
    assert balance_matrix(source, target) @ truth == pytest.approx(0.0)
    rng = np.random.default_rng(31)
    found = reconcile(source, target, truth, u)
    critical = sidak_critical(len(truth))
    twins = np.bincount(found.alike)[found.alike] > 1
    can = (detectable_error(found.redundancy, critical) <= 5.0) & ~twins
    global_critical = chi_square_critical(int(found.degrees[0]))

    trials, named, alarmed = 25, np.zeros(len(truth)), np.zeros(len(truth))
    for stream in range(len(truth)):
        for trial in range(trials):
            wrong = truth + u * rng.standard_normal(len(truth))
            wrong[stream] += 5.0 * u[stream] * (-1.0) ** trial
            tested = reconcile(source, target, wrong, u)
            named[stream] += np.argmax(tested.z) == stream and tested.z[stream] > critical
            alarmed[stream] += tested.chi_square[0] > global_critical

    assert can.sum() >= 6
    assert named[can].sum() / (trials * can.sum()) >= 0.8
    # streams that stand in the same balances are told apart by nothing: the error is seen and the pair is named
    assert (alarmed[can].sum()) / (trials * can.sum()) >= 0.8
    assert named[~can].sum() / max(trials * (~can).sum(), 1) < 0.8


def test_networks_that_only_the_outside_joins_are_two():
    """Each has its own balance and its own sum of squares: (3 - 1)^2 / 2 and (9 - 5)^2 / 8."""
    found = reconcile([-1, 0, -1, 1], [0, -1, 1, -1], [3.0, 1.0, 9.0, 5.0], [1.0, 1.0, 2.0, 2.0])

    assert (found.network.tolist(), found.degrees.tolist()) == ([0, 0, 1, 1], [1, 1])
    assert found.chi_square == pytest.approx([4 / 2, 16 / 8])
    assert found.value == pytest.approx([2.0, 2.0, 7.0, 7.0])


def test_a_network_that_nothing_leaves_has_one_balance_fewer():
    """What goes round goes round: two streams between two nodes, worth their mean; the other node tells the same."""
    found = reconcile([0, 1], [1, 0], [10.0, 12.0], [1.0, 1.0])

    assert found.degrees.tolist() == [1]
    assert found.value == pytest.approx([11.0, 11.0])
    assert found.chi_square == pytest.approx([(12.0 - 10.0) ** 2 / 2])


@pytest.mark.parametrize(("source", "target"), [([-1, 0], [0, 1]), ([0, 1], [1, -1])])
def test_a_network_open_on_one_side_has_all_its_balances(source, target):
    """Of two nodes, fed or drawn from only: nothing can flow."""
    found = reconcile(source, target, [10.0, 12.0], [1.0, 1.0])

    assert found.degrees.tolist() == [2]
    assert found.value == pytest.approx([0.0, 0.0], abs=1e-9)


def test_streams_between_the_same_nodes_are_alike():
    """Either way round; others are not, and what is in no balance has no number."""
    found = reconcile([-1, 0, 1, 0, 1, 2], [0, 1, 0, 1, -1, -1], [9.0, 6.0, 1.0, 4.0, 9.0, np.nan], [1.0] * 6)

    first, one, back, other, last, unchecked = found.alike.tolist()
    assert one == back == other and len({first, one, last}) == 3
    assert unchecked == -1 and found.network[5] == -1


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (([], [], [], []), "same length"), (([-1, 0], [0], [1.0, 1.0], [1.0, 1.0]), "same length"),
        (([-1, 0], [0, -1], [1.0], [1.0, 1.0]), "same length"), (([-1, 0], [0, -1], [1.0, 1.0], [1.0]), "same length"),
        (([-1, 0], [0, 0], [1.0, 1.0], [1.0, 1.0]), "node that it leaves"),
        (([-1, 0], [0, -1], [1.0, 1.0], [1.0, 0.0]), "greater than 0"),
        (([-1, 0], [0, -1], [1.0, 1.0], [1.0, np.nan]), "greater than 0"),
    ],
)  # fmt: skip
def test_what_is_no_network(arguments, words):
    """Rows of unlike length, none at all, a stream in a circle, and a measurement that is exact."""
    with pytest.raises(ValueError, match=words):
        reconcile(*arguments)


def test_many_losses_are_worked_out_with_their_uncertainties():
    """Seventy lots, of each what went in and what came out: each loss has the two uncertainties in quadrature."""
    lots = np.arange(70)
    source, target = np.concatenate([np.full(70, -1), lots, lots]), np.concatenate([lots, np.full(140, -1)])
    y = np.concatenate([np.full(70, 100.0), 90.0 - lots / 10, np.full(70, np.nan)])
    u = np.concatenate([np.full(70, 0.3), 0.4 + lots / 100, np.full(70, np.nan)])

    found = reconcile(source, target, y, u)

    assert found.value[140:] == pytest.approx(10.0 + lots / 10)
    assert found.u[140:] == pytest.approx(np.hypot(0.3, 0.4 + lots / 100))


def test_where_all_is_measured_nothing_is_worked_out():
    """No stream, and no row of sums."""
    found, parts = worked_out_from(np.array([-1, 0]), np.array([0, -1]), np.array([True, True]))

    assert found.tolist() == [] and parts.shape == (0, 2)
