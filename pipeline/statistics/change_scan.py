"""When did a series change, how, and is it more than chance: every stretch of it is tried as a step and as a slope.

A stretch is a row of values that lies off the others: by one amount from its first to its last (step), or by an amount
that grows from nought with every value (slope), as with a gasket that wears until it is replaced. A stretch may reach
to the end of the series: the change then still holds. The statistic is the greatest share of the scatter that any one
stretch explains, of values cut off at three short-term standard deviations from their median: a lone wild value then
makes no change, and tails heavier than the normal ones hardly matter. `scan_chance` turns it into a probability.
"""

from dataclasses import dataclass
from functools import cache
from math import expm1, log, log1p

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.statistics.ranks import alike_made_equal

Array = NDArray[np.float64]

SHORTEST = 3  # values in a stretch, and outside it: one or two wild values are no change of the process
FEWEST = 10  # values in a series that is looked through
LONGEST = 150  # values; older ones belong to older reports
CUT = 3.0  # short-term standard deviations

# Statistic's tail: the chance that the best of all stretches explains as much is 1 - (1 - p)^m, where p is that of one
# stretch fixed beforehand and m the number of independent stretches to which all together amount. By simulation
# (as in the tests, 30 000 series of each length, level 1 in 500: 54, 87, 141, 183, 395, 527, 670, 855, 1056),
# rounded up, since m grows towards smaller levels.
_SIZES = (10, 15, 20, 30, 40, 60, 80, 100, 150)
_EFFECTIVE = (60.0, 100.0, 160.0, 270.0, 400.0, 600.0, 800.0, 1000.0, 1500.0)

# Greatest fall of twice the log likelihood from its maximum within a 95 % interval. One change alone has 7.35 for steps
# (Hansen, Econometrica 68 (2000) 575-603) and 3.84 for the beginning of a slope; with end and shape unknown too these
# hold 93 to 98 of 100 changes of two standard deviations or more, but only 84 of faint slopes (simulated).
_STEP_95, _SLOPE_95 = 9.0, 6.0
_CLEARLY = 3.84  # the same by which a slope must fit better than any step to be called one


@dataclass(frozen=True)
class Stretch:
    """A changed stretch of a series.

    Attributes
    ----------
    shape : str
        "step" or "slope"
    first, last : int
        Places of its first and last value
    first_low, first_high : int
        95 % confidence interval of the place of the first
    before : float
        Level of the values outside
    change, u_change : float
        Mean of the stretch's values less that level, with its standard error
    reached : float
        Difference at the last value of the stretch, by the fit
    explained : float
        Share of the scatter of all values that it explains
    p : float
        That chance alone gives a stretch as telling
    """

    shape: str
    first: int
    last: int
    first_low: int
    first_high: int
    before: float
    change: float
    u_change: float
    reached: float
    explained: float
    p: float


def changed_stretches(values: ArrayLike, level: float = 0.05, most: int = 3, alike: float = 0.0) -> list[Stretch]:
    """The changed stretches of a series, the most telling first; at least one is returned, with whatever p it has.

    Each further one is looked for in what the ones before leave over, and only while they are significant. Where
    neighbouring values are alike, by their own showing or by `alike`, the test is made on x(i) - r x(i-1).

    Parameters
    ----------
    values : array
        In order of time, without gaps, 10 to 150 [any unit]
    level : float
        Chance below which a stretch counts and the next is looked for [-]
    most : int
        Number of stretches looked for [-]
    alike : float
        Least correlation of neighbouring values to allow for, as many series of a house show it together [-]

    Returns
    -------
    list of Stretch
        In the unit of the values; empty where all values are alike

    Raises
    ------
    ValueError
        If there are too few or too many values, or gaps.

    Source
    ------
    Scan for an epidemic change (Levin and Kline, Statistics in Medicine 4 (1985) 469-488, from memory) on values
    cut off (Huber 1964, from memory); pre-whitening: von Storch 1995 (from memory).

    Examples
    --------
    >>> noise = [0.3, -0.2, 0.1, -0.4, 0.2, 0.0, -0.1, 0.4, -0.3, 0.1, 0.2, -0.2, 0.3, -0.1]
    >>> [found, *_] = changed_stretches([*noise, 3.1, 2.8, 3.0, 3.3, 2.9, *noise])
    >>> found.shape, found.first, found.last, round(found.change, 1), found.p < 0.001
    ('step', 14, 18, 3.0, True)
    """
    left = _checked(values)
    stretches: list[Stretch] = []
    taken = np.zeros(left.size, dtype=bool)
    while len(stretches) < most and np.ptp(left) > 1e-12 * max(1.0, float(np.abs(left).max())):
        stretch, fit = _best(left, alike)
        if stretches and (stretch.p > level or taken[stretch.first : stretch.last + 1].mean() > 0.5):
            break
        stretches.append(stretch)
        if stretch.p > level:
            break
        taken[stretch.first : stretch.last + 1] = True
        left = left - fit
    return stretches


