"""Measurements set aside one after another, and the critical values and power of the tests that find them."""

import numpy as np
import pytest
import scipy.sparse
from flow_networks import balance_matrix, tank_farm
from scipy import stats

from gaugebook.pipeline.statistics.reconciliation import (
    chi_square_critical,
    detectable_error,
    reconcile,
    sidak_critical,
)

# The heat exchanger with a bypass of Narasimhan and Jordache (2000), chapter 7.
SOURCE, TARGET = [-1, 0, 0, 1, 2, 3], [0, 1, 2, 3, 3, -1]
MEASURED = np.array([101.91, 68.45, 34.65, 64.20, 36.44, 98.88])


@pytest.mark.parametrize("seed", range(6))
def test_measurements_are_set_aside_one_after_another(seed):
    """As if at each turn the worst were left out and all were reckoned anew: which, their tests, and what is left."""
    rng = np.random.default_rng(seed)
    source, target = tank_farm(seed, 12)
    source, target = (np.append(ends, np.where(ends < 0, -1, ends + 12)) for ends in (source, target))  # two of a kind
    y, u = rng.uniform(40, 60, len(source)), rng.uniform(2.0, 9.0, len(source))
    turn = reconcile(source, target, y, u)
    streams = np.bincount(turn.network[turn.network >= 0])
    critical = np.array([sidak_critical(streams[n]) if n >= 0 else np.inf for n in turn.network])
    aside, tests = np.zeros(len(y), dtype=bool), np.full(len(y), np.nan)
    for _ in range(4):
        beyond = np.nan_to_num(turn.z, nan=0.0) - critical
        if beyond.max() <= 0:
            break
        worst = int(beyond.argmax())
        aside[worst], tests[worst] = True, turn.z[worst]
        turn = reconcile(source, target, np.where(aside, np.nan, y), u)

    found = reconcile(source, target, y, u, 4)

    assert found.set_aside.tolist() == aside.tolist() and aside.any()
    assert found.z_when_set_aside == pytest.approx(tests, rel=1e-6, nan_ok=True)
    assert found.chi_square_after.sum() == pytest.approx(turn.chi_square.sum(), rel=1e-6)
    assert found.value == pytest.approx(turn.value, rel=1e-6, nan_ok=True)
    assert found.u == pytest.approx(turn.u, rel=1e-6, nan_ok=True)


def test_setting_aside_with_shared_errors_is_the_dense_algebra():
    """A measurement set aside has a boundless variance of its own in the full covariance matrix."""
    rng = np.random.default_rng(1)
    y, u = MEASURED + np.array([9.0, -8.0, 0.0, 7.0, 0.0, 0.0]), rng.uniform(0.3, 0.6, 6)
    errors = np.array([[0.5, 0.0], [0.0, 0.3], [0.5, 0.0], [0.4, 0.2], [0.0, 0.0], [0.0, 0.6]])
    balances, covariance = balance_matrix(np.array(SOURCE), np.array(TARGET)), np.diag(u**2) + errors @ errors.T

    found = reconcile(SOURCE, TARGET, y, u, 3, scipy.sparse.csr_matrix(errors))

    assert found.set_aside.sum() == 3
    for _ in range(3):
        inverse = np.linalg.inv(balances @ covariance @ balances.T)
        push, pull = balances.T @ inverse @ (balances @ y), np.diag(balances.T @ inverse @ balances)
        z = np.where(np.diag(covariance) > 1e5, 0.0, np.abs(push) / np.sqrt(pull))
        assert found.set_aside[z.argmax()]
        assert found.z_when_set_aside[z.argmax()] == pytest.approx(z.max(), rel=1e-3)
        covariance[z.argmax(), z.argmax()] += 1e7
    inverse = np.linalg.inv(balances @ covariance @ balances.T)
    assert found.chi_square_after[0] == pytest.approx((balances @ y) @ inverse @ (balances @ y), rel=1e-3)


def test_no_more_are_set_aside_than_are_allowed():
    """Nothing without leave, and one with leave for one."""
    assert not reconcile(SOURCE, TARGET, MEASURED * 3, np.ones(6)).set_aside.any()
    assert reconcile(SOURCE, TARGET, MEASURED * 3, np.ones(6), 1).set_aside.sum() == 1


def test_sensitivity_is_the_test_of_an_error_of_one_unit():
    """On measurements that balance exactly an error of 2 in one gives twice its sensitivity."""
    exact = np.array([100.0, 64.0, 36.0, 64.0, 36.0, 100.0])
    u = np.array([1.0, 2.0, 0.5, 1.0, 3.0, 1.5])
    for stream in range(6):
        wrong = exact.copy()
        wrong[stream] += 2.0
        found = reconcile(SOURCE, TARGET, wrong, u)
        assert found.z[stream] == pytest.approx(2.0 * found.sensitivity[stream], rel=1e-6)
        assert found.redundancy[stream] == pytest.approx((found.sensitivity[stream] * u[stream]) ** 2, rel=1e-6)


@pytest.mark.parametrize(("tests", "level"), [(1, 0.05), (6, 0.05), (40, 0.01)])
def test_critical_values_are_those_of_scipy(tests, level):
    """The greatest of so many normal deviates, and the chi-square of so many balances."""
    assert (1 - 2 * stats.norm.sf(sidak_critical(tests, level))) ** tests == pytest.approx(1 - level)
    assert chi_square_critical(tests, level) == pytest.approx(stats.chi2.isf(level, tests))
    assert sidak_critical(tests) == sidak_critical(tests, 0.05)
    assert chi_square_critical(tests) == chi_square_critical(tests, 0.05)


@pytest.mark.parametrize("power", [None, 0.5, 0.95])
def test_an_error_that_is_detectable_is_found_with_its_power(power):
    """Chance (scipy) that a normal deviate about b sqrt(redundancy) passes the critical value; 0.8 if none is said."""
    share = np.array([0.2, 0.9, 2.5])
    least = detectable_error(share, 2.6, **({} if power is None else {"power": power}))

    assert stats.norm.sf(2.6 - least * np.sqrt(share)) == pytest.approx([power or 0.8] * 3)
    assert detectable_error([1e-10, 1.1e-9], 2.6).tolist() == [
        np.inf,
        pytest.approx(3.4416 / np.sqrt(1.1e-9), rel=1e-3),
    ]
