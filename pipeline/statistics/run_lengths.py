"""Average run lengths by integral equation: how long until a chart that remembers cries wolf, or tells the truth."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Density = Callable[[NDArray[np.float64], NDArray[np.float64]], NDArray[np.float64]]


def fredholm_run_length(
    density: Density, lower: float, upper: float, start: float, at_lower: Density | None = None, nodes: int = 96
) -> float:
    """Average run length of a statistic that moves inside an interval until it leaves it.

    Solves L(z) = 1 + [L(lower) P(to lower | z)] + integral of L(y) f(y | z) dy, the bracket only where the statistic
    can rest on the lower end, as a one-sided cumulative sum does.

    Parameters
    ----------
    density : callable
        f(y, z): density of going from z to y, both arrays that broadcast [-]
    lower, upper : float
        Interval inside which no signal is given [-]
    start : float
        Where the statistic starts [-]
    at_lower : callable
        P(y, z) with y the lower end: probability of coming to rest there; None where it cannot [-]
    nodes : int
        Nodes of the Gauss-Legendre quadrature [-]

    Returns
    -------
    float
        Average run length [steps]

    Source
    ------
    Page, Biometrika 41 (1954) 100-115; solved by quadrature (Nystrom) as in Crowder, Technometrics 29 (1987) 401-407.

    Examples
    --------
    >>> from math import sqrt, pi
    >>> normal = lambda to, z: np.exp(-to**2 / 2) / sqrt(2 * pi) + 0 * z
    >>> round(fredholm_run_length(normal, -3.0, 3.0, 0.0), 1)
    370.4
    """
    x, w = np.polynomial.legendre.leggauss(nodes)
    y = (upper - lower) / 2 * x + (upper + lower) / 2
    weight = (upper - lower) / 2 * w
    kernel = density(y[None, :], y[:, None]) * weight[None, :]
    first = density(y, np.full_like(y, start)) * weight
    if at_lower is None:
        inside = np.linalg.solve(np.eye(nodes) - kernel, np.ones(nodes))
        return float(1 + first @ inside)
    states = np.concatenate([[lower], y])  # the resting place is a state of its own
    rest = at_lower(np.full_like(states, lower), states)[:, None]
    moves = np.hstack([rest, density(y[None, :], states[:, None]) * weight[None, :]])
    inside = np.linalg.solve(np.eye(nodes + 1) - moves, np.ones(nodes + 1))
    start_rest = float(at_lower(np.array([lower]), np.array([start]))[0])
    return float(1 + start_rest * inside[0] + first @ inside[1:])