def likeness(values: ArrayLike) -> float:
    """Correlation of neighbouring values of a series without changes.

    One series of some tens of values shows it to 0.15 or so; many series of a house together show it well.

    Parameters
    ----------
    values : array
        In order of time, without gaps, 10 to 150 [any unit]

    Returns
    -------
    float
        Corrected for the number of values; 0 where all values are alike

    Raises
    ------
    ValueError
        If there are too few or too many values, or gaps.

    Source
    ------
    Autocorrelation at lag 1, its bias by Kendall (from memory).

    Examples
    --------
    >>> round(likeness([0, 1, 2, 1, 0, -1, -2, -1] * 5), 1)
    0.8
    """
    x = _checked(values)
    return _correlation(_cut_off(x) - _cut_off(x).mean())


def scan_chance(explained: float, size: int) -> float:
    """Chance that the best stretch of so many independent values explains so much.

    Parameters
    ----------
    explained : float
        Share of the scatter of the values cut off [-]
    size : int
        Values in the series [-]

    Returns
    -------
    float
        Probability

    Source
    ------
    Beta distribution of one stretch, and the number of stretches to which all amount (see the head of this module).

    Examples
    --------
    >>> 0.02 < scan_chance(0.45, 30) < 0.06
    False
    >>> scan_chance(0.0, 30)
    1.0
    """
    from scipy.special import betainc

    chance_of_one = float(betainc((size - 2) / 2, 0.5, 1 - min(explained, 1.0)))
    if chance_of_one >= 1:
        return 1.0
    m = float(np.exp(np.interp(log(size), np.log(_SIZES), np.log(_EFFECTIVE))))
    return -expm1(m * log1p(-chance_of_one))


def _checked(values: ArrayLike) -> Array:
    x = np.asarray(values, dtype=np.float64)
    if x.ndim != 1 or not FEWEST <= x.size <= LONGEST or not np.isfinite(x).all():
        raise ValueError(f"{x.size} values; expected {FEWEST} to {LONGEST} in one row, none missing")
    return x


def _best(x: Array, alike: float) -> tuple[Stretch, Array]:
    """The stretch of greatest likelihood with its chance, and its fit less the level outside."""
    n = x.size
    explained = _explained(x)
    step, slope_ = (float(of_shape.max()) for of_shape in explained)
    # The two have as many parameters; a slope is called one only where it fits beyond doubt better than any step.
    shape = int(n * (np.log1p(-min(step, 1 - 1e-12)) - np.log1p(-min(slope_, 1 - 1e-12))) > _CLEARLY)
    first, last = (int(place) for place in np.unravel_index(int(explained[shape].argmax()), (n, n)))
    weights = _weights(shape, first, last, n)
    p = _chance(x, weights, alike)
    centred = weights - weights.mean()
    slope = float(centred @ x) / float(centred @ centred)
    before = float(x.mean()) - slope * float(weights.mean())
    inside = weights > 0
    rest = x - before - slope * weights
    sigma2 = float(rest @ rest) / (n - 2)
    u = float(np.sqrt(sigma2 * (weights[inside].mean() ** 2) / float(centred @ centred)))
    low, high = _beginnings(explained, first, last)
    stretch = Stretch(
        ("step", "slope")[shape], first, last, low, high, before, slope * float(weights[inside].mean()), u,
        slope, float(explained[shape].max()), p,
    )  # fmt: skip
    return stretch, slope * weights


def _correlation(rest: Array) -> float:
    """Lag-1 correlation of what a level or a fit leaves over, corrected as by Kendall (from memory)."""
    spread = float(rest @ rest)
    r = float(rest[1:] @ rest[:-1]) / spread if spread > 0 else 0.0
    return (r * rest.size + 1) / (rest.size - 4) if spread > 0 else 0.0


