"""Litres of pure alcohol, the currency of a distillery's account."""

import numpy as np
from numpy.typing import ArrayLike

from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given, in_range


def litres_of_pure_alcohol(volume_l: ArrayLike, strength_pct_vol: ArrayLike) -> FloatOrArray:
    """Volume of ethanol that a spirit holds, both volumes at 20 °C.

    Parameters
    ----------
    volume_l : float or array
        Volume of the spirit at 20 °C [L]
    strength_pct_vol : float or array
        Strength by volume at 20 °C [% vol]

    Returns
    -------
    float or array
        Litres of pure alcohol at 20 °C [L]

    Raises
    ------
    ValueError
        If a volume is negative or a strength lies outside 0 to 100 % vol.

    Source
    ------
    Regulation (EU) 2019/787, Article 4(23): strength is the volume of pure alcohol at 20 °C over the
    total volume at the same temperature.

    Examples
    --------
    >>> round(litres_of_pure_alcohol(12 * 0.7 * 100, 40.0), 9)  # 100 cases of 12 × 70 cl: 336 L
    336.0
    """
    volume = in_range(volume_l, 0.0, np.inf, "volume", "L")
    strength = in_range(strength_pct_vol, 0.0, 100.0, "strength", "% vol")
    return as_given(volume * (strength / 100.0))


def volume_of_pure_alcohol(alcohol_l: ArrayLike, strength_pct_vol: ArrayLike) -> FloatOrArray:
    """Volume of spirit of a given strength that holds so many litres of pure alcohol.

    Parameters
    ----------
    alcohol_l : float or array
        Litres of pure alcohol at 20 °C [L]
    strength_pct_vol : float or array
        Strength by volume at 20 °C, above 0 [% vol]

    Returns
    -------
    float or array
        Volume of the spirit at 20 °C [L]

    Raises
    ------
    ValueError
        If the litres are negative or the strength is not above 0 and at most 100 % vol.

    Source
    ------
    Regulation (EU) 2019/787, Article 4(23).

    Examples
    --------
    >>> volume_of_pure_alcohol(336.0, 40.0)
    840.0
    """
    alcohol = in_range(alcohol_l, 0.0, np.inf, "pure alcohol", "L")
    strength = in_range(strength_pct_vol, 1e-6, 100.0, "strength", "% vol")
    return as_given(100.0 * alcohol / strength)
