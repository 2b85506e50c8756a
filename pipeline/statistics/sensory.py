"""Difference tests of a sensory panel: how likely guessing alone would have done as well."""

from math import comb

# Probability that one assessor who cannot tell the samples apart answers correctly.
GUESSING = {"triangle": 1 / 3, "duo-trio": 1 / 2, "paired": 1 / 2}


def chance_of_at_least(correct: int, assessors: int, test: str) -> float | None:
    """Probability that guessing gives at least so many correct answers (one-sided, exact binomial).

    Parameters
    ----------
    correct : int
        Correct answers [-]
    assessors : int
        Answers in all [-]
    test : str
        "triangle", "duo-trio" or "paired" [-]

    Returns
    -------
    float
        Probability, None for a test of another kind [-]

    Raises
    ------
    ValueError
        If the correct answers are fewer than 0 or more than the assessors.

    Source
    ------
    Exact binomial distribution, as the tables of ISO 4120 (triangle), ISO 10399 (duo-trio) and ISO 5495 (paired)
    are made; the standards are named from memory.

    Examples
    --------
    >>> round(chance_of_at_least(10, 18, "triangle"), 4)
    0.0433
    """
    if not 0 <= correct <= assessors:
        raise ValueError(f"{correct} correct answers of {assessors} assessors cannot be")
    p = GUESSING.get(test)
    if p is None:
        return None
    return sum(comb(assessors, k) * p**k * (1 - p) ** (assessors - k) for k in range(correct, assessors + 1))
