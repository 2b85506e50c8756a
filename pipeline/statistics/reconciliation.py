"""A network of measured streams made to balance by weighted least squares, and the tests that find a wrong measurement.

A stream leaves one node and enters another; ENVIRONMENT is what lies outside. At each node what enters equals what
leaves. Measured streams have a standard uncertainty; unmeasured ones are worked out where the balances allow it. The
errors that streams share, as those measured with one instrument do, may be given beside their own.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components
from scipy.special import chdtri, ndtri

from gaugebook.pipeline.statistics.shared_errors import BalanceCovariance, apart_by_network
from gaugebook.pipeline.statistics.unmeasured import merged_nodes, worked_out_from

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
ENVIRONMENT = -1
LEVEL = 0.05  # chance of accusing a measurement of a network although none is wrong
POWER = 0.8  # chance of finding an error that is called detectable
_AT_ONCE = 64  # right sides solved together, a matter of memory


@dataclass(frozen=True)
class Reconciliation:
    """What reconciling gave; one entry a stream unless said otherwise.

    Attributes
    ----------
    value, u : array
        Reconciled value and its standard uncertainty; NaN where an unmeasured stream cannot be worked out
    z : array
        Measurement test, before anything was set aside; NaN where no balance checks the stream
    redundancy : array
        Share of a measurement's variance that reconciling takes off, 0..1; 0: nothing checks it
    sensitivity : array
        What the measurement test becomes by an error of one unit in this measurement alone; 0: nothing checks it
    alike : array of int
        Streams of one number stand in the same balances: an error in one cannot be told from an error in another
    network : array of int
        Number of the connected network that the stream belongs to; -1: in no balance
    set_aside : array of bool
        Measurements found wrong one after another and not used; their value comes from the others
    z_when_set_aside : array
        Measurement test at that turn; NaN where not set aside
    chi_square : array
        One entry a network: weighted sum of squares of what does not balance, nothing set aside
    chi_square_after : array
        The same with the measurements set aside
    degrees : array of int
        One entry a network: number of independent balances
    """

    value: Array
    u: Array
    z: Array
    redundancy: Array
    sensitivity: Array
    alike: Indices
    network: Indices
    set_aside: NDArray[np.bool_]
    z_when_set_aside: Array
    chi_square: Array
    chi_square_after: Array
    degrees: Indices


def reconcile(
    source: ArrayLike,
    target: ArrayLike,
    measured: ArrayLike,
    u: ArrayLike,
    most_set_aside: int = 0,
    shared: sparse.spmatrix | None = None,
) -> Reconciliation:
    """Reconciled values of all streams, tests of the measured ones, and estimates of the unmeasured ones.

    x = y - S A' (A S A')^-1 A y, where A holds the balances after nodes that unmeasured streams join were merged, and S
    the variances, with the covariances of streams that share errors. A stream in no balance stays as measured. As far
    as `most_set_aside` allows, the measurement with the greatest test statistic beyond its network's critical value is
    set aside as if it had not been made, and the tests are made again (serial elimination).

    Parameters
    ----------
    source, target : array of int
        Node that each stream leaves and node that it enters, ENVIRONMENT for what lies outside [-]
    measured : array
        Measured value of each stream, NaN where it was not measured [any unit]
    u : array
        Its standard uncertainty by all that is its own, greater than 0 where it was measured [unit of the values]
    most_set_aside : int
        How many measurements may be set aside [-]
    shared : sparse matrix, optional
        Streams by errors: what a standard deviation of each error gives to each stream, with its sign, beside `u`
        [unit of the values]

    Returns
    -------
    Reconciliation
        In the unit of the values

    Raises
    ------
    ValueError
        If the arrays differ in length, a stream enters the node that it leaves, or an uncertainty is not positive.

    Source
    ------
    S. Narasimhan and C. Jordache, Data Reconciliation and Gross Error Detection (2000), chapters 1, 3 and 7.

    Examples
    --------
    >>> found = reconcile([-1, 0, 0], [0, -1, -1], [100.0, 60.0, 43.0], [1.0, 1.0, 1.0])
    >>> found.value.round(9).tolist(), found.chi_square.round(9).tolist(), found.degrees.tolist()
    ([101.0, 59.0, 42.0], [3.0], [1])
    """
    source, target = np.asarray(source, dtype=np.int64), np.asarray(target, dtype=np.int64)
    y, u = np.asarray(measured, dtype=np.float64), np.asarray(u, dtype=np.float64)
    _check(source, target, y, u)
    common = sparse.csr_matrix((len(y), 0)) if shared is None else shared.tocsr()
    first = _Balances(source, target, y, u, common)
    z, redundancy, sensitivity = np.full(len(y), np.nan), np.zeros(len(y)), np.zeros(len(y))
    aside, z_aside, chi_square_after = first.serial_elimination(most_set_aside)
    checked = first.checked
    z[checked] = first.z
    redundancy[checked] = np.clip(first.covariance.seen / first.variance[checked], 0.0, 1.0)
    sensitivity[checked] = np.sqrt(first.covariance.pull)
    last = _Balances(source, target, np.where(aside, np.nan, y), u, common) if aside.any() else first
    value, u_value = last.reconciled()
    return Reconciliation(
        value, u_value, z, redundancy, sensitivity, first.alike(), first.network, aside, z_aside,
        first.chi_square, chi_square_after, first.degrees,
    )  # fmt: skip


def sidak_critical(tests: int, level: float = LEVEL) -> float:
    """Greatest of so many normal deviates that chance alone exceeds only at this level.

    Parameters
    ----------
    tests : int
        Number of measurements tested together [-]
    level : float
        Level of significance over all of them [-]

    Returns
    -------
    float
        Critical value of the measurement test

    Source
    ------
    Z. Sidak (1967), as used in Narasimhan and Jordache (2000), chapter 7: beta = 1 - (1 - level)^(1/tests), two-sided.

    Examples
    --------
    >>> round(sidak_critical(6), 3)
    2.631
    """
    return float(-ndtri((1.0 - (1.0 - level) ** (1.0 / tests)) / 2.0))


def chi_square_critical(degrees: int, level: float = LEVEL) -> float:
    """Value that the weighted sum of squares of a network exceeds by chance only at this level.

    Parameters
    ----------
    degrees : int
        Number of independent balances [-]
    level : float
        Level of significance [-]

    Returns
    -------
    float
        Critical value of the global test

    Source
    ------
    Narasimhan and Jordache (2000), chapter 7 (global test); the chi-square distribution of scipy.

    Examples
    --------
    >>> round(chi_square_critical(4), 3)
    9.488
    """
    return float(chdtri(degrees, level))


def detectable_error(redundancy: ArrayLike, critical: ArrayLike, power: float = POWER) -> Array:
    """Least error of a measurement, in its standard uncertainties, that the measurement test finds with this power.

    Parameters
    ----------
    redundancy : array
        Share of each measurement's variance that the balances can see; where errors are shared, the square of its
        sensitivity in standard uncertainties, which may be more than 1 [-]
    critical : float or array
        Critical value of the measurement test [-]
    power : float
        Chance with which the error is found [-]

    Returns
    -------
    array
        Multiples of the standard uncertainty; infinite where nothing checks the measurement

    Source
    ------
    The test statistic is normal with unit variance and mean b sqrt(redundancy) under an error of b standard
    uncertainties (Narasimhan and Jordache 2000, chapter 7; worked out here).

    Examples
    --------
    >>> detectable_error([1.0, 0.25, 0.0], 2.631).round(2).tolist()
    [3.47, 6.95, inf]
    """
    share = np.asarray(redundancy, dtype=np.float64)
    reach = np.asarray(critical, dtype=np.float64) + ndtri(power)
    return np.divide(reach, np.sqrt(share), out=np.full(share.shape, np.inf), where=share > 1e-9)


class _Balances:
    """The balances that measured streams must obey, factored, with what each stream's test needs."""

    def __init__(self, source: Indices, target: Indices, y: Array, u: Array, shared: sparse.csr_matrix) -> None:
        self._source, self._target, self._y = source, target, y
        self._own, self._shared = u**2, shared
        self.variance = self._own + np.asarray(shared.multiply(shared).sum(axis=1)).ravel()
        known = np.isfinite(y)
        node = merged_nodes(source[~known], target[~known], int(max(source.max(), target.max())) + 1)
        leaves, enters = node[source], node[target]  # the last entry of `node` is the environment, so -1 finds it
        self.checked = known & (leaves != enters)
        self._leaves, self._enters, self.network, row_network = _rooted(leaves, enters, self.checked)
        self._rows = _incidence(self._leaves, self._enters, len(row_network))
        common, alone = apart_by_network(shared[self.checked], self.network[self.checked])
        self.covariance = BalanceCovariance(self._rows, self._own[self.checked] + alone, common)
        residual = self._rows @ y[self.checked]
        multiplier = self.covariance.solve(residual)
        self._push = self._rows.T @ multiplier
        self.z = np.abs(self._push) / np.sqrt(self.covariance.pull)
        networks = int(self.network.max(initial=-1)) + 1
        self.chi_square: Array = np.bincount(row_network, residual * multiplier, networks).astype(np.float64)
        self.degrees = np.bincount(row_network, minlength=networks)

    def serial_elimination(self, most: int) -> tuple[NDArray[np.bool_], Array, Array]:
        """Which measurements are set aside, their test at that turn, and what chi-square is left of each network.

        Setting one aside takes its direction out of the residuals, so that tests and sums of squares follow by
        rank-one steps (a Cholesky factorisation of their covariance with the greatest test as pivot).
        """
        push, pull, chi_square = self._push.copy(), self.covariance.pull.copy(), self.chi_square.copy()
        network = self.network[self.checked]
        streams = np.bincount(network, minlength=len(chi_square))
        critical = np.array([sidak_critical(n) for n in np.maximum(streams, 1)])[network]
        taken: list[int] = []
        directions: list[Array] = []
        aside, z_aside = np.zeros(len(self._y), dtype=bool), np.full(len(self._y), np.nan)
        place = np.flatnonzero(self.checked)
        while len(taken) < most:
            # a pull that has vanished belongs to a stream that nothing checks any more
            z = np.where(pull > 1e-9 * self.covariance.pull, np.abs(push) / np.sqrt(np.maximum(pull, 1e-300)), 0.0)
            chosen = int(np.argmax(z - critical)) if len(z) else 0
            if not len(z) or z[chosen] <= critical[chosen]:
                break
            column = self._rows.T @ self.covariance.solve(np.asarray(self._rows[:, [chosen]].todense()).ravel())
            for direction in directions:
                column -= direction * direction[chosen]
            direction = column / np.sqrt(column[chosen])
            step = push[chosen] / np.sqrt(column[chosen])
            push -= direction * step
            pull -= direction**2
            chi_square[network[chosen]] -= step**2
            taken.append(chosen)
            directions.append(direction)
            aside[place[chosen]], z_aside[place[chosen]] = True, z[chosen]
        return aside, z_aside, chi_square

    def reconciled(self) -> tuple[Array, Array]:
        """Value and standard uncertainty of every stream, those of unmeasured ones from the others."""
        known = np.isfinite(self._y)
        value, u = np.where(known, self._y, np.nan), np.where(known, np.sqrt(self.variance), np.nan)
        value[self.checked] -= self.covariance.adjustment(self._push)
        u[self.checked] = np.sqrt(np.clip(self.variance[self.checked] - self.covariance.seen, 0.0, None))
        worked_out, parts = worked_out_from(self._source, self._target, known)
        value[worked_out] = parts @ value[known]
        u[worked_out] = np.sqrt(np.clip(self._variances(parts, known), 0.0, None))
        return value, u

    def _variances(self, parts: sparse.csr_matrix, known: NDArray[np.bool_]) -> Array:
        """Variance of sums of reconciled values, as sums of the measured ones: l' S l for each row c of parts.

        Here l is c less A' (A S A')^-1 A S c of the checked streams, so that what reconciling took off a stream counts
        in its covariance with all others, those in no balance too.
        """
        checked = self.checked[known]
        balances = self.covariance.covariance_with(parts[:, checked]).tocsc()
        own, shared = self._own[known], self._shared[known]
        total = np.empty(parts.shape[0])
        for start in range(0, parts.shape[0], _AT_ONCE):
            some = slice(start, start + _AT_ONCE)
            of_measured = np.asarray(parts[some].todense())
            multipliers = self.covariance.solve(np.asarray(balances[:, some].todense()))
            of_measured[:, checked] -= (self._rows.T @ multipliers).T
            total[some] = of_measured**2 @ own + ((of_measured @ shared) ** 2).sum(axis=1)
        return total

    def alike(self) -> Indices:
        """A number for each pair of nodes between which streams run, either way."""
        labels = np.full(len(self._y), -1, dtype=np.int64)
        pairs = np.sort(np.column_stack([self._leaves, self._enters]), axis=1)
        labels[self.checked] = np.unique(pairs, axis=0, return_inverse=True)[1].ravel()
        return labels


