"""Many tests in one report: what each must show so that chance seldom speaks, and how often it speaks all the same."""

from collections.abc import Sequence
from math import inf

import numpy as np
from numpy.typing import ArrayLike, NDArray


def holm(p_values: ArrayLike) -> NDArray[np.float64]:
    """Chances adjusted so that any false one among all is as rare as the level says, whatever their dependence.

    Parameters
    ----------
    p_values : array
        One a test; NaN where a test was not made, which then does not count [-]

    Returns
    -------
    array
        Adjusted chances in the same order, at most 1

    Source
    ------
    Holm, Scandinavian Journal of Statistics 6 (1979) 65-70.

    Examples
    --------
    >>> holm([0.01, 0.04, 0.03]).round(2).tolist()
    [0.03, 0.06, 0.06]
    """
    p = np.asarray(p_values, dtype=np.float64)
    adjusted = np.full(p.size, np.nan)
    tested = np.flatnonzero(np.isfinite(p))
    order = tested[np.argsort(p[tested], kind="stable")]
    steps = p[order] * np.arange(tested.size, 0, -1)
    adjusted[order] = np.minimum(1.0, np.maximum.accumulate(steps))
    return adjusted


def sum_by_chance(counts: Sequence[Sequence[float]], share: float = 0.95, seed: int = 1) -> tuple[float, float]:
    """Mean and upper quantile of a sum of independent counts, each drawn from its own trials.

    Parameters
    ----------
    counts : sequence of sequences
        For each chart the numbers of alarms in simulated stable series, all equally many trials [-]
    share : float
        Of stable books that have no more than the quantile [-]
    seed : int
        Of the random pairing of the trials [-]

    Returns
    -------
    tuple of float
        Mean and quantile of the sum; (0, 0) without charts

    Source
    ------
    Simulation. Charts of the same runs are not independent; the mean holds all the same, the quantile is then too low.

    Examples
    --------
    >>> sum_by_chance([[0.0, 1.0], [0.0, 1.0]])[0]
    1.0
    """
    if not counts:
        return 0.0, 0.0
    rng = np.random.default_rng(seed)
    total = np.sum([rng.permutation(np.asarray(chart, dtype=np.float64)) for chart in counts], axis=0)
    return float(total.mean()), float(np.quantile(total, share, method="higher"))


def chance_beyond(value: float, mean: float, sd: float, points: int, most_degrees: float = inf) -> float:
    """Chance that a new value lies so far from the mean of a baseline, on either side.

    Parameters
    ----------
    value : float
        New value [any unit]
    mean, sd : float
        Of the baseline [unit of the value]
    points : int
        Values of the baseline, 3 or more [-]
    most_degrees : float
        Degrees of freedom are taken as no more than this, where tails may be heavier than the normal ones [-]

    Returns
    -------
    float
        Two-sided, by Student's t with as many degrees as a moving range is worth; NaN where sd is not positive

    Source
    ------
    Prediction of one normal value from n others (Hahn and Meeker, Statistical Intervals, from memory); a mean moving
    range of n values has about 0.62 (n - 1) degrees of freedom (Wheeler, from memory).

    Examples
    --------
    >>> round(chance_beyond(3.0, 0.0, 1.0, 10_000), 4)
    0.0027
    """
    from scipy.special import stdtr

    if not sd > 0 or points < 3:
        return float("nan")
    t = abs(value - mean) / (sd * float(np.sqrt(1 + 1 / points)))
    return float(2 * stdtr(min(0.62 * (points - 1), most_degrees), -t))
