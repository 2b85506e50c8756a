"""How much of the scatter of a measure goes with what: still, malt lot, recipe, operator, season.

Each attribute is a set of indicators (a run may have two malt lots). Its share is adjusted for the number of its
levels, so that an attribute of many levels does not look telling by chance. What two attributes explain together but
neither explains beside the other cannot be told apart: they are confounded.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import nan

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

WORTH = 0.05  # share of the variance below which no attribute is suspected of standing for another
RUNS_A_LEVEL = 3  # on the average, below which an attribute names runs instead of grouping them
LEFT = 0.4  # part of its share that an attribute keeps beside the other, below which the two cannot be told apart


@dataclass(frozen=True)
class AttributeShare:
    """Share of the variance that goes with one attribute.

    Attributes
    ----------
    attribute : str
    levels : int
    alone : float
        By itself, adjusted for the number of levels, not below 0
    unique : float
        Lost when it is left out of the model with all attributes, not below 0
    p : float
        F-test of the attribute by itself; NaN where it has one level only
    confounded_with : tuple of str
        Attributes that explain the same
    """

    attribute: str
    levels: int
    alone: float
    unique: float
    p: float
    confounded_with: tuple[str, ...]


def attribute_shares(values: ArrayLike, attributes: Mapping[str, Sequence[Sequence[str]]]) -> list[AttributeShare]:
    """Shares of the variance of a measure that go with each attribute.

    Parameters
    ----------
    values : array
        One a run [any unit]
    attributes : mapping
        By name the levels that each run has, none, one or several [-]

    Returns
    -------
    list of AttributeShare
        The most telling first; attributes with one level, or with fewer than three runs a level, are left out

    Raises
    ------
    ValueError
        If an attribute is not as long as the values, or a value is missing.

    Source
    ------
    Adjusted coefficient of determination (Ezekiel 1930, from memory) of least squares on indicators; F-test of the
    one-way layout: NIST/SEMATECH e-Handbook of Statistical Methods, 7.4.3.

    Examples
    --------
    >>> y = [1.0, 1.1, 0.9, 3.0, 3.1, 2.9]
    >>> [share] = attribute_shares(y, {"still": [["S1"]] * 3 + [["S2"]] * 3})
    >>> share.attribute, round(share.alone, 3)
    ('still', 0.992)
    """
    y = np.asarray(values, dtype=np.float64)
    if not np.isfinite(y).all():
        raise ValueError("a run without a value must be left out")
    designs, counts = {}, {}
    for name, levels in attributes.items():
        if len(levels) != y.size:
            raise ValueError(f'"{name}" has {len(levels)} entries for {y.size} values')
        design, count = _indicators(levels)
        if 0 < design.shape[1] <= y.size / RUNS_A_LEVEL:
            designs[name], counts[name] = design, count
    alone = {name: _fit(y, [design]) for name, design in designs.items()}
    whole = _fit(y, list(designs.values()))
    shares = []
    for name in designs:
        rest = _fit(y, [other for key, other in designs.items() if key != name])
        unique = max(0.0, whole[0] - rest[0])
        shares.append(
            AttributeShare(name, counts[name], max(0.0, alone[name][0]), unique, alone[name][1],
                           _confounded(y, name, designs, alone))
        )  # fmt: skip
    return sorted(shares, key=lambda share: -round(share.alone, 9))  # attributes alike keep their order


def _confounded(
    y: Array, name: str, designs: dict[str, Array], alone: dict[str, tuple[float, float]]
) -> tuple[str, ...]:
    own = alone[name][0]
    twins = []
    for other, design in designs.items():
        theirs = alone[other][0]
        if other == name or min(own, theirs) < WORTH:
            continue
        both = _fit(y, [designs[name], design])[0]
        if both - theirs < LEFT * own or both - own < LEFT * theirs:
            twins.append(other)
    return tuple(twins)


def _indicators(levels: Sequence[Sequence[str]]) -> tuple[Array, int]:
    """One column a level, the first left out where the mean stands for it; and the number of levels.

    A level that every run has tells nothing and is none; with or without the only one that is left are two.
    """
    names = sorted({level for row in levels for level in row})
    columns = [[float(name in row) for row in levels] for name in names]
    design = np.array(columns, dtype=np.float64).T.reshape(len(levels), len(names))
    varying = design[:, np.ptp(design, axis=0) > 0] if len(names) else design
    # Where each run has one level, the columns sum to one, and the first is told by the others.
    one_each = varying.shape[1] > 0 and bool(np.all(varying.sum(axis=1) == varying.sum(axis=1)[0]))
    return varying[:, 1:] if one_each else varying, max(2, varying.shape[1])


def _fit(y: Array, designs: list[Array]) -> tuple[float, float]:
    """Adjusted share of the variance and chance by the F-test, of all designs together."""
    from scipy.special import fdtrc

    n = y.size
    centred = y - y.mean()
    total = float(centred @ centred)
    if not designs or total == 0:
        return 0.0, nan
    x = np.hstack(designs)
    x = x - x.mean(axis=0)
    left, singular, _ = np.linalg.svd(x, full_matrices=False)
    rank = int((singular > 1e-9 * max(1.0, float(singular.max(initial=0.0)))).sum())
    if rank == 0 or n - 1 - rank < 1:
        return 0.0, nan
    explained = float(((left[:, :rank].T @ centred) ** 2).sum()) / total
    adjusted = 1 - (1 - explained) * (n - 1) / (n - 1 - rank)
    f = explained / rank / max((1 - explained) / (n - 1 - rank), 1e-300)
    return adjusted, float(fdtrc(rank, n - 1 - rank, f))
