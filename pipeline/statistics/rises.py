"""When a series of standardised values rose and stayed high: a one-sided cumulative sum."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

ALLOWANCE = 0.5  # half of the shift that is to be found, in standard deviations
DECISION = 5.0  # with the allowance of 0.5 a false alarm comes about once in 930 values


@dataclass(frozen=True)
class Rise:
    """Places in the series: where the rise began, where it became significant, and its last high value."""

    first: int
    signal: int
    last: int


def rises(standardised: ArrayLike, allowance: float = ALLOWANCE, decision: float = DECISION) -> list[Rise]:
    """Stretches in which the values were higher than chance explains.

    S(i) = max(0, S(i-1) + z(i) - allowance); a rise is significant where S passes the decision value, began after the
    last nought of S before that, and ends where S was greatest before it came back to nought.

    Parameters
    ----------
    standardised : array
        Values with expected value 0 and standard deviation 1 where nothing has changed, in order of time [-]
    allowance : float
        What is taken off each value [-]
    decision : float
        Value of the sum that makes a signal [-]

    Returns
    -------
    list of Rise
        In order of time

    Source
    ------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3 CUSUM control charts, the tabular form; the average run
    length of 930 at h = 5, k = 0.5 (two-sided 465) from the same page, from memory.

    Examples
    --------
    >>> rises([0.1, -0.4, 2.0, 2.5, 3.0, -2.0, -3.0, -3.0])
    [Rise(first=2, signal=4, last=4)]
    """
    values = np.asarray(standardised, dtype=np.float64)
    if not np.isfinite(values).all():
        raise ValueError("a series with gaps has no cumulative sum; leave the gaps out")
    rises_found: list[Rise] = []
    total = 0.0
    signal: int | None = None
    for place, value in enumerate(values.tolist()):
        if total == 0.0:
            first, last, peak, signal = place, place, 0.0, None
        total = max(0.0, total + value - allowance)
        if total > decision and signal is None:
            signal = place
        if total > peak:
            peak, last = total, place
        if signal is not None and (total == 0.0 or place == len(values) - 1):
            rises_found.append(Rise(first, signal, last))
            signal = None
    return rises_found
