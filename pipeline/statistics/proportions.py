"""Proportions: rejected bottles of those filled, batches right first time. Exact binomial, so few are no trouble."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

# The chance beyond each three-sigma limit of a normal chart: the binomial limits leave no more than this.
TAIL = 0.0013498980316301035


@dataclass(frozen=True)
class ProportionLimits:
    """Limits of a chart of proportions; lower and upper belong to the size of each sample."""

    centre: float
    lower: NDArray[np.float64]
    upper: NDArray[np.float64]


def proportion_limits(sizes: ArrayLike, centre: float, tail: float = TAIL) -> ProportionLimits:
    """Greatest and least proportion that chance gives in samples of these sizes.

    A sample signals where its proportion lies above `upper` or below `lower`; each happens with no more than `tail`.

    Parameters
    ----------
    sizes : array
        Number of items in each sample [-]
    centre : float
        Proportion of the baseline: all faulty items over all items [-]
    tail : float
        Chance on each side [-]

    Returns
    -------
    ProportionLimits
        Fractions, one each a sample

    Raises
    ------
    ValueError
        If the centre is no proportion or a sample is empty.

    Source
    ------
    Exact binomial quantiles in the place of the normal approximation of NIST/SEMATECH e-Handbook of Statistical
    Methods, 6.3.3.2.

    Examples
    --------
    >>> limits = proportion_limits([50, 1000], 0.02)
    >>> limits.lower.tolist(), limits.upper.tolist()
    ([0.0, 0.008], [0.1, 0.034])
    """
    n = np.asarray(sizes, dtype=np.int64)
    if not 0 <= centre <= 1 or (n < 1).any():
        raise ValueError(f"the centre is {centre} and the least sample {n.min()}; expected 0 to 1, and 1 or more")
    most = _quantile(1 - tail, n, centre)  # least k with P(X <= k) >= 1 - tail, so P(X > k) <= tail
    least = _quantile(tail, n, centre)  # so P(X < least) < tail
    return ProportionLimits(centre, np.maximum(least, 0) / n, most / n)


def _quantile(chance: float, n: NDArray[np.int64], centre: float) -> NDArray[np.float64]:
    """Least k with P(X <= k) of at least this chance, from a first guess that may fall short or be missing."""
    from scipy.special import bdtr, bdtrik  # scipy.stats takes a second to import

    k = np.clip(np.nan_to_num(np.floor(bdtrik(chance, n, centre))), 0, n)
    while (short := bdtr(k, n, centre) < chance).any():
        k = k + short
    return k
