"""What casks lose by evaporation: of each by its gauges, of casks alike by what differs between them, and the outliers.

Alcohol in a cask falls by about the same fraction each year, so the rate is that of its logarithm: ln A = ln A0 - k t.
Casks of one kind lose alike but not the same; what differs beyond the gauges' own uncertainty is a scatter between
casks, which a forecast for a cask never gauged again must carry.
"""

from dataclasses import dataclass
from math import exp, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

FEWEST_CASKS = 8  # below which a kind has no band of its own
_ROUNDS = 50


@dataclass(frozen=True)
class Rate:
    """A rate of evaporation.

    Attributes
    ----------
    per_year : float
        Part of the alcohol that is gone after a year
    u_per_year : float
        Its standard uncertainty
    log_rate, u_log_rate : float
        Decline of the logarithm of the alcohol, and its standard uncertainty [1/a]
    """

    per_year: float
    u_per_year: float
    log_rate: float
    u_log_rate: float


@dataclass(frozen=True)
class Band:
    """Casks of one kind together.

    Attributes
    ----------
    log_rate, u_log_rate : float
        Mean of the usual casks and its standard uncertainty [1/a]
    scatter : float
        Standard deviation from cask to cask, gauging taken out [1/a]
    z : array
        Of each cask: how far it lies off the others, in standard deviations of that distance
    critical : float
        Least |z| that makes a cask an outlier
    is_outlier : array of bool
        Casks that are none of the usual ones
    """

    log_rate: float
    u_log_rate: float
    scatter: float
    z: NDArray[np.float64]
    critical: float
    is_outlier: NDArray[np.bool_]

    @property
    def casks(self) -> int:
        """How many usual casks it rests on."""
        return int((~self.is_outlier).sum())


def evaporation_rate(years: ArrayLike, alcohol_l: ArrayLike, u_alcohol_l: ArrayLike) -> Rate:
    """Rate of one cask from its gauges, by weighted least squares on the logarithm of the alcohol.

    Parameters
    ----------
    years : array
        Time of each gauge since the first, two at least and not all the same [a]
    alcohol_l : array
        Pure alcohol in the cask at each, what was added or drawn in between set right [LPA]
    u_alcohol_l : array
        Standard uncertainty of each [LPA]

    Returns
    -------
    Rate
        With the uncertainty that the gauges leave; errors that all gauges of the cask share cancel in it.

    Raises
    ------
    ValueError
        If there are fewer than two times, or a quantity or uncertainty is not above 0.

    Source
    ------
    Weighted least squares with known variances: JCGM 100:2008 (GUM), H.3 (calibration line), with u(ln A) = u(A)/A
    by its 5.1.2.

    Examples
    --------
    >>> rate = evaporation_rate([0, 2], [100, 90], [0.3, 0.3])
    >>> round(rate.per_year, 4), round(rate.u_per_year, 4)
    (0.0513, 0.0021)
    """
    t = np.asarray(years, dtype=np.float64)
    a = np.asarray(alcohol_l, dtype=np.float64)
    u = np.asarray(u_alcohol_l, dtype=np.float64)
    if not (t.shape == a.shape == u.shape) or t.ndim != 1 or np.unique(t).size < 2:
        raise ValueError("a rate needs gauges at two times at least, each with its alcohol and uncertainty")
    if not ((a > 0).all() and (u > 0).all()):
        raise ValueError("alcohol and uncertainty must be above 0 at each gauge")
    weights = (a / u) ** 2
    centred = t - np.average(t, weights=weights)
    spread = float((weights * centred**2).sum())
    log_rate = -float((weights * centred * np.log(a)).sum()) / spread
    return _rate(log_rate, 1 / sqrt(spread))


def evaporation_band(log_rates: ArrayLike, u_log_rates: ArrayLike, false_alarm: float = 0.05) -> Band:
    """Mean and scatter of casks of one kind, and the casks that are none of them.

    Each cask is compared with the mean of the others, in the standard deviation of that distance: scatter from cask to
    cask, its own gauging and the mean's. An outlier is left out and the rest looked at again, until none is new. The
    scatter is that of Paule and Mandel, for which the weighted squares of the distances are as many as they should be.

    Parameters
    ----------
    log_rates : array
        Decline of the logarithm of each cask's alcohol, `FEWEST_CASKS` or more [1/a]
    u_log_rates : array
        Standard uncertainty of each [1/a]
    false_alarm : float
        Chance that among casks which are all usual one is called an outlier [-]

    Returns
    -------
    Band
        Mean, scatter and outliers

    Raises
    ------
    ValueError
        If there are too few casks, or an uncertainty is not above 0.

    Source
    ------
    R. C. Paule and J. Mandel, Consensus values and weighting factors, J. Res. Natl. Bur. Stand. 87 (1982) 377; the
    critical value is Sidak's, of Student's t for few casks.

    Examples
    --------
    >>> band = evaporation_band([0.050, 0.052, 0.049, 0.051, 0.048, 0.053, 0.050, 0.051, 0.120], [0.001] * 9)
    >>> round(band.log_rate, 4), band.is_outlier.nonzero()[0].tolist()
    (0.0505, [8])
    """
    k = np.asarray(log_rates, dtype=np.float64)
    u = np.asarray(u_log_rates, dtype=np.float64)
    if k.shape != u.shape or k.ndim != 1 or k.size < FEWEST_CASKS:
        raise ValueError(f"a band needs {FEWEST_CASKS} casks at least, each with its rate and uncertainty")
    if not (u > 0).all():
        raise ValueError("the uncertainty of a rate must be above 0")
    is_outlier = _far_off(k, u)
    for _ in range(_ROUNDS):
        z, critical = _distances(k, u, ~is_outlier, false_alarm)
        now = np.abs(z) > critical
        if (now == is_outlier).all():
            break
        is_outlier = now if (~now).sum() >= FEWEST_CASKS else is_outlier
    mean, u_mean, scatter = _together(k[~is_outlier], u[~is_outlier])
    return Band(mean, u_mean, scatter, z, critical, is_outlier)


