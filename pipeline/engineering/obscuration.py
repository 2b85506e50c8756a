"""Apparent and true strength where something is dissolved in the spirit.

Sugar, colour or extract of wood raises the density, so an instrument that knows only ethanol and water
shows too little alcohol. The strength that counts in law is the true one, measured on a distillate.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.engineering.elements import FloatOrArray, as_given, in_range
from pipeline.engineering.ethanol_water import density
from pipeline.engineering.strength import mass_fraction_from_volume_strength, strength_from_density

# Volume that a gram of dissolved sugar takes up in the mixture: partial specific volume of sucrose in
# water, from memory. Wood extract is near it (common practice).
EXTRACT_VOLUME_ML_PER_G = 0.618


@dataclass(frozen=True)
class StrengthOnRecord:
    """The strength to reckon with, and how it came about.

    `is_true` says that it was measured on a distillate; else `strength_pct_vol` is the apparent strength
    and the obscuration is unknown (NaN), which is not the same as none.
    """

    strength_pct_vol: FloatOrArray
    obscuration_pct_vol: FloatOrArray
    is_true: bool | NDArray[np.bool_]


def strength_on_record(apparent_pct_vol: ArrayLike, true_pct_vol: ArrayLike = np.nan) -> StrengthOnRecord:
    """True strength where the laboratory has it, else the apparent one, and the difference of the two.

    Parameters
    ----------
    apparent_pct_vol : float or array
        Strength from density, alcoholmeter or hydrometer, NaN where none was taken [% vol]
    true_pct_vol : float or array
        Strength of the distillate, NaN where none was measured [% vol]

    Returns
    -------
    StrengthOnRecord
        Strength to reckon with [% vol] and obscuration, true less apparent [% vol]

    Raises
    ------
    ValueError
        If both are single values and neither is a strength from 0 to 100 % vol.

    Source
    ------
    Regulation (EC) 2870/2000, annex, chapter I: the strength of a spirit drink is that of its distillate.

    Examples
    --------
    >>> record = strength_on_record(39.4, 40.0)
    >>> record.strength_pct_vol, round(record.obscuration_pct_vol, 6)
    (40.0, 0.6)
    """
    apparent, true = np.asarray(apparent_pct_vol, dtype=float), np.asarray(true_pct_vol, dtype=float)
    is_true = ~np.isnan(true)
    strength = in_range(np.where(is_true, true, apparent), 0.0, 100.0, "strength", "% vol")
    return StrengthOnRecord(
        strength_pct_vol=as_given(strength),
        obscuration_pct_vol=as_given(true - apparent),
        is_true=bool(is_true) if is_true.ndim == 0 else is_true,
    )


def apparent_strength(true_pct_vol: ArrayLike, dry_extract_g_l: ArrayLike) -> FloatOrArray:
    """Strength that the density of a spirit shows at 20 °C when extract is dissolved in it.

    An estimate, good to about a tenth of the obscuration for sugar.

    Parameters
    ----------
    true_pct_vol : float or array
        True strength by volume at 20 °C [% vol]
    dry_extract_g_l : float or array
        Dry extract, 0 to 500 g/L [g/L]

    Returns
    -------
    float or array
        Apparent strength by volume at 20 °C; NaN in arrays where the spirit is denser than water [% vol]

    Raises
    ------
    ValueError
        If an argument is out of range, or a single spirit is denser than water.

    Source
    ------
    Additive volumes with 0.618 mL for each gram (partial specific volume of sucrose, from memory);
    densities of OIML R 22 (1975).

    Examples
    --------
    >>> round(40.0 - apparent_strength(40.0, 6.0), 1)
    1.4
    """
    strength = in_range(true_pct_vol, 0.0, 100.0, "true strength", "% vol")
    extract = in_range(dry_extract_g_l, 0.0, 500.0, "dry extract", "g/L")
    free = 1.0 - extract * EXTRACT_VOLUME_ML_PER_G / 1000.0  # part of a litre left for alcohol and water
    spirit = np.asarray(density(mass_fraction_from_volume_strength(strength / free), 20.0))
    return strength_from_density(spirit * free + extract, 20.0)


def expected_obscuration_pct_vol(true_pct_vol: ArrayLike, dry_extract_g_l: ArrayLike) -> FloatOrArray:
    """Obscuration to be expected of a dry extract, to compare with the one found.

    Parameters
    ----------
    true_pct_vol : float or array
        True strength by volume at 20 °C [% vol]
    dry_extract_g_l : float or array
        Dry extract, 0 to 500 g/L [g/L]

    Returns
    -------
    float or array
        True less apparent strength [% vol]

    Raises
    ------
    ValueError
        As `apparent_strength`.

    Source
    ------
    As `apparent_strength`.

    Examples
    --------
    >>> round(expected_obscuration_pct_vol(40.0, 10.0), 1)
    2.4
    """
    return as_given(np.asarray(true_pct_vol, dtype=float) - apparent_strength(true_pct_vol, dry_extract_g_l))
