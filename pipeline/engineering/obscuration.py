"""Apparent and true strength where something is dissolved in the spirit.

Sugar, colour or extract of wood raises the density, so an instrument that knows only ethanol and water
shows too little alcohol. The strength that counts in law is the true one, measured on a distillate.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given, in_range
from gaugebook.pipeline.engineering.ethanol_water import density
from gaugebook.pipeline.engineering.strength import mass_fraction_from_volume_strength, strength_from_density
from gaugebook.pipeline.engineering.uncertainty import propagate

# Volume that a gram of dissolved sugar takes up in the mixture: partial specific volume of sucrose in
# water, from memory. Wood extract is near it (common practice).
EXTRACT_VOLUME_ML_PER_G = 0.618
# Its standard uncertainty where the kind of extract is not known. The rule of 27 CFR 30.32(b) (0.4 of a degree of proof
# for 100 mg in 100 mL, from 80 to 100 proof) is what 0.67 mL/g would give at 40 % vol and 0.60 at 50: within one of it.
U_EXTRACT_VOLUME_ML_PER_G = 0.05

EXTRACT_RANGE_G_L = (0.0, 500.0)


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
    return strength_from_density(density_with_extract(true_pct_vol, dry_extract_g_l), 20.0)


def density_with_extract(true_pct_vol: ArrayLike, dry_extract_g_l: ArrayLike) -> FloatOrArray:
    """Density of a spirit at 20 °C with extract dissolved in it.

    Parameters
    ----------
    true_pct_vol : float or array
        True strength by volume at 20 °C [% vol]
    dry_extract_g_l : float or array
        Dry extract, 0 to 500 g/L [g/L]

    Returns
    -------
    float or array
        Density in vacuo at 20 °C [kg/m3]

    Raises
    ------
    ValueError
        If an argument is out of range.

    Source
    ------
    Additive volumes with 0.618 mL for each gram (partial specific volume of sucrose, from memory);
    densities of OIML R 22 (1975).

    Examples
    --------
    >>> round(density_with_extract(40.0, 0.0), 2), round(density_with_extract(0.0, 100.0), 1)
    (948.05, 1036.5)
    """
    strength = in_range(true_pct_vol, 0.0, 100.0, "true strength", "% vol")
    extract = in_range(dry_extract_g_l, *EXTRACT_RANGE_G_L, "dry extract", "g/L")
    free = 1.0 - extract * EXTRACT_VOLUME_ML_PER_G / 1000.0  # part of a litre left for alcohol and water
    spirit = np.asarray(density(mass_fraction_from_volume_strength(strength / free), 20.0))
    return as_given(spirit * free + extract)


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


def true_strength(density_kg_m3: ArrayLike, temperature_c: ArrayLike, dry_extract_g_l: ArrayLike) -> FloatOrArray:
    """True strength of a liquid from its density and the extract dissolved in it.

    The extract is taken off: its mass from the density, its volume from the litre; what is left is ethanol and water.
    So a liqueur that is denser than water has a strength too.

    Parameters
    ----------
    density_kg_m3 : float or array
        Density in vacuo of the liquid as it is, at the temperature [kg/m3]
    temperature_c : float or array
        Temperature of the liquid, -20 to 40 °C [°C]
    dry_extract_g_l : float or array
        Dry extract, 0 to 500 g/L [g/L]

    Returns
    -------
    float or array
        True strength by volume at 20 °C; NaN in arrays where there is none [% vol]

    Raises
    ------
    ValueError
        If a single argument is out of range, or no mixture of ethanol and water is left.

    Source
    ------
    As `apparent_strength`, read the other way.

    Examples
    --------
    >>> round(true_strength(948.05, 20.0, 0.0), 2)  # OIML R 22, Table IVa: 40 % vol
    40.0
    >>> round(true_strength(948.05, 20.0, 10.0), 1)
    42.3
    """
    return _true_strength(density_kg_m3, temperature_c, dry_extract_g_l, EXTRACT_VOLUME_ML_PER_G)


def u_true_strength(
    density_kg_m3: ArrayLike,
    u_density_kg_m3: ArrayLike,
    temperature_c: ArrayLike,
    u_temperature_c: ArrayLike,
    dry_extract_g_l: ArrayLike,
    u_dry_extract_g_l: ArrayLike,
) -> FloatOrArray:
    """Standard uncertainty of a true strength that was estimated from density and extract.

    Parameters
    ----------
    density_kg_m3, u_density_kg_m3 : float or array
        Density in vacuo of the liquid, and its standard uncertainty [kg/m3]
    temperature_c, u_temperature_c : float or array
        Temperature, and its standard uncertainty [°C]
    dry_extract_g_l, u_dry_extract_g_l : float or array
        Dry extract, and its standard uncertainty [g/L]

    Returns
    -------
    float or array
        Standard uncertainty of the true strength, that of the extract's own volume included [% vol]

    Raises
    ------
    ValueError
        If an uncertainty is negative.

    Source
    ------
    JCGM 100:2008 (GUM), 5.1.2, equation (10).

    Examples
    --------
    >>> round(u_true_strength(948.05, 0.1, 20.0, 0.3, 20.0, 0.4), 1)
    0.6
    """
    values = [density_kg_m3, temperature_c, dry_extract_g_l, EXTRACT_VOLUME_ML_PER_G]
    return propagate(
        _true_strength, values, [u_density_kg_m3, u_temperature_c, u_dry_extract_g_l, U_EXTRACT_VOLUME_ML_PER_G]
    )


def _true_strength(
    density_kg_m3: ArrayLike, temperature_c: ArrayLike, dry_extract_g_l: ArrayLike, extract_volume_ml_per_g: ArrayLike
) -> FloatOrArray:
    extract = in_range(dry_extract_g_l, *EXTRACT_RANGE_G_L, "dry extract", "g/L")
    free = 1.0 - extract * np.asarray(extract_volume_ml_per_g, dtype=float) / 1000.0
    spirit = (np.asarray(density_kg_m3, dtype=float) - extract) / free
    return as_given(np.asarray(strength_from_density(spirit, temperature_c)) * free)
