"""Constants of control charts for normal values, by quadrature instead of from a table.

Printed tables carry three decimals, and some of them wrong ones (D3 and D4 of several sizes differ by up to 0.0014);
exact constants cost nothing.
"""

from dataclasses import dataclass
from functools import cache
from math import exp, lgamma, sqrt

import numpy as np

_REACH, _NODES = 9.0, 400  # standard deviations and nodes of the quadrature; the tails beyond hold under 1e-18


@dataclass(frozen=True)
class ChartConstants:
    """Constants for subgroups of one size.

    Attributes
    ----------
    d2, d3 : float
        Mean and standard deviation of the range of n values of standard deviation 1
    c4 : float
        Mean of their standard deviation s
    a2, d3_limit, d4_limit : float
        A2, D3 and D4: limits of mean and range from the mean range
    a3, b3, b4 : float
        A3, B3 and B4: limits of mean and s from the mean s
    """

    d2: float
    d3: float
    c4: float
    a2: float
    d3_limit: float
    d4_limit: float
    a3: float
    b3: float
    b4: float


def c4(size: int) -> float:
    """Mean standard deviation of so many normal values of standard deviation 1.

    Parameters
    ----------
    size : int
        Values in a subgroup, 2 or more [-]

    Returns
    -------
    float
        The constant c4 [-]

    Raises
    ------
    ValueError
        If there are fewer than two values.

    Source
    ------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.1.

    Examples
    --------
    >>> round(c4(5), 5), round(c4(30), 5)
    (0.93999, 0.99142)
    """
    if size < 2:
        raise ValueError(f"a subgroup has {size} values; expected 2 or more")
    return sqrt(2 / (size - 1)) * exp(lgamma(size / 2) - lgamma((size - 1) / 2))


@cache
def chart_constants(size: int) -> ChartConstants:
    """Constants of the charts of mean with range and of mean with standard deviation.

    Parameters
    ----------
    size : int
        Values in a subgroup, 2 to 200 [-]

    Returns
    -------
    ChartConstants
        Exact to about 1e-9

    Raises
    ------
    ValueError
        If the size is outside 2 to 200.

    Source
    ------
    d2 = integral of 1 - F^n - (1 - F)^n (Tippett 1925, from memory); its second moment likewise; c4 from the gamma
    function; A2 = 3/(d2 sqrt n), D3, D4 = 1 -+ 3 d3/d2, A3 = 3/(c4 sqrt n), B3, B4 = 1 -+ 3 sqrt(1 - c4^2)/c4:
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.1.

    Examples
    --------
    >>> five = chart_constants(5)
    >>> round(five.d2, 5), round(five.d3, 5), round(five.c4, 5), round(five.a2, 5), round(five.d4_limit, 5)
    (2.32593, 0.86408, 0.93999, 0.57682, 2.1145)
    """
    if not 2 <= size <= 200:
        raise ValueError(f"a subgroup has {size} values; expected 2 to 200")
    d2, d3 = _range_moments(size)
    of_mean = c4(size)
    of_s = 3 * sqrt(1 - of_mean * of_mean) / of_mean
    return ChartConstants(
        d2=d2, d3=d3, c4=of_mean,
        a2=3 / (d2 * sqrt(size)), d3_limit=max(0.0, 1 - 3 * d3 / d2), d4_limit=1 + 3 * d3 / d2,
        a3=3 / (of_mean * sqrt(size)), b3=max(0.0, 1 - of_s), b4=1 + of_s,
    )  # fmt: skip


def _range_moments(n: int) -> tuple[float, float]:
    """Mean and standard deviation of the range: E W and E W^2 as integrals over least and greatest value."""
    from scipy.special import ndtr  # scipy takes long to import, and most commands draw no chart

    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    x, w = _REACH * nodes, _REACH * weights
    below = ndtr(x)
    mean = float(w @ (1 - below**n - (1 - below) ** n))
    # E W^2 = 2 times the integral over x < y of P(least <= x and greatest > y); y runs upwards from x.
    lower = below[:, None]
    y = x[:, None] + (_REACH - x[:, None]) * (nodes[None, :] + 1) / 2
    upper = ndtr(y)
    missed = 1 - upper**n - (1 - lower) ** n + (upper - lower) ** n
    inner = (missed * weights[None, :]).sum(axis=1) * (_REACH - x) / 2
    square = 2 * float(w @ inner)
    return mean, sqrt(square - mean * mean)
