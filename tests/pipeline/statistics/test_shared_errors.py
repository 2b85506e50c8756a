"""Errors that streams share: what becomes of them by network, and the dense algebra of the covariance of balances."""

import numpy as np
import pytest
from pytest import approx
from scipy import sparse

from gaugebook.pipeline.statistics.shared_errors import MOST_ERRORS, BalanceCovariance, apart_by_network


def test_an_error_of_two_networks_becomes_one_for_each():
    """Three errors over two networks: the first lies in both, the second and third in one each, between two streams."""
    shared = np.array([[2.0, 5.0, 0.0], [1.0, 6.0, 0.0], [3.0, 0.0, 7.0], [4.0, 0.0, 8.0]])

    errors, own = apart_by_network(sparse.csr_matrix(shared), np.array([0, 0, 1, 1]))

    columns = {tuple(column) for column in errors.toarray().T.tolist()}
    assert columns == {(2.0, 1.0, 0.0, 0.0), (0.0, 0.0, 3.0, 4.0), (5.0, 6.0, 0.0, 0.0), (0.0, 0.0, 7.0, 8.0)}
    assert own.tolist() == [0.0] * 4


def test_what_one_stream_of_a_network_has_alone_is_its_own():
    """Its square adds to the variance; signs stay with what is shared."""
    shared = np.array([[2.0, 3.0], [-1.0, 0.0], [4.0, 0.0]])

    errors, own = apart_by_network(sparse.csr_matrix(shared), np.array([0, 0, 1]))

    assert errors.toarray().tolist() == [[2.0], [-1.0], [0.0]]
    assert own.tolist() == [9.0, 0.0, 16.0]


def test_of_very_many_errors_the_greatest_between_streams_stay():
    """Two hundred; what the others give counts as the streams' own variance, and no variance is lost."""
    size = np.random.default_rng(1).permutation(np.arange(1.0, 204.0))
    shared = np.vstack([size, np.full(203, 2.0)])  # the product of the two is twice the size

    errors, own = apart_by_network(sparse.csr_matrix(shared), np.array([0, 0]))

    assert MOST_ERRORS == errors.shape[1] == 200
    assert sorted(errors.toarray()[0]) == list(np.arange(4.0, 204.0))
    assert own.tolist() == [1.0 + 4.0 + 9.0, 3 * 4.0]


def test_no_error_at_all():
    """Nothing is shared and nothing is added."""
    errors, own = apart_by_network(sparse.csr_matrix((3, 0)), np.array([0, 0, 0]))

    assert errors.shape == (3, 0) and own.tolist() == [0.0] * 3


def drawn(seed, nodes, errors):
    """A chain of nodes with streams past one node and out of every third, with errors between its streams."""
    rng = np.random.default_rng(seed)
    ends = [(node - 1, node) for node in range(nodes)] + [(nodes - 1, -1)]
    ends += [(node, node + 2) for node in range(nodes - 2)] + [(node, -1) for node in range(0, nodes, 3)]
    rows = np.zeros((nodes + 1, len(ends)))
    for stream, (leaves, enters) in enumerate(ends):
        rows[leaves, stream] -= 1.0
        rows[enters, stream] += 1.0
    variance = rng.uniform(0.1, 4.0, len(ends))
    shared = np.where(rng.random((len(ends), errors)) < 0.3, rng.normal(0.0, 1.5, (len(ends), errors)), 0.0)
    return rows[:nodes], variance, shared


@pytest.mark.parametrize(("nodes", "errors"), [(2, 0), (5, 3), (30, 0), (30, 64), (40, 65), (45, 150)])
def test_covariance_is_that_of_the_dense_matrices(nodes, errors):
    """M = A (D + G G') A' written out in full: solutions of one side and of many, what each stream's test sees of it,
    what reconciling takes off, and the covariances of sums and of adjustments."""
    rows, variance, shared = drawn(nodes + errors, nodes, errors)
    full = np.diag(variance) + shared @ shared.T
    inverse = np.linalg.inv(rows @ full @ rows.T)
    rng = np.random.default_rng(2)
    sides, weights = rng.normal(size=(nodes, 70)), rng.normal(size=(3, len(variance)))

    found = BalanceCovariance(sparse.csr_matrix(rows), variance, sparse.csc_matrix(shared))

    assert found.solve(sides) == approx(inverse @ sides, rel=1e-6, abs=1e-9)
    assert found.solve(sides[:, 0]) == approx(inverse @ sides[:, 0], rel=1e-6, abs=1e-9)
    assert found.pull == approx(np.diag(rows.T @ inverse @ rows), rel=1e-6, abs=1e-9)
    assert found.seen == approx(np.diag(full @ rows.T @ inverse @ rows @ full), rel=1e-6, abs=1e-9)
    assert found.covariance_with(sparse.csr_matrix(weights)).toarray() == approx(rows @ full @ weights.T)
    assert found.adjustment(weights[0]) == approx(full @ weights[0])


def test_errors_far_greater_than_the_streams_own_lose_no_figures():
    """Own variances of 1e-6 beside shared ones of 1e4: the residual of a solution is small all the same."""
    rows, variance, shared = drawn(7, 12, 4)
    variance, shared = variance * 1e-6, shared * 1e2
    found = BalanceCovariance(sparse.csr_matrix(rows), variance, sparse.csc_matrix(shared))
    side = np.random.default_rng(3).normal(size=12)

    left = rows @ (np.diag(variance) + shared @ shared.T) @ rows.T @ found.solve(side) - side

    assert np.abs(left).max() < 2e-5
