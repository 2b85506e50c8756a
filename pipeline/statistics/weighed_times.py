"""One moment from several signs of it, each weighed by its uncertainty and by how likely it is that it means it.

Signs are read off the same rows of a log, so their errors are taken as wholly shared: a mean is no sharper for many.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

TOGETHER = 3.0  # joint standard uncertainties within which two signs are of one moment


@dataclass(frozen=True)
class Sign:
    """A time with its standard uncertainty, what it was seen in, and how much it counts among others."""

    at_s: float
    u_s: float
    by: str
    weight: float = 1.0


def merged(signs: Sequence[Sign]) -> list[Sign]:
    """Signs of one moment in several series made one, by inverse variance.

    Parameters
    ----------
    signs : sequence of Sign
        In any order [s]

    Returns
    -------
    list of Sign
        In order of time; a merged one is named for its sharpest and weighs what its parts do

    Source
    ------
    Mean weighed by inverse variance; the uncertainty of a sum of wholly correlated values (GUM, JCGM 100:2008, 5.2.2).

    Examples
    --------
    >>> merged([Sign(100.0, 3.0, "flow"), Sign(105.0, 4.0, "strength"), Sign(900.0, 3.0, "flow")])[0].at_s
    101.8
    """
    groups: list[list[Sign]] = []
    for sign in sorted(signs, key=lambda reading: reading.at_s):
        last = groups[-1][-1] if groups else None
        if last and sign.at_s - last.at_s < TOGETHER * np.hypot(sign.u_s, last.u_s):
            groups[-1].append(sign)
        else:
            groups.append([sign])
    return [_joined(group) for group in groups]


def _joined(group: Sequence[Sign]) -> Sign:
    part = np.array([1.0 / sign.u_s**2 for sign in group])
    part /= part.sum()
    at, u = float(part @ [sign.at_s for sign in group]), float(part @ [sign.u_s for sign in group])
    sharpest = min(group, key=lambda sign: sign.u_s)
    return Sign(at, u, sharpest.by, sum(sign.weight for sign in group))


def weighed(reference: Sign | None, signs: Sequence[Sign], share: float, span_s: float) -> Sign | None:
    """The moment that a reference tells roughly, or that only signs tell which may mean something else.

    Each sign may be of the moment or of something else. How likely it is of it follows from how far it stands from the
    reference in their joint uncertainty, against the chance that none is, and the moment lies anywhere in the span.
    The likeliest reading is told; its uncertainty covers the others.

    Parameters
    ----------
    reference : Sign or None
        What surely tells of the moment, NaN or None where nothing does [s]
    signs : sequence of Sign
        What may tell of it [s]
    share : float
        How often the moment leaves a sign at all, between 0 and 1 [-]
    span_s : float
        Time in which signs of something else are spread [s]

    Returns
    -------
    Sign or None
        Time and standard uncertainty [s], `by` of what it rests on most; None where nothing tells it

    Source
    ------
    Bayes' rule over the readings, each of them normal; the variance of a mixture. House method otherwise.

    Examples
    --------
    >>> near = weighed(Sign(1000.0, 60.0, "receivers"), [Sign(1030.0, 10.0, "flow")], 0.5, 20000.0)
    >>> round(near.at_s), round(near.u_s), near.by
    (1029, 13, 'flow')
    >>> far = weighed(Sign(1000.0, 60.0, "receivers"), [Sign(1600.0, 10.0, "flow")], 0.5, 20000.0)
    >>> round(far.at_s), round(far.u_s), far.by
    (1000, 60, 'receivers')
    """
    if reference is None:
        readings = list(signs)
        chances = [sign.weight for sign in signs]
    else:
        whole = sum(sign.weight for sign in signs) or 1.0
        readings = [reference, *(_joined([reference, sign]) for sign in signs)]
        chances = [(1.0 - share if signs else 1.0) / span_s]
        chances += [share * sign.weight / whole * _density(sign, reference) for sign in signs]
    if not readings or not sum(chances) > 0.0:
        return None
    part = np.array(chances) / sum(chances)
    best = readings[int(np.argmax(part))]
    square = sum(
        p * (reading.u_s**2 + (reading.at_s - best.at_s) ** 2) for p, reading in zip(part, readings, strict=True)
    )  # about what is told, not about their mean
    return replace(best, u_s=float(np.sqrt(square)))


def _density(sign: Sign, reference: Sign) -> float:
    u = float(np.hypot(sign.u_s, reference.u_s))
    return float(np.exp(-(((sign.at_s - reference.at_s) / u) ** 2) / 2.0) / (u * np.sqrt(2.0 * np.pi)))
