"""One habit for single values and arrays, kept in one place.

A single value outside its range is a mistake of the caller and raises a ValueError that names the value
and the range. In an array the same mistake makes just that element NaN, so that one bad row among
thousands neither stops the others nor passes unseen.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatOrArray = float | NDArray[np.float64]

# Rounding in a chain of conversions may leave a value this far beyond its limit; it is moved back on it.
_ROUNDING = 1e-9


def in_range(value: ArrayLike, low: ArrayLike, high: ArrayLike, name: str, unit: str) -> NDArray[np.float64]:
    """Return the values that lie from low to high, and refuse the others.

    Parameters
    ----------
    value : float or array
        The values to be judged, in the unit that `unit` names [-]
    low : float or array
        Least value allowed [-]
    high : float or array
        Greatest value allowed [-]
    name : str
        What the value is, for the message [-]
    unit : str
        Its unit, for the message [-]

    Returns
    -------
    array
        The values, NaN where one is refused; of no dimension if all arguments are single values [-]

    Raises
    ------
    ValueError
        If all arguments are single values and the value is not a number or outside the range.

    Source
    ------
    House convention; no published source.

    Examples
    --------
    >>> in_range([20.0, 101.0], 0.0, 100.0, "strength", "% vol")
    array([20., nan])
    """
    x, lowest, highest = (np.asarray(a, dtype=float) for a in (value, low, high))
    least = lowest - _ROUNDING * np.maximum(1.0, np.abs(lowest))
    most = highest + _ROUNDING * np.maximum(1.0, np.abs(highest))
    inside = (x >= least) & (x <= most) & np.isfinite(x)
    if inside.ndim == 0 and not inside:
        shown = "not a number" if np.isnan(x) else f"{x:.10g} {unit}"
        limits = f"{lowest:.8g} or more" if np.isinf(highest) else f"{lowest:.8g} to {highest:.8g}"
        raise ValueError(f"{name} is {shown}; expected {limits} {unit}")
    if inside.all():
        return np.clip(x, lowest, highest)
    return np.where(inside, np.clip(x, lowest, highest), np.nan)


def refuse(bad: ArrayLike, message: str, *values: ArrayLike) -> NDArray[np.bool_]:
    """Raise for a single value that cannot be; for an array return which elements cannot.

    Parameters
    ----------
    bad : bool or array
        Which elements are refused [-]
    message : str
        What is wrong, what was expected and what to do, with {} for each value [-]
    *values : float or array
        Values to be named in the message [-]

    Returns
    -------
    array
        The same, for use as a mask [-]

    Raises
    ------
    ValueError
        If a single value is refused.

    Source
    ------
    House convention; no published source.

    Examples
    --------
    >>> refuse([True, False], "too strong")
    array([ True, False])
    """
    mask = np.asarray(bad, dtype=bool)
    if mask.ndim == 0 and mask:
        raise ValueError(message.format(*(f"{np.asarray(v, dtype=float):.10g}" for v in values)))
    return mask


def as_given(result: ArrayLike) -> FloatOrArray:
    """Return a float for a result without dimension, else the array.

    Parameters
    ----------
    result : float or array
        What was computed [-]

    Returns
    -------
    float or array
        The same [-]

    Source
    ------
    House convention; no published source.

    Examples
    --------
    >>> as_given(np.array(2.0))
    2.0
    """
    array = np.asarray(result, dtype=float)
    return float(array) if array.ndim == 0 else array
