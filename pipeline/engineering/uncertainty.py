"""Standard uncertainty of what is computed from measured quantities.

First-order propagation for independent inputs, u(f)^2 = sum (df/dx_i)^2 u(x_i)^2, on single values or on
thousands of rows at once. Each input must stand for its own measurement: a temperature that entered both
a volume and a strength makes them correlated, which these formulas leave out; `contributions` gives the signed parts
from which correlated results are put together.

An unknown uncertainty (NaN) makes the result unknown, never smaller.
"""

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given
from gaugebook.pipeline.engineering.gauging import volume_at_20c
from gaugebook.pipeline.engineering.strength import strength_from_alcoholmeter, strength_from_density

# Step of the central difference as a part of the standard uncertainty: small enough to be the slope,
# large enough to stand clear of rounding.
_STEP = 0.01

Array = NDArray[np.float64]


def propagate(
    function: Callable[..., ArrayLike], values: Sequence[ArrayLike], uncertainties: Sequence[ArrayLike]
) -> FloatOrArray:
    """Standard uncertainty of a function of independent quantities, to first order.

    Parameters
    ----------
    function : callable
        Takes as many arrays as there are values, works element by element and returns an array; NaN
        where it has no value. Leading axes of its result beyond those of the values are kept [-]
    values : sequence of (float or array)
        Value of each quantity, in the function's units [-]
    uncertainties : sequence of (float or array)
        Standard uncertainty of each, in the same unit [-]

    Returns
    -------
    float or array
        Standard uncertainty of the result, in the result's unit [-]

    Raises
    ------
    ValueError
        If there are not as many uncertainties as values, or one is negative.

    Source
    ------
    JCGM 100:2008 (GUM), 5.1.2, equation (10); slopes as in 5.1.3, note 2.

    Examples
    --------
    >>> round(propagate(lambda a, b: a * b, [3.0, 4.0], [0.1, 0.1]), 6)
    0.5
    """
    return as_given(np.sqrt(sum(part**2 for part in map(np.asarray, contributions(function, values, uncertainties)))))


def contributions(
    function: Callable[..., ArrayLike], values: Sequence[ArrayLike], uncertainties: Sequence[ArrayLike]
) -> list[FloatOrArray]:
    """What each quantity gives to the uncertainty of a function, with its sign: slope times standard uncertainty.

    Contributions of one error to several results add up with their signs before they are squared; those of independent
    errors add up in squares. The slopes are central differences; where one side lies outside the function's range, as
    at a strength of 100 % vol, the difference is taken on the other side alone.

    Parameters
    ----------
    function : callable
        As in `propagate` [-]
    values : sequence of (float or array)
        Value of each quantity, in the function's units [-]
    uncertainties : sequence of (float or array)
        Standard uncertainty of each, in the same unit [-]

    Returns
    -------
    list of (float or array)
        One entry a quantity, in the result's unit [-]

    Raises
    ------
    ValueError
        If there are not as many uncertainties as values, or one is negative.

    Source
    ------
    JCGM 100:2008 (GUM), 5.1.3, equation (11b) and note 2; 5.2.2, note 1, for errors that are shared.

    Examples
    --------
    >>> [round(part, 6) for part in contributions(lambda a, b: a - 2.0 * b, [3.0, 4.0], [0.1, 0.1])]
    [0.1, -0.2]
    """
    if len(values) != len(uncertainties):
        raise ValueError(f"{len(values)} values and {len(uncertainties)} uncertainties; expected equally many")
    x = [np.asarray(v, dtype=float) for v in values]
    u = [np.asarray(v, dtype=float) for v in uncertainties]
    if any((a < 0.0).any() for a in u):
        raise ValueError("a standard uncertainty is negative; expected 0 or more")
    shape = np.broadcast_shapes(*(a.shape for a in x + u))
    # At least one dimension, so that a step out of range is marked, not raised.
    x = [np.atleast_1d(np.broadcast_to(a, shape)) for a in x]
    u = [np.atleast_1d(np.broadcast_to(a, shape)) for a in u]
    value = np.asarray(function(*x), dtype=float)
    parts = []
    for i, u_i in enumerate(u):
        if u_i.any():
            above, below = (_moved(function, x, i, sign * _STEP * u_i) for sign in (1.0, -1.0))
            forward, backward = above - value, value - below
            ahead = np.where(np.isnan(forward), backward, forward)
            behind = np.where(np.isnan(backward), forward, backward)
            part = (ahead + behind) / 2.0 / _STEP
        else:
            part = np.zeros_like(value)
        parts.append(as_given(part if shape else part[..., 0]))
    return parts


def _moved(function: Callable[..., ArrayLike], x: list[Array], i: int, step: Array) -> Array:
    """The function with its i-th argument moved by a step."""
    return np.asarray(function(*x[:i], x[i] + step, *x[i + 1 :]), dtype=float)


def u_alcohol(
    volume_l: ArrayLike, u_volume_l: ArrayLike, strength_pct_vol: ArrayLike, u_strength_pct_vol: ArrayLike
) -> FloatOrArray:
    """Standard uncertainty of litres of pure alcohol.

    Parameters
    ----------
    volume_l : float or array
        Volume at 20 °C [L]
    u_volume_l : float or array
        Its standard uncertainty [L]
    strength_pct_vol : float or array
        Strength by volume at 20 °C [% vol]
    u_strength_pct_vol : float or array
        Its standard uncertainty [% vol]

    Returns
    -------
    float or array
        Standard uncertainty of the litres of pure alcohol [L]

    Raises
    ------
    ValueError
        If an uncertainty is negative.

    Source
    ------
    JCGM 100:2008 (GUM), 5.1.2, equation (10).

    Examples
    --------
    >>> round(u_alcohol(1000.0, 2.0, 40.0, 0.1), 4)
    1.2806
    """
    return propagate(lambda v, q: v * q / 100.0, [volume_l, strength_pct_vol], [u_volume_l, u_strength_pct_vol])


