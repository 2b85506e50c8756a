"""Volatile compounds per litre of sample and per hectolitre of pure alcohol.

Law limits congeners in grams per hectolitre of 100 % vol alcohol; a laboratory measures milligrams per
litre of what it was given.
"""

import numpy as np
from numpy.typing import ArrayLike

from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given, in_range


def g_per_hl_pure_alcohol(concentration_mg_l: ArrayLike, strength_pct_vol: ArrayLike) -> FloatOrArray:
    """Grams per hectolitre of pure alcohol of a compound measured in a sample.

    Parameters
    ----------
    concentration_mg_l : float or array
        Concentration in the sample at 20 °C [mg/L]
    strength_pct_vol : float or array
        Strength by volume at 20 °C, above 0 [% vol]

    Returns
    -------
    float or array
        Concentration related to pure alcohol [g/hL pure alcohol]

    Raises
    ------
    ValueError
        If the concentration is negative or the strength is not above 0 and at most 100 % vol.

    Source
    ------
    Regulation (EC) 2870/2000, annex, chapter III: results in g per hL of 100 % vol alcohol. 1 mg/L is
    0.1 g/hL, divided by the volume fraction of alcohol.

    Examples
    --------
    >>> g_per_hl_pure_alcohol(500.0, 40.0)
    125.0
    """
    concentration = in_range(concentration_mg_l, 0.0, np.inf, "concentration", "mg/L")
    strength = in_range(strength_pct_vol, 1e-6, 100.0, "strength", "% vol")
    return as_given(concentration * 10.0 / strength)


def mg_per_l_sample(concentration_g_hl_pa: ArrayLike, strength_pct_vol: ArrayLike) -> FloatOrArray:
    """Milligrams per litre of sample of a compound stated per hectolitre of pure alcohol.

    Parameters
    ----------
    concentration_g_hl_pa : float or array
        Concentration related to pure alcohol [g/hL pure alcohol]
    strength_pct_vol : float or array
        Strength by volume at 20 °C [% vol]

    Returns
    -------
    float or array
        Concentration in the sample at 20 °C [mg/L]

    Raises
    ------
    ValueError
        If the concentration is negative or the strength lies outside 0 to 100 % vol.

    Source
    ------
    Regulation (EC) 2870/2000, annex, chapter III.

    Examples
    --------
    >>> mg_per_l_sample(125.0, 40.0)
    500.0
    """
    concentration = in_range(concentration_g_hl_pa, 0.0, np.inf, "concentration", "g/hL pure alcohol")
    strength = in_range(strength_pct_vol, 0.0, 100.0, "strength", "% vol")
    return as_given(concentration * strength / 10.0)
