"""The constant c4 of control charts for normal values, from the gamma function instead of from a table."""

from math import exp, lgamma, sqrt


def c4(size: int) -> float:
    """Mean standard deviation of so many normal values of standard deviation 1.

    Parameters
    ----------
    size : int
        Values in a subgroup, 2 or more [-]

    Returns
    -------
    float
        The constant c4 [-]

    Raises
    ------
    ValueError
        If there are fewer than two values.

    Source
    ------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.1.

    Examples
    --------
    >>> round(c4(5), 5), round(c4(30), 5)
    (0.93999, 0.99142)
    """
    if size < 2:
        raise ValueError(f"a subgroup has {size} values; expected 2 or more")
    return sqrt(2 / (size - 1)) * exp(lgamma(size / 2) - lgamma((size - 1) / 2))