def u_strength_from_density(
    density_kg_m3: ArrayLike, u_density_kg_m3: ArrayLike, temperature_c: ArrayLike, u_temperature_c: ArrayLike
) -> FloatOrArray:
    """Standard uncertainty of a strength found from a density.

    Parameters
    ----------
    density_kg_m3 : float or array
        Density in vacuo at the temperature [kg/m3]
    u_density_kg_m3 : float or array
        Its standard uncertainty [kg/m3]
    temperature_c : float or array
        Temperature [°C]
    u_temperature_c : float or array
        Its standard uncertainty [°C]

    Returns
    -------
    float or array
        Standard uncertainty of the strength [% vol]

    Raises
    ------
    ValueError
        If an uncertainty is negative.

    Source
    ------
    JCGM 100:2008 (GUM), 5.1.2, equation (10).

    Examples
    --------
    >>> round(u_strength_from_density(948.05, 0.05, 20.0, 0.02), 3)
    0.032
    """
    return propagate(strength_from_density, [density_kg_m3, temperature_c], [u_density_kg_m3, u_temperature_c])


def u_strength_from_alcoholmeter(
    reading_pct_vol: ArrayLike,
    u_reading_pct_vol: ArrayLike,
    temperature_c: ArrayLike,
    u_temperature_c: ArrayLike,
    glass: str = "soda-lime",
) -> FloatOrArray:
    """Standard uncertainty of a strength found with a glass alcoholmeter.

    Parameters
    ----------
    reading_pct_vol : float or array
        Reading of the alcoholmeter [% vol]
    u_reading_pct_vol : float or array
        Its standard uncertainty [% vol]
    temperature_c : float or array
        Temperature [°C]
    u_temperature_c : float or array
        Its standard uncertainty [°C]
    glass : str
        Kind of glass, "soda-lime" or "borosilicate" [-]

    Returns
    -------
    float or array
        Standard uncertainty of the strength [% vol]

    Raises
    ------
    ValueError
        If an uncertainty is negative or the glass is not known.

    Source
    ------
    JCGM 100:2008 (GUM), 5.1.2, equation (10).

    Examples
    --------
    >>> round(u_strength_from_alcoholmeter(43.0, 0.1, 12.0, 0.2), 2)
    0.12
    """
    return propagate(
        lambda q, t: strength_from_alcoholmeter(q, t, glass),
        [reading_pct_vol, temperature_c],
        [u_reading_pct_vol, u_temperature_c],
    )


def u_volume_at_20c(
    volume_at_t_l: ArrayLike,
    u_volume_at_t_l: ArrayLike,
    temperature_c: ArrayLike,
    u_temperature_c: ArrayLike,
    strength_pct_vol: ArrayLike,
    u_strength_pct_vol: ArrayLike,
    vessel_expansion_per_k: ArrayLike = 0.0,
) -> FloatOrArray:
    """Standard uncertainty of a volume brought to 20 °C.

    Parameters
    ----------
    volume_at_t_l : float or array
        Volume as gauged [L]
    u_volume_at_t_l : float or array
        Its standard uncertainty [L]
    temperature_c : float or array
        Temperature of spirit and vessel [°C]
    u_temperature_c : float or array
        Its standard uncertainty [°C]
    strength_pct_vol : float or array
        Strength by volume at 20 °C [% vol]
    u_strength_pct_vol : float or array
        Its standard uncertainty [% vol]
    vessel_expansion_per_k : float or array
        Cubic expansion of the vessel, taken as known [1/K]

    Returns
    -------
    float or array
        Standard uncertainty of the volume at 20 °C [L]

    Raises
    ------
    ValueError
        If an uncertainty is negative.

    Source
    ------
    JCGM 100:2008 (GUM), 5.1.2, equation (10).

    Examples
    --------
    >>> round(u_volume_at_20c(1000.0, 2.0, 30.0, 0.5, 96.0, 0.1), 2)
    2.05
    """
    return propagate(
        volume_at_20c,
        [volume_at_t_l, temperature_c, strength_pct_vol, vessel_expansion_per_k],
        [u_volume_at_t_l, u_temperature_c, u_strength_pct_vol, 0.0],
    )


def u_ratio(
    numerator: ArrayLike, u_numerator: ArrayLike, denominator: ArrayLike, u_denominator: ArrayLike
) -> FloatOrArray:
    """Standard uncertainty of a ratio, such as a yield or a recovery, of two independent quantities.

    Parameters
    ----------
    numerator : float or array
        Quantity above the line, in any unit [-]
    u_numerator : float or array
        Its standard uncertainty, in the same unit [-]
    denominator : float or array
        Quantity below the line, in any unit; not 0 [-]
    u_denominator : float or array
        Its standard uncertainty, in the same unit [-]

    Returns
    -------
    float or array
        Standard uncertainty of the ratio; NaN where the denominator is 0 [-]

    Raises
    ------
    ValueError
        If an uncertainty is negative.

    Source
    ------
    JCGM 100:2008 (GUM), 5.1.6, equation (12), written so that the numerator may be 0.

    Examples
    --------
    >>> round(u_ratio(95.0, 0.5, 100.0, 0.5), 5)
    0.0069
    """
    a, u_a, b, u_b = (np.asarray(v, dtype=float) for v in (numerator, u_numerator, denominator, u_denominator))
    if (u_a < 0.0).any() or (u_b < 0.0).any():
        raise ValueError("a standard uncertainty is negative; expected 0 or more")
    b = np.where(b == 0.0, np.nan, b)
    return as_given(np.hypot(u_a / b, a * u_b / b**2))
