"""The covariance of balances whose streams share errors, as of one instrument: a sparse matrix and one of low rank.

Streams with own variances D and errors of unit variance that give G to them have the covariance S = D + G G'. The
balances A y then have M = A S A' = A D A' + B B' with B = A G. The first part is as sparse as the network, the second
has one column an error, so that solutions for the whole follow from solutions for the first (Woodbury's identity).
"""

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.linalg import cho_factor, cho_solve, solve_triangular

from gaugebook.pipeline.statistics.selected_inverse import FactoredMatrix

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
MOST_ERRORS = 200  # shared errors that are kept; a matter of memory
_AT_ONCE = 64  # right sides solved together, a matter of memory


def apart_by_network(shared: sparse.csr_matrix, network: Indices) -> tuple[sparse.csc_matrix, Array]:
    """The errors that streams of one network share, and the variance that they give to streams that share none.

    An error common to two networks becomes one for each: what one network tells of it is not used in the other, so that
    each is tested by itself. Of more than `MOST_ERRORS` those stay whose products between streams are greatest; the
    others, like those of a single stream, count as the stream's own.

    Parameters
    ----------
    shared : sparse matrix
        Streams by errors: what a standard deviation of each error gives to each stream [unit of the streams]
    network : array of int
        Number of each stream's network [-]

    Returns
    -------
    shared : sparse matrix
        Streams by errors, each within one network
    own : array
        Variance of each stream by the errors left out [square of the unit]

    Source
    ------
    None; the choice is this house's.

    Examples
    --------
    >>> errors, own = apart_by_network(sparse.csr_matrix([[2.0, 0.0], [1.0, 3.0]]), np.array([0, 0]))
    >>> errors.toarray().tolist(), own.tolist()
    ([[2.0], [1.0]], [0.0, 9.0])
    """
    entries = shared.tocoo()
    networks = int(network.max(initial=0)) + 1
    errors, column = np.unique(entries.col.astype(np.int64) * networks + network[entries.row], return_inverse=True)
    squares = np.bincount(column, entries.data**2, len(errors))
    products = np.bincount(column, np.abs(entries.data), len(errors)) ** 2 - squares  # 0 where one stream has it alone
    order = np.argsort(-products, kind="stable")[:MOST_ERRORS]
    kept = np.zeros(len(errors), dtype=bool)
    kept[order] = products[order] > 1e-12 * squares[order]
    stays = kept[column]
    own = np.bincount(entries.row[~stays], entries.data[~stays] ** 2, shared.shape[0]).astype(np.float64)
    place = np.cumsum(kept) - 1
    rows, columns = entries.row[stays], place[column[stays]]
    apart = sparse.coo_matrix((entries.data[stays], (rows, columns)), shape=(shared.shape[0], int(kept.sum())))
    return apart.tocsc(), own


class BalanceCovariance:
    """M = A (D + G G') A' of the balances, factored once.

    Attributes
    ----------
    pull : array
        a' M^-1 a for the column a of each stream
    seen : array
        s' M^-1 s of each stream, where s is its covariance with the balances: the variance that reconciling takes off
    """

    def __init__(self, rows: sparse.csr_matrix, variance: Array, shared: sparse.csc_matrix) -> None:
        self._rows, self._variance, self._shared = rows, variance, shared
        self._sparse = (rows @ sparse.diags(variance) @ rows.T).tocsr()
        self._factor = FactoredMatrix(self._sparse)
        self._common = (rows @ shared).tocsc()  # B
        self._solved = self._over_columns()  # A D A' \ B
        inner = np.eye(shared.shape[1]) + np.asarray(self._common.T @ self._solved)
        self._inner = cho_factor((inner + inner.T) / 2.0, lower=True)
        self.pull = self._pulls()
        self.seen = self._seen()

    def _over_columns(self) -> Array:
        solved = np.empty(self._common.shape)
        for start in range(0, self._common.shape[1], _AT_ONCE):
            some = np.asarray(self._common[:, start : start + _AT_ONCE].todense())
            solved[:, start : start + _AT_ONCE] = self._factor.solve(some)
        return solved

    def solve(self, right_side: Array) -> Array:
        """M^-1 times one right side or several as columns, refined once: the two parts may differ much in size."""
        first = self._once(right_side)
        if not self._shared.shape[1]:
            return first
        rest = right_side - self._sparse @ first - self._common @ (self._common.T @ first)
        return first + self._once(rest)

    def _once(self, right_side: Array) -> Array:
        solution = self._factor.solve(right_side)
        if self._shared.shape[1]:
            solution = solution - self._solved @ cho_solve(self._inner, np.asarray(self._common.T @ solution))
        return solution

    def covariance_with(self, weights: sparse.csr_matrix) -> sparse.csr_matrix:
        """A S times sums of streams given as rows of weights."""
        by_errors = self._common @ (self._shared.T @ weights.T)
        return self._rows @ sparse.diags(self._variance) @ weights.T + by_errors

    def adjustment(self, push: Array) -> Array:
        """S times a value of each stream."""
        return self._variance * push + self._shared @ (self._shared.T @ push)

    def _pulls(self) -> Array:
        """Of the sparse part from entries of its inverse between neighbours, less what the shared errors take off."""
        coo = self._rows.tocsc().tocoo()
        leaves, enters = (np.full(self._rows.shape[1], -1, dtype=np.int64) for _ in range(2))
        leaves[coo.col[coo.data < 0]], enters[coo.col[coo.data > 0]] = coo.row[coo.data < 0], coo.row[coo.data > 0]
        ends, others = (leaves, enters, leaves), (leaves, enters, enters)
        inside = [(end >= 0) & (two >= 0) for end, two in zip(ends, others, strict=True)]
        entries = self._factor.inverse_at(
            np.concatenate([end[which] for end, which in zip(ends, inside, strict=True)]),
            np.concatenate([two[which] for two, which in zip(others, inside, strict=True)]),
        )
        weights = np.repeat([1.0, 1.0, -2.0], [which.sum() for which in inside])
        streams = np.concatenate([np.flatnonzero(which) for which in inside])
        pull = np.bincount(streams, weights * entries, minlength=len(leaves)).astype(np.float64)
        if self._shared.shape[1]:
            turned = solve_triangular(self._inner[0], self._solved.T, lower=True).T
            for start in range(0, turned.shape[1], _AT_ONCE):
                pull -= ((self._rows.T @ turned[:, start : start + _AT_ONCE]) ** 2).sum(axis=1)
        return np.maximum(pull, 0.0)

    def _seen(self) -> Array:
        """With s = D a + B g: D^2 a' M^-1 a + 2 D a' M^-1 B g + g' B' M^-1 B g, error by error.

        Here M^-1 B = W C^-1 and B' M^-1 B = 1 - C^-1, where W is A D A' \\ B and C = 1 + B' W.
        """
        seen = self._variance**2 * self.pull
        errors = self._shared.shape[1]
        if errors:
            inverse = cho_solve(self._inner, np.eye(errors))
            for start in range(0, errors, _AT_ONCE):
                some = slice(start, start + _AT_ONCE)
                given = np.asarray(self._shared[:, some].todense())
                across = self._rows.T @ (self._solved @ inverse[:, some])
                rest = given - self._shared @ inverse[:, some]
                seen += (given * (2.0 * self._variance[:, None] * across + rest)).sum(axis=1)
        return np.maximum(seen, 0.0)
