"""Net contents of prepacked bottles: tolerable negative error, and the test of the mean of a sample."""

from math import ceil, sqrt

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