def _chance(x: Array, weights: Array, alike: float = 0.0) -> float:
    """Chance level of the best stretch of the values cut off, whitened where neighbours are alike."""
    centred = weights - weights.mean()
    own = _correlation(x - x.mean() - centred * (float(centred @ x) / float(centred @ centred)))
    r = max(alike, own if own > 1.645 / x.size**0.5 else 0.0)
    if r > 0:
        x = x[1:] - min(r, 0.9) * x[:-1]
    cut = _cut_off(x)
    best = float(_explained(cut).max())
    if np.unique(alike_made_equal(x)).size > 0.7 * x.size:
        return scan_chance(best, x.size)
    return _permuted_chance(cut, best)


def _permuted_chance(values: Array, best: float) -> float:
    """Chance level where many values are alike, as with counts: by permutations of the values themselves.

    Stops at the tenth that explains as much (Besag and Clifford, Biometrika 78 (1991) 301-304, from memory).
    """
    rng = np.random.default_rng(7)
    as_great = 0
    for trial in range(1, 2000):
        as_great += float(_explained(rng.permutation(values)).max()) >= best - 1e-9
        if as_great == 10:
            return as_great / trial
    return (1 + as_great) / 2000


def _explained(x: Array) -> Array:
    """Share of the scatter that each stretch explains, indexed by shape (0 step, 1 slope), first and last place."""
    n = x.size
    y = x - x.mean()
    total = float(y @ y)
    allowed, norm_step, norm_slope = _shapes(n)
    sums = np.concatenate([[0.0], np.cumsum(y)])
    moments = np.concatenate([[0.0], np.cumsum(y * np.arange(n))])
    inside = sums[None, 1:] - sums[:-1, None]
    turning = moments[None, 1:] - moments[:-1, None] - (np.arange(n) - 1)[:, None] * inside
    if total <= 0:
        return np.zeros((2, n, n))
    step = np.where(allowed[0], inside**2 / norm_step, 0.0)
    slope = np.where(allowed[1], turning**2 / norm_slope, 0.0)
    return np.stack([step, slope]) / total


@cache
def _shapes(n: int) -> tuple[NDArray[np.bool_], Array, Array]:
    """Which stretches are looked at, and the squared norms of their centred weights."""
    place = np.arange(n)
    length = place[None, :] - place[:, None] + 1
    long_enough = (length >= SHORTEST) & (n - length >= SHORTEST)
    # A step from the very first value is the step back at its end, so it is looked at once; and a few values before a
    # stretch are needed, or else chance in the first of them would make what came before a change the changed stretch.
    step = long_enough & (place[:, None] >= SHORTEST)
    slope = (length >= max(SHORTEST, 5)) & ((n - length >= SHORTEST) | (length == n))
    size = np.maximum(length, 1).astype(np.float64)
    norm_step = np.where(step, size - size**2 / n, 1.0)
    norm_slope = np.where(slope, size * (size + 1) * (2 * size + 1) / 6 - (size * (size + 1) / 2) ** 2 / n, 1.0)
    return np.stack([step, slope]), norm_step, norm_slope


def _beginnings(explained: Array, first: int, last: int) -> tuple[int, int]:
    """Places where the stretch may have begun, by the profile of the likelihood over stretches like it."""
    n = explained.shape[-1]
    place = np.arange(n)
    common = np.minimum(place, last)[None, :] - np.maximum(place, first)[:, None] + 1
    either = np.maximum(place, last)[None, :] - np.minimum(place, first)[:, None] + 1
    profile = np.where(2 * common >= either, np.minimum(explained, 1 - 1e-12), 0.0).max(axis=2)
    fall = n * (np.log1p(-profile) - np.log1p(-profile.max()))
    within = np.flatnonzero((fall <= np.array([[_STEP_95], [_SLOPE_95]])).any(axis=0))
    return int(min(within.min(), first)), int(max(within.max(), first))


def _weights(shape: int, first: int, last: int, n: int) -> Array:
    weights = np.zeros(n)
    size = last - first + 1
    weights[first : last + 1] = 1.0 if shape == 0 else np.arange(1, size + 1) / size
    return weights


def _cut_off(x: Array) -> Array:
    """Values less their median, in short-term standard deviations (median moving range), cut off at three.

    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, for the moving range; its median is 0.9539 standard
    deviations of normal values (computed: sqrt 2 times the upper quartile).
    """
    ranges = np.abs(np.diff(x))
    sd = float(np.median(ranges)) / 0.9539
    if sd == 0:  # most values are alike
        sd = float(ranges.mean()) / 1.128 or 1.0
    return np.clip((x - np.median(x)) / sd, -CUT, CUT)