def expected_alcohol(
    alcohol_l: float, u_alcohol_l: float, years: float, log_rate: float, u_log_rate: float, scatter: float
) -> tuple[float, float]:
    """What a cask never gauged again should hold by now, with its standard uncertainty.

    Parameters
    ----------
    alcohol_l : float
        Pure alcohol at its last gauge or filling [LPA]
    u_alcohol_l : float
        Its standard uncertainty [LPA]
    years : float
        Time since then [a]
    log_rate : float
        Mean rate of casks of its kind [1/a]
    u_log_rate : float
        Standard uncertainty of the mean [1/a]
    scatter : float
        Standard deviation from cask to cask [1/a]

    Returns
    -------
    tuple of float
        Alcohol and its standard uncertainty [LPA]

    Raises
    ------
    ValueError
        If the time or the alcohol is negative.

    Source
    ------
    A = A0 exp(-k t), uncertainty by JCGM 100:2008 (GUM), 5.1.2.

    Examples
    --------
    >>> held, u_held = expected_alcohol(100.0, 0.3, 2.0, 0.05, 0.001, 0.005)
    >>> round(held, 2), round(u_held, 2)
    (90.48, 0.96)
    """
    if years < 0 or alcohol_l < 0:
        raise ValueError("time and alcohol cannot be negative")
    held = alcohol_l * exp(-log_rate * years)
    own = u_alcohol_l * exp(-log_rate * years)
    return held, sqrt(own**2 + (held * years) ** 2 * (u_log_rate**2 + scatter**2))


def _rate(log_rate: float, u_log_rate: float) -> Rate:
    left = exp(-log_rate)
    return Rate(1 - left, left * u_log_rate, log_rate, u_log_rate)


def _far_off(k: NDArray[np.float64], u: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Casks to begin without, by median and median deviation, so that a few leaks cannot hide each other."""
    off = k - np.median(k)
    spread = 1.4826 * float(np.median(np.abs(off)))  # the factor makes it the standard deviation of a normal
    far = np.abs(off) > 5 * np.sqrt(spread**2 + u**2)
    return far if (~far).sum() >= FEWEST_CASKS else np.zeros(k.size, dtype=bool)


def _distances(
    k: NDArray[np.float64], u: NDArray[np.float64], usual: NDArray[np.bool_], false_alarm: float
) -> tuple[NDArray[np.float64], float]:
    """Of each cask its distance from the usual others, and the distance that chance does not give."""
    _, _, scatter = _together(k[usual], u[usual])
    weights = np.where(usual, 1 / (u**2 + scatter**2), 0.0)
    others = weights.sum() - weights
    mean_of_others = ((weights * k).sum() - weights * k) / others
    z = (k - mean_of_others) / np.sqrt(u**2 + scatter**2 + 1 / others)
    each = 1 - (1 - false_alarm) ** (1 / k.size)
    return z, float(stats.t.isf(each / 2, int(usual.sum()) - 1))


def _together(k: NDArray[np.float64], u: NDArray[np.float64]) -> tuple[float, float, float]:
    """Mean, its standard uncertainty, and the scatter between casks (Paule and Mandel)."""
    scatter = sqrt(_between(k, u))
    weights = 1 / (u**2 + scatter**2)
    return float((weights * k).sum() / weights.sum()), 1 / sqrt(float(weights.sum())), scatter


def _between(k: NDArray[np.float64], u: NDArray[np.float64]) -> float:
    """The variance between casks at which the weighted squares of the distances are one fewer than the casks."""

    def excess(between: float) -> float:
        weights = 1 / (u**2 + between)
        mean = (weights * k).sum() / weights.sum()
        return float((weights * (k - mean) ** 2).sum()) - (k.size - 1)

    if excess(0.0) <= 0:
        return 0.0
    least, greatest = 0.0, float(np.var(k, ddof=1)) * 2
    for _ in range(200):
        middle = (least + greatest) / 2
        least, greatest = (middle, greatest) if excess(middle) > 0 else (least, middle)
    return (least + greatest) / 2
