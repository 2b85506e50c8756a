"""Cumulative sum chart: how far values have gone from a target, and where they left it."""

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.statistics.run_lengths import fredholm_run_length


@dataclass(frozen=True)
class CusumChart:
    """The two sums, one each a value, and the places of the signals (first passing of the decision value)."""

    high: NDArray[np.float64]
    low: NDArray[np.float64]
    signals: tuple[int, ...]


def cusum_chart(values: ArrayLike, target: float, allowance: float, decision: float) -> CusumChart:
    """Sums of what lies above and below the target by more than the allowance.

    Parameters
    ----------
    values : array
        In order of time; a gap (NaN) leaves the sums as they were [any unit]
    target : float
        Value from which deviations are counted [unit of the values]
    allowance : float
        K, half of the shift that is to be found [unit of the values]
    decision : float
        H, sum that makes a signal [unit of the values]

    Returns
    -------
    CusumChart
        In the unit of the values

    Raises
    ------
    ValueError
        If the decision value is not positive or the allowance is negative.

    Source
    ------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3 CUSUM control charts, the tabular form.

    Examples
    --------
    >>> chart = cusum_chart([0.0, 2.0, 3.0, -1.0], 0.0, 0.5, 3.0)
    >>> chart.high.tolist(), chart.signals
    ([0.0, 1.5, 4.0, 2.5], (2,))
    """
    if decision <= 0 or allowance < 0:
        raise ValueError(f"allowance {allowance} and decision {decision}; expected at least 0 and more than 0")
    series = np.asarray(values, dtype=np.float64)
    high, low = np.zeros(series.size), np.zeros(series.size)
    above = below = 0.0
    signals = []
    for place, value in enumerate(series.tolist()):
        before = max(above, below)
        if value == value:
            above = max(0.0, above + value - target - allowance)
            below = max(0.0, below + target - value - allowance)
        high[place], low[place] = above, below
        if max(above, below) > decision >= before:
            signals.append(place)
    return CusumChart(high, low, tuple(signals))


def cusum_run_length(
    allowance: float, decision: float, shift: float = 0.0, start: float = 0.0, *, two_sided: bool = False
) -> float:
    """Average number of values to the first signal, parameters known.

    Parameters
    ----------
    allowance, decision : float
        k and h [standard deviations of a value]
    shift : float
        Shift of the mean towards the side of the (upper) sum, from the first value on [standard deviations]
    start : float
        Where the sum starts (head start) [standard deviations]
    two_sided : bool
        Both sums together: 1/L = 1/L(up) + 1/L(down), without a head start only [-]

    Returns
    -------
    float
        Average run length [values]

    Raises
    ------
    ValueError
        If both sums are asked for with a head start.

    Source
    ------
    Page's integral equation (Biometrika 41 (1954) 100-115); for two sides Kemp, J. R. Stat. Soc. B 23 (1961) 149-153
    (from memory).

    Examples
    --------
    >>> round(cusum_run_length(0.5, 4.0, two_sided=True)), round(cusum_run_length(0.5, 4.0, 1.0), 2)
    (168, 8.38)
    """
    if two_sided and start:
        raise ValueError("a head start is reckoned for one side only")

    def density(to: NDArray[np.float64], start_: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.exp(-0.5 * (to - start_ + allowance - shift) ** 2) / sqrt(2 * pi)

    def to_nought(to: NDArray[np.float64], start_: NDArray[np.float64]) -> NDArray[np.float64]:
        from scipy.special import ndtr

        chance: NDArray[np.float64] = ndtr(allowance - shift - start_ + to)
        return chance

    one_sided = fredholm_run_length(density, 0.0, decision, start, to_nought)
    if not two_sided:
        return one_sided
    other = cusum_run_length(allowance, decision, -shift)
    return 1 / (1 / one_sided + 1 / other)
