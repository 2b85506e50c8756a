"""One sensor's series judged by itself: noise, spikes, a value that stands still, a value at the end of its scale."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

SPIKE_SIGMA = 8.0  # so far beyond its neighbours, in standard deviations of the noise
STUCK_S = 600.0  # a live sensor may rest for less
_CHUNK = 64
_SIDE = 4  # neighbours on each side that a spike is held against
_WIDEST = 3  # rows; what stays longer is no spike
_CHANCE = 1e-6  # that a live sensor rests so long somewhere in the log
_LEAP = 3.0  # times the moves that follow it
_TURNS = 3  # of the process, in one log
_ONE_DIGIT = 0.99  # part of the reversals that are of one digit where the noise does not
_FEWEST_RESTS = 20  # with fewer different values in a row it is a set point, not a measurement


@dataclass(frozen=True)
class Still:
    """A stretch with exactly one value, by its first and last place in the series."""

    first: int
    last: int
    value: float
    is_at_end_of_scale: bool  # the value is the greatest or the least of the series


def resolution(values: ArrayLike) -> float:
    """Least step between neighbouring values: the last digit that a sensor writes.

    Parameters
    ----------
    values : array
        A series without missing values [-]

    Returns
    -------
    float
        The least step, 0 where nothing ever changes

    Source
    ------
    House method; no published source.

    Examples
    --------
    >>> round(resolution([20.0, 20.1, 20.1, 20.4]), 6)
    0.1
    """
    steps = np.abs(np.diff(np.asarray(values, dtype=np.float64)[:20_000]))
    steps = steps[steps > 1e-9]
    return float(steps.min()) if steps.size else 0.0


def noise(values: ArrayLike) -> Array:
    """Standard deviation of the noise along a series, from its second differences.

    Second differences take no notice of a level or a slope; their median absolute value in stretches of 64 takes none
    of a spike or a step. It never falls below what rounding to the last digit makes.

    Parameters
    ----------
    values : array
        A series without missing values, in order of time [-]

    Returns
    -------
    array
        Standard deviation of the noise at each value

    Source
    ------
    The variance of a second difference of white noise is six times its own; median absolute deviation times 1.4826
    for the normal law. House method otherwise.

    Examples
    --------
    >>> rng = np.random.default_rng(1)
    >>> bool(abs(noise(rng.normal(50.0, 0.1, 4000)).mean() / 0.1 - 1.2) < 0.1)  # on the safe side
    True
    """
    x = np.asarray(values, dtype=np.float64)
    floor = resolution(x) / np.sqrt(12.0)
    if x.size < _CHUNK:
        second = np.abs(np.diff(x, 2))
        middle = float(np.median(second)) if second.size else 0.0
        return np.full(x.size, max(1.4826 * middle / np.sqrt(6.0), floor))
    second = np.abs(np.diff(x, 2, append=[x[-1], x[-1]]))
    whole = x.size // _CHUNK
    middles = np.median(second[: whole * _CHUNK].reshape(whole, _CHUNK), axis=1)
    beside = np.pad(middles, 1, mode="edge")
    wide = np.maximum(middles, np.maximum(beside[:-2], beside[2:]))  # a corner of noise is no spike
    sigma = np.maximum(1.4826 * wide / np.sqrt(6.0), floor)
    return np.concatenate([np.repeat(sigma, _CHUNK), np.full(x.size - whole * _CHUNK, sigma[-1])])


def spikes(values: ArrayLike) -> NDArray[np.int64]:
    """Places of values that stand far off their neighbours and are left again within three rows.

    Only values next to a great step are looked at, so that a long series costs little more than its differences.

    Parameters
    ----------
    values : array
        A series without missing values, in order of time [-]

    Returns
    -------
    array
        Places of the spikes, in order

    Source
    ------
    Running median and median absolute deviation (Hampel, Journal of the American Statistical Association 69 (1974)
    383); thresholds are the house's.

    Examples
    --------
    >>> series = 80.0 + 0.1 * np.sin(np.arange(200.0) ** 2)
    >>> series[120] = 95.0
    >>> spikes(series).tolist()
    [120]
    """
    x = np.asarray(values, dtype=np.float64)
    if x.size < 2 * _SIDE + 1:
        return np.empty(0, dtype=np.int64)
    sigma = noise(x)
    great = np.flatnonzero(np.abs(np.diff(x)) > SPIKE_SIGMA * sigma[1:])
    if not great.size:
        return great
    by_width = [_left_again(x, sigma, great, rows) for rows in range(1, _WIDEST + 1)]
    return np.unique(np.concatenate(by_width))


def _left_again(x: Array, sigma: Array, great: NDArray[np.int64], rows: int) -> NDArray[np.int64]:
    """Places of spikes of so many rows that begin after a great step, or end before one."""
    starts = np.unique(np.concatenate([great + 1, great + 1 - rows]))
    starts = starts[(starts >= _SIDE) & (starts + rows <= x.size - _SIDE)]
    place = np.arange(-_SIDE, rows + _SIDE)
    windows = x[starts[:, None] + place]
    left, right = windows[:, :_SIDE], windows[:, -_SIDE:]
    apart = rows + _SIDE  # so many rows the middles of the two sides stand apart
    rise = np.median(right, axis=1) - np.median(left, axis=1)
    level = windows - (rise / apart)[:, None] * place
    middle = np.median(level, axis=1)[:, None]
    spread = 1.4826 * np.median(np.abs(level - middle), axis=1)
    off = np.abs(level - middle)
    least, beside = off[:, _SIDE:-_SIDE].min(axis=1), off[:, [_SIDE - 1, -_SIDE]].max(axis=1)
    stands_off = (least > np.maximum(SPIKE_SIGMA * sigma[starts], 6.0 * spread)) & (beside < least / 2.0)
    returns = np.abs(rise - apart * _slope_of_sides(left, right)) < least  # to the slope, not over a step
    return np.asarray((starts[stands_off & returns][:, None] + np.arange(rows)).ravel())


def _slope_of_sides(left: Array, right: Array) -> Array:
    """Median of the slopes between rows of one side (Theil 1950; Sen 1968): a step between the sides is none."""
    first, other = np.triu_indices(_SIDE, 1)
    pairs = [(side[:, other] - side[:, first]) / (other - first) for side in (left, right)]
    return np.asarray(np.median(np.concatenate(pairs, axis=1), axis=1))


def standing_still(
    values: ArrayLike, times_s: ArrayLike, *, rests_at_zero: bool, counts: bool = False, is_set: bool = True
) -> list[Still]:
    """Stretches in which a live sensor shows exactly one value for longer than chance explains.

    How often a sensor repeats its last value is taken from the log itself, so that a coarse one may rest longer than
    a fine one; and a stretch must be five times as long as 99 % of the others. A stretch at the greatest or least value
    of the series is at the end of the scale.

    Parameters
    ----------
    values : array
        A series without missing values, in order of time [-]
    times_s : array
        Their times [s]
    rests_at_zero : bool
        A quantity that is rightly nought while nothing runs: nought is not judged [-]
    counts : bool
        A counter: it rests before its first and after its last change, and its end is no end of a scale [-]
    is_set : bool
        What has few values may be a set point; where not, one value for most of the time that it is judged is a fault
        [-]

    Returns
    -------
    list of Still
        In order of time

    Source
    ------
    House method; no published source.

    Examples
    --------
    >>> series = np.round(80.0 + 0.3 * np.sin(np.arange(300.0) ** 2), 1)
    >>> series[150:200] = 80.1
    >>> [(found.first, found.last) for found in standing_still(series, 60.0 * np.arange(300), rests_at_zero=False)]
    [(150, 199)]
    """
    x, t = np.asarray(values, dtype=np.float64), np.asarray(times_s, dtype=np.float64)
    if x.size < 2:
        return []
    starts = np.concatenate([[0], np.flatnonzero(np.diff(x) != 0) + 1])
    lengths = np.diff(np.append(starts, x.size))
    lasts = starts + lengths - 1
    judged = x[starts] != 0.0 if rests_at_zero or counts else np.ones(starts.size, dtype=bool)
    if counts:
        judged[[0, -1]] = False
    if starts.size < _FEWEST_RESTS:
        whole = judged & (t[lasts] - t[starts] >= STUCK_S) & (2 * lengths > lengths[judged].sum())
        places = np.flatnonzero(whole & (not is_set))
        return [Still(int(starts[i]), int(lasts[i]), float(x[starts[i]]), is_at_end_of_scale=False) for i in places]
    long = judged & (t[lasts] - t[starts] >= STUCK_S) & (lengths >= _beyond_chance(lengths, judged))
    if long.any() and not counts and _hides_its_noise(x):
        long &= ~_moves_on(x[starts], resolution(x))
    least, greatest = float(x.min()), float(x.max())
    return [
        Still(int(starts[i]), int(lasts[i]), float(x[starts[i]]),
              not counts and x[starts[i]] in (least, greatest))
        for i in np.flatnonzero(long)
    ]  # fmt: skip


def _hides_its_noise(x: Array) -> bool:
    """Whether the last digit is coarser than the noise: a value that goes to and fro does so by one digit only.

    Between two digits such a sensor chatters, in the middle of one it rests for as long as the process does.
    """
    moves = np.diff(x)
    moves = moves[moves != 0.0]
    to_and_fro = moves[1:] * moves[:-1] < 0
    one_digit = np.maximum(np.abs(moves[1:]), np.abs(moves[:-1])) < 1.5 * resolution(x)
    beyond = int((to_and_fro & ~one_digit).sum())  # a process that turns makes some of these too
    return beyond <= max(_TURNS, (1.0 - _ONE_DIGIT) * int(to_and_fro.sum()))


def _moves_on(levels: Array, digit: float) -> NDArray[np.bool_]:
    """Provenance that are left by one digit, or by a process that then moves on the same way; what was stuck leaps."""
    moves = np.diff(levels)
    quietly = np.append(np.abs(moves) < 1.5 * digit, True)
    on = np.zeros(levels.size, dtype=bool)
    same_way = (moves[:-2] * moves[1:-1] > 0) & (moves[1:-1] * moves[2:] > 0)
    on[:-3] = same_way & (np.abs(moves[:-2]) <= _LEAP * np.maximum(np.abs(moves[1:-1]), np.abs(moves[2:])))
    return np.asarray(quietly | on)


def _beyond_chance(lengths: NDArray[np.int64], judged: NDArray[np.bool_]) -> float:
    """Length that a stretch of one value hardly reaches by chance, from how often the others repeat."""
    usual = lengths[judged]
    usual = np.sort(usual)[: max(1, int(0.99 * usual.size))]  # the longest of all are what is in question
    again = float((usual - 1).sum()) / max(float(usual.sum()), 1.0)
    by_chance = 1.0 + np.log(_CHANCE / lengths.sum()) / np.log(again) if 0.0 < again < 1.0 else 2.0
    return max(by_chance, 5.0 * float(usual[-1]) if usual[-1] > 1 else 5.0)
