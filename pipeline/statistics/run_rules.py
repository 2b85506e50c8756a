"""Run rules of a control chart, and how often each set of them cries wolf.

The house's charts use two: one value beyond three standard deviations, and nine in a row on one side of the mean.
Together they give a false alarm once in 216.7 values where the limits are known exactly (four Western Electric rules:
once in 91.8), and they are the two that a reader can check by eye. Limits from twenty values cry wolf oftener;
`chance_alarms` says how often.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from math import inf

import numpy as np
from numpy.typing import ArrayLike, NDArray

Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class RunRule:
    """`hits` of the last `of` values lie strictly between `lower` and `upper`, in standard deviations from the mean."""

    name: str
    hits: int
    of: int
    lower: float
    upper: float


def both_sides(name: str, hits: int, of: int, beyond: float) -> tuple[RunRule, RunRule]:
    """A rule and its mirror image: so many of so many beyond a distance, on one side.

    Parameters
    ----------
    name : str
        Name that the two share [-]
    hits, of : int
        How many of the last how many values [-]
    beyond : float
        Distance from the mean [standard deviations]

    Returns
    -------
    tuple of RunRule
        Above and below

    Source
    ------
    The rules T(k, m, a, b) of Champ and Woodall, Technometrics 29 (1987) 393-399.

    Examples
    --------
    >>> both_sides("nine", 9, 9, 0.0)[1].upper
    -0.0
    """
    return RunRule(name, hits, of, beyond, inf), RunRule(name, hits, of, -inf, -beyond)


HOUSE_RULES = (*both_sides("beyond", 1, 1, 3.0), *both_sides("nine", 9, 9, 0.0))


def rule_signals(standardised: ArrayLike, rules: Sequence[RunRule] = HOUSE_RULES) -> dict[str, Bools]:
    """Which values complete or continue each rule.

    The last value itself must be one of the hits. A gap (NaN) begins every count anew.

    Parameters
    ----------
    standardised : array
        Values less the mean, over the standard deviation; the last axis is time [-]
    rules : sequence of RunRule
        Rules in force [-]

    Returns
    -------
    dict of arrays of bool
        By name of the rule, shaped as the values

    Source
    ------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2 (Western Electric rules).

    Examples
    --------
    >>> found = rule_signals([0.1] * 9 + [3.2])
    >>> found["beyond"].tolist().index(True), found["nine"].tolist().index(True)
    (9, 8)
    """
    z = np.asarray(standardised, dtype=np.float64)
    signals: dict[str, Bools] = {}
    for rule in rules:
        hit = (z > rule.lower) & (z < rule.upper)
        signal = hit.copy()
        if rule.of > 1:
            padded = np.concatenate([np.zeros((*z.shape[:-1], rule.of - 1), dtype=bool), hit], axis=-1)
            windows = np.lib.stride_tricks.sliding_window_view(padded, rule.of, axis=-1)
            signal &= windows.sum(axis=-1) >= rule.hits
            if rule.hits < rule.of:  # an unbroken row cannot hold a gap, the others must not reach across one
                signal &= ~_gap_since(z, rule.of)
        signals[rule.name] = signals.get(rule.name, np.zeros(z.shape, dtype=bool)) | signal
    return signals


def alarms(signals: dict[str, Bools]) -> NDArray[np.int64]:
    """Number of alarms in each series: values beyond, and beginnings of whatever else goes on for several values.

    Parameters
    ----------
    signals : dict of arrays of bool
        As from `rule_signals`; the last axis is time [-]

    Returns
    -------
    array of int
        One a series

    Source
    ------
    House method: a row of twelve on one side is one alarm, not four.

    Examples
    --------
    >>> int(alarms(rule_signals([0.1] * 12 + [3.2, 3.3])))
    3
    """
    counts = []
    for name, marked in signals.items():
        begins = marked.copy()
        if name != "beyond":
            begins[..., 1:] &= ~marked[..., :-1]
        counts.append(begins.sum(axis=-1))
    return np.asarray(np.sum(counts, axis=0), dtype=np.int64)


def run_length(rules: Sequence[RunRule], shift: float = 0.0) -> float:
    """Average number of normal values to the first signal, mean and standard deviation known.

    Parameters
    ----------
    rules : sequence of RunRule
        Rules in force [-]
    shift : float
        Shift of the mean from the first value on [standard deviations]

    Returns
    -------
    float
        Average run length [values]

    Source
    ------
    Markov chain of Champ and Woodall, Technometrics 29 (1987) 393-399.

    Examples
    --------
    >>> round(run_length(HOUSE_RULES), 1)
    216.7
    """
    cuts = sorted({edge for rule in rules for edge in (rule.lower, rule.upper) if abs(edge) < inf})
    chances = _zone_chances(tuple(cuts), shift)
    inside = [0.5 * (low + high) for low, high in zip([-99.0, *cuts], [*cuts, 99.0], strict=True)]
    hits = [tuple(rule.lower < at < rule.upper for rule in rules) for at in inside]
    start = tuple(0 for _ in rules)
    number, queue = {start: 0}, [start]
    moves: list[tuple[int, int, float]] = []
    for state in queue:  # grows while it is walked
        for hit, chance in zip(hits, chances, strict=True):
            after = _after(state, hit, rules)
            if after is None:
                continue
            if after not in number:
                number[after] = len(number)
                queue.append(after)
            moves.append((number[state], number[after], chance))
    chain = np.zeros((len(number), len(number)))
    for origin, goal, chance in moves:
        chain[origin, goal] += chance
    return float(np.linalg.solve(np.eye(len(number)) - chain, np.ones(len(number)))[0])


@cache
def chance_alarms(
    baseline: int, after: int, rules: tuple[RunRule, ...] = HOUSE_RULES, trials: int = 2000, alike: float = 0.0
) -> tuple[float, ...]:
    """How many alarms chance gives after a baseline that the limits were taken from, in each of many trials.

    The numbers of alarms in the trials, in falling order, so that sums over charts can be drawn from them.

    Parameters
    ----------
    baseline : int
        Values that mean and moving range come from, 2 or more [-]
    after : int
        Values judged [-]
    rules : tuple of RunRule
        Rules in force [-]
    trials : int
        Simulated series of normal values [-]
    alike : float
        Correlation of neighbouring values [-]

    Returns
    -------
    tuple of float
        One number a trial

    Source
    ------
    Simulation with a fixed seed; the run lengths of `run_length` hold for known limits only.

    Examples
    --------
    >>> few = chance_alarms(20, 100)
    >>> 0.7 < sum(few) / len(few) < 1.6  # known limits: 100 / 216.7 = 0.46
    True
    """
    if after < 1:
        return (0.0,) * trials
    rng = np.random.default_rng(20_260_101)
    values = alike_neighbours(rng.standard_normal((trials, baseline + after)), alike)
    first = values[:, :baseline]
    centre = first.mean(axis=1, keepdims=True)
    sigma = np.abs(np.diff(first, axis=1)).mean(axis=1, keepdims=True) * (np.sqrt(np.pi) / 2)
    marked = rule_signals((values[:, baseline:] - centre) / sigma, rules)
    return tuple(sorted(alarms(marked).astype(float).tolist(), reverse=True))


def alike_neighbours(values: ArrayLike, alike: float) -> NDArray[np.float64]:
    """Independent values made to follow each other, with their mean and standard deviation kept.

    Parameters
    ----------
    values : array
        Of mean 0; the last axis is time [-]
    alike : float
        Correlation of neighbours, below 1 [-]

    Returns
    -------
    array
        Of the same shape

    Source
    ------
    Autoregressive process of the first order: NIST/SEMATECH e-Handbook of Statistical Methods, 6.4.4.4.

    Examples
    --------
    >>> alike_neighbours([1.0, 1.0], 0.6).tolist()
    [1.0, 1.4]
    """
    series = np.array(values, dtype=np.float64)
    if alike:
        for place in range(1, series.shape[-1]):
            series[..., place] = alike * series[..., place - 1] + np.sqrt(1 - alike**2) * series[..., place]
    return series


def _gap_since(z: NDArray[np.float64], of: int) -> Bools:
    gap = np.concatenate([np.zeros((*z.shape[:-1], of - 1), dtype=bool), ~np.isfinite(z)], axis=-1)
    return np.asarray(np.lib.stride_tricks.sliding_window_view(gap, of, axis=-1).any(axis=-1))


def _zone_chances(cuts: tuple[float, ...], shift: float) -> list[float]:
    from scipy.special import ndtr

    below = [0.0, *(float(ndtr(cut - shift)) for cut in cuts), 1.0]
    return [high - low for low, high in pairwise(below)]


def _after(state: tuple[int, ...], hit: tuple[bool, ...], rules: Sequence[RunRule]) -> tuple[int, ...] | None:
    """Histories after one more value; None where a rule signals.

    A history is the hits of the last of - 1 values as bits, the newest lowest. Only what may still count is kept, so
    that the chain stays small: of an unbroken row the bits since its last miss, else no bits before the oldest hit that
    could yet be one of `hits`.
    """
    new = []
    for history, is_hit, rule in zip(state, hit, rules, strict=True):
        bits = (history << 1) | int(is_hit)
        if is_hit and bits.bit_count() >= rule.hits:
            return None
        if rule.hits == rule.of and not is_hit:
            bits = 0
        new.append(bits & ((1 << (rule.of - 1)) - 1))
    return tuple(new)
