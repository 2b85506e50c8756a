"""Net contents of prepacked bottles: tolerable negative error, and the reference test of a batch by a sample."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil, floor, sqrt

from scipy.special import stdtrit

# Nominal quantity up to [mL], tolerable negative error as a share of it or in mL: Directive 76/211/EEC, Annex I, 2.4.
_TOLERABLE_ERRORS = (
    (50.0, 0.09, None),
    (100.0, None, 4.5),
    (200.0, 0.045, None),
    (300.0, None, 9.0),
    (500.0, 0.03, None),
    (1000.0, None, 15.0),
    (10_000.0, 0.015, None),
)


def tolerable_negative_error_ml(nominal_ml: float) -> float:
    """How far the contents of a bottle may fall short of the nominal quantity.

    Parameters
    ----------
    nominal_ml : float
        Nominal quantity, 5 to 10 000 [mL]

    Returns
    -------
    float
        Tolerable negative error; a share is rounded up to the next 0.1 mL [mL]

    Raises
    ------
    ValueError
        If the nominal quantity is outside the Directive's range.

    Source
    ------
    Directive 76/211/EEC, Annex I, 2.4 (the rounding from memory).

    Examples
    --------
    >>> tolerable_negative_error_ml(700.0), tolerable_negative_error_ml(1750.0)
    (15.0, 26.3)
    """
    if not 5.0 <= nominal_ml <= 10_000.0:
        raise ValueError(f"nominal quantity is {nominal_ml} mL; expected 5 to 10 000 mL")
    share, fixed_ml = next((share, fixed) for up_to, share, fixed in _TOLERABLE_ERRORS if nominal_ml <= up_to)
    if fixed_ml is not None:
        return fixed_ml
    assert share is not None
    return ceil(round(share * nominal_ml * 10, 6)) / 10


def mean_test_factor(sample_size: int) -> float:
    """Factor k of the mean test: a sample passes while its mean is at least nominal - k s.

    Parameters
    ----------
    sample_size : int
        Number of bottles measured, 2 or more [-]

    Returns
    -------
    float
        Student's t at 0.995 with n - 1 degrees of freedom, over the root of n [-]

    Raises
    ------
    ValueError
        If the sample has fewer than two bottles.

    Source
    ------
    Directive 76/211/EEC, Annex II, 2.3: 0.503 for 30 bottles, 0.379 for 50, 0.640 for 20.

    Examples
    --------
    >>> round(mean_test_factor(30), 3), round(mean_test_factor(50), 3), round(mean_test_factor(20), 2)
    (0.503, 0.379, 0.64)
    """
    if sample_size < 2:
        raise ValueError(f"sample has {sample_size} bottles; a mean test needs at least 2")
    return float(stdtrit(sample_size - 1, 0.995)) / sqrt(sample_size)


@dataclass(frozen=True)
class SamplingPlan:
    """How many bottles of a batch are measured, and how many of them may be short by more than the tolerable error.

    Attributes
    ----------
    first, accept, reject : int
        Bottles of the first sample; so many short ones accept the batch, so many refuse it
    both, accept_both, reject_both : int
        The same of first and second sample together; equal to the first where there is no second
    mean : int
        Bottles over which the mean is taken
    """

    first: int
    accept: int
    reject: int
    both: int
    accept_both: int
    reject_both: int
    mean: int


LARGEST_BATCH = 10_000  # bottles; of more, so many are a batch each
_SINGLE = SamplingPlan(20, 1, 2, 20, 1, 2, mean=20)
_DOUBLE = (  # batches up to so many bottles
    (500, SamplingPlan(30, 1, 3, 60, 4, 5, mean=30)),
    (3200, SamplingPlan(50, 2, 5, 100, 6, 7, mean=50)),
    (LARGEST_BATCH, SamplingPlan(80, 3, 7, 160, 8, 9, mean=50)),
)
_SHORT_OF_ALL = 0.025  # of a batch that is measured bottle by bottle


def sampling_plan(batch_size: int, is_destructive: bool = False) -> SamplingPlan:
    """The plan of the reference test for a batch of prepacked bottles.

    Of a lot above 10 000 bottles every 10 000 begun are a batch with a sample of its own. As nothing tells which bottle
    came from which, all of them together may hold no more short ones than one batch, and are refused only where one of
    the batches must have been.

    Parameters
    ----------
    batch_size : int
        Bottles filled [-]
    is_destructive : bool
        Whether the bottles are opened to be measured [-]

    Returns
    -------
    SamplingPlan
        Sizes of samples, acceptance and rejection numbers

    Raises
    ------
    ValueError
        If there is no bottle.

    Source
    ------
    Directive 76/211/EEC, Annex II, 2.1.2 (10 000), 2.1.3 (below 100: every bottle, unopened), 2.2.1, 2.2.2 and 2.3.2;
    the share of short bottles in a batch below 100 is that of the guidance to the United Kingdom's regulations (2.5 %).

    Examples
    --------
    >>> plan = sampling_plan(5000)
    >>> plan.first, plan.accept, plan.reject, plan.both, plan.accept_both
    (80, 3, 7, 160, 8)
    """
    if batch_size < 1:
        raise ValueError(f"batch has {batch_size} bottles; a plan needs at least 1")
    if batch_size < 100:
        accept = floor(_SHORT_OF_ALL * batch_size)
        return SamplingPlan(batch_size, accept, accept + 1, batch_size, accept, accept + 1, mean=batch_size)
    parts = ceil(batch_size / LARGEST_BATCH)
    plan = _SINGLE if is_destructive else next(p for most, p in _DOUBLE if min(batch_size, LARGEST_BATCH) <= most)
    return replace(
        plan,
        first=parts * plan.first,
        reject=parts * (plan.reject - 1) + 1,
        both=parts * plan.both,
        reject_both=parts * (plan.reject_both - 1) + 1,
        mean=parts * plan.mean,
    )


def numbers_that_decide(plan: SamplingPlan, is_short: Sequence[bool]) -> tuple[int | None, int | None]:
    """Up to how many short bottles of a sample accept the batch, and from how many on it is refused.

    Every bottle that was measured counts, so a sample between the first and both is accepted by the numbers of the
    first only, and a first sample that refuses the batch is not made good by a second.

    Parameters
    ----------
    plan : SamplingPlan
        Plan of the batch [-]
    is_short : sequence of bool
        Of each bottle, in the order of the sample, whether it is short by more than the tolerable negative error [-]

    Returns
    -------
    accept : int or None
        Accepted with so many or fewer; None where the sample is smaller than the plan's first [-]
    reject : int or None
        Refused with so many or more; None where the sample is smaller than the plan's first and not refused [-]

    Source
    ------
    Directive 76/211/EEC, Annex II, 2.2.1.

    Examples
    --------
    >>> numbers_that_decide(sampling_plan(400), [False] * 28 + [True] * 2), numbers_that_decide(sampling_plan(400), [])
    ((1, 3), (None, None))
    """
    measured, short = len(is_short), sum(is_short)
    short_of_first = sum(is_short[: plan.first])
    if short_of_first >= plan.reject:
        return plan.accept, min(short, plan.reject)
    if measured < plan.first:
        return None, None
    reject = plan.reject_both if measured > plan.first else plan.reject
    return (plan.accept_both if measured >= plan.both else plan.accept), reject


def mean_test_allowance(measured: int, batch_size: int) -> float:
    """Standard deviations by which the mean of a sample may lie below the nominal quantity.

    Parameters
    ----------
    measured : int
        Number of bottles measured, 2 or more unless they are the whole batch [-]
    batch_size : int
        Bottles filled [-]

    Returns
    -------
    float
        `mean_test_factor` of the sample; 0 where every bottle of the batch was measured [-]

    Raises
    ------
    ValueError
        If a sample has fewer than two bottles.

    Source
    ------
    Directive 76/211/EEC, Annex II, 2.3; for every bottle of a batch below 100 the same annex as the United Kingdom has
    it (SI 2006/659, schedule 2, 4.7): the mean not less than nominal.

    Examples
    --------
    >>> mean_test_allowance(60, 60), round(mean_test_allowance(50, 3000), 3)
    (0.0, 0.379)
    """
    return 0.0 if measured >= batch_size > 0 else mean_test_factor(measured)
