"""Ratios of sums: the yield or recovery of several runs together, weighted by what each was charged with."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike


@dataclass(frozen=True)
class RatioOfSums:
    """What several runs gave for what they were charged with.

    Attributes
    ----------
    numerator, denominator : float
        The two sums
    ratio : float
        The first over the second
    u_ratio : float
        Standard error of the ratio from the scatter between runs; NaN for fewer than two runs
    runs : int
        Number of runs summed
    """

    numerator: float
    denominator: float
    ratio: float
    u_ratio: float
    runs: int


def ratio_of_sums(outputs: ArrayLike, charges: ArrayLike) -> RatioOfSums:
    """Sum of outputs over sum of charges, with its standard error.

    A mean of the runs' own ratios would let a small run weigh as much as a large one. The standard error is
    sqrt(sum (y - R x)^2 / (n (n - 1))) / mean x.

    Parameters
    ----------
    outputs : array
        What each run gave [any unit]
    charges : array
        What each run was charged with [any unit]

    Returns
    -------
    RatioOfSums
        In the unit of outputs over that of charges

    Raises
    ------
    ValueError
        If there are no runs, the two differ in length, a value is missing or the charges sum to no more
        than 0.

    Source
    ------
    W. G. Cochran, Sampling Techniques, 3rd edition, chapter 6 (ratio estimators), without the finite
    population correction; chapter and form from memory.

    Examples
    --------
    >>> round(ratio_of_sums([80, 810], [100, 900]).ratio, 3)
    0.89
    """
    y = np.asarray(outputs, dtype=np.float64)
    x = np.asarray(charges, dtype=np.float64)
    if y.shape != x.shape or y.ndim != 1 or y.size == 0:
        raise ValueError("outputs and charges must be two rows of the same length, at least one run long")
    if not (np.isfinite(y).all() and np.isfinite(x).all()):
        raise ValueError("a run without its output or its charge must be left out, not summed")
    if x.sum() <= 0:
        raise ValueError("the charges must sum to more than 0")
    n = y.size
    ratio = float(y.sum() / x.sum())
    u_ratio = float(np.sqrt(((y - ratio * x) ** 2).sum() / (n * (n - 1))) / x.mean()) if n > 1 else float("nan")
    return RatioOfSums(float(y.sum()), float(x.sum()), ratio, u_ratio, n)