def _check(source: Indices, target: Indices, y: Array, u: Array) -> None:
    if not len(source) == len(target) == len(y) == len(u) or len(y) == 0:
        raise ValueError("source, target, measured and u must be rows of the same length, at least one stream long")
    if (source == target).any():
        raise ValueError("a stream cannot enter the node that it leaves")
    if not (u[np.isfinite(y)] > 0).all():
        raise ValueError("every measured stream needs a standard uncertainty greater than 0")


def _rooted(leaves: Indices, enters: Indices, checked: NDArray[np.bool_]) -> tuple[Indices, Indices, Indices, Indices]:
    """The checked streams' ends as rows of the balances (-1: outside), and the network of each stream and row.

    The environment is no balance. A network that nothing leaves or enters has one balance that follows from the others,
    so one of its nodes is taken for its outside.
    """
    nodes, flat = np.unique(np.concatenate([[ENVIRONMENT], leaves[checked], enters[checked]]), return_inverse=True)
    out, into = flat[1 : 1 + checked.sum()], flat[1 + checked.sum() :]
    inner = (out > 0) & (into > 0)  # two networks that only the outside joins are two
    joined = sparse.coo_matrix((np.ones(inner.sum()), (out[inner], into[inner])), shape=(len(nodes), len(nodes)))
    label = connected_components(joined, directed=False)[1]
    touches = np.zeros(label.max() + 1, dtype=bool)
    touches[label[into[out == 0]]] = touches[label[out[into == 0]]] = True
    is_row = np.ones(len(nodes), dtype=bool)
    is_row[0] = False
    first_of = np.unique(label, return_index=True)[1]
    is_row[first_of[~touches]] = False
    number = np.full(len(nodes), -1, dtype=np.int64)
    number[is_row] = np.arange(is_row.sum())
    named, row_network = np.unique(label[is_row], return_inverse=True)
    network = np.full(len(checked), -1, dtype=np.int64)
    network[checked] = np.searchsorted(named, label[np.maximum(out, into)])
    return number[out], number[into], network, row_network.astype(np.int64)


def _incidence(leaves: Indices, enters: Indices, rows: int) -> sparse.csr_matrix:
    """Balances by streams: +1 where a stream enters, -1 where it leaves."""
    streams = np.arange(len(leaves))
    inside, into = leaves >= 0, enters >= 0
    signs = np.concatenate([-np.ones(inside.sum()), np.ones(into.sum())])
    places = (np.concatenate([leaves[inside], enters[into]]), np.concatenate([streams[inside], streams[into]]))
    return sparse.csr_matrix((signs, places), shape=(rows, len(leaves)))
