"""Weak spirit, wash, stillage and water above 40 °C, where OIML R 22 ends: what their volume is at 20 °C.

What a still leaves behind is dipped hot. Its volume comes to 20 °C by the densities of water and of ethanol on their
own, and by the excess volume of their mixture as the general formula has it at 40 °C. At a mole fraction of ethanol of
0.082, some 22.5 % vol, that excess does not change with temperature; in weaker mixtures it does, by no more than makes
the ethanol expand as the water round it does instead of as pure ethanol. Stronger hot spirit has no value here.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.engineering import r22
from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given, in_range
from gaugebook.pipeline.engineering.ethanol_water import TEMPERATURE_RANGE_C
from gaugebook.pipeline.engineering.gauging import volume_by_densities
from gaugebook.pipeline.engineering.strength import mass_fraction_from_volume_strength

Array = NDArray[np.float64]

HOT_FROM_C, HOT_TO_C = TEMPERATURE_RANGE_C[1], 100.0
MOST_MASS_FRACTION = 0.186  # mole fraction 0.082: Marsh and Richards (1980), see `hot_density`
MOST_STRENGTH_PCT_VOL = 22.5  # the same by volume, rounded down

# Density of water at 101.325 kPa on ITS-90, 0 to 100 °C: the equation of Kell as Bettin and Spieweck give it, its
# numerator from the lowest power up; IP Standard Methods (1998), Appendix G. Stated uncertainty 0.006 kg/m3.
_WATER = (999.83952, 16.952577, -7.9905127e-3, -46.241757e-6, 105.84601e-9, -281.03006e-12)
_WATER_DENOMINATOR = 16.887236e-3

# Density of liquid ethanol at saturation, as CoolProp 8.0 computes it: Schroeder, Penoncello and Schroeder, J. Phys.
# Chem. Ref. Data 43 (2014) 043102.
_ETHANOL_C = (40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0)
_ETHANOL_KG_M3 = (772.008, 763.111, 753.992, 744.592, 734.846, 724.683, 714.017)

# What is dissolved and suspended expands otherwise than water: so much of the expansion is not known (common practice).
_OF_EXPANSION = 0.05


def water_density(temperature_c: ArrayLike) -> FloatOrArray:
    """Density of water from 0 to 100 °C.

    Parameters
    ----------
    temperature_c : float or array
        Temperature on ITS-90, 0 to 100 °C [°C]

    Returns
    -------
    float or array
        Density in vacuo at 101.325 kPa [kg/m3]

    Raises
    ------
    ValueError
        If the temperature lies outside 0 to 100 °C.

    Source
    ------
    H. Bettin and F. Spieweck, PTB-Mitteilungen 100 (1990) 195: G. S. Kell, J. Chem. Eng. Data 20 (1975) 97, on ITS-90.

    Examples
    --------
    >>> round(water_density(60.0), 1)
    983.2
    """
    t = in_range(temperature_c, 0.0, HOT_TO_C, "temperature", "°C")
    return as_given(np.polynomial.polynomial.polyval(t, _WATER) / (1.0 + _WATER_DENOMINATOR * t))


def hot_density(mass_fraction: ArrayLike, temperature_c: ArrayLike) -> FloatOrArray:
    """Density of a weak mixture of ethanol and water from 40 to 100 °C.

    Parameters
    ----------
    mass_fraction : float or array
        Mass of ethanol over mass of mixture, 0 to 0.186 [kg/kg]
    temperature_c : float or array
        Temperature, 40 to 100 °C [°C]

    Returns
    -------
    float or array
        Density in vacuo [kg/m3]

    Raises
    ------
    ValueError
        If the mass fraction or the temperature is out of range.

    Source
    ------
    OIML R 22 (1975) at 40 °C with the expansion of water (Bettin and Spieweck) and of ethanol (Schroeder and others);
    K. N. Marsh and A. E. Richards, Aust. J. Chem. 33 (1980) 2121: the excess volume at a mole fraction of 0.082 is
    -0.420 cm3/mol from 278 to 338 K.

    Examples
    --------
    >>> round(hot_density(0.0, 80.0), 1), round(hot_density(0.05, 40.0), 1)
    (971.8, 983.1)
    """
    w, t = _checked(mass_fraction, temperature_c)
    return as_given(1.0 / (_volume_at_40c(w) + (1.0 - w) * _water_grows(t) + w * _ethanol_grows(t)))


def hot_volume_at_20c(
    volume_at_t_l: ArrayLike,
    temperature_c: ArrayLike,
    strength_pct_vol: ArrayLike,
    vessel_expansion_per_k: ArrayLike = 0.0,
) -> FloatOrArray:
    """Volume at 20 °C of weak spirit, wash, stillage or water gauged from 40 to 100 °C.

    Parameters
    ----------
    volume_at_t_l : float or array
        Volume as the vessel's scale shows it; the scale holds at 20 °C [L]
    temperature_c : float or array
        Temperature of liquid and vessel, 40 to 100 °C [°C]
    strength_pct_vol : float or array
        Strength by volume at 20 °C, 0 to 22.5 % vol [% vol]
    vessel_expansion_per_k : float or array
        Cubic expansion of the vessel [1/K]

    Returns
    -------
    float or array
        Volume at 20 °C [L]

    Raises
    ------
    ValueError
        If the volume is negative, or strength or temperature is out of range.

    Source
    ------
    As `hot_density`, and OIML R 22 (1975) at 20 °C.

    Examples
    --------
    >>> round(hot_volume_at_20c(1000.0, 80.0, 0.0), 1)
    973.5
    """
    strength = in_range(strength_pct_vol, 0.0, MOST_STRENGTH_PCT_VOL, "strength above 40 °C", "% vol")
    w = np.asarray(mass_fraction_from_volume_strength(strength))
    ratio = np.asarray(hot_density(w, temperature_c)) / r22.in_blocks(r22.density_at_20c, w)
    return volume_by_densities(volume_at_t_l, temperature_c, ratio, vessel_expansion_per_k)


def u_of_expansion(temperature_c: ArrayLike, strength_pct_vol: ArrayLike) -> FloatOrArray:
    """Standard uncertainty of a hot volume brought to 20 °C, by how the liquid expands alone, as a part of it.

    How the excess volume changes above 40 °C lies anywhere between none and as much as makes the ethanol expand as the
    water does (rectangular, JCGM 100:2008, 4.3.7); what is dissolved or suspended is not known in a twentieth of the
    whole expansion (common practice).

    Parameters
    ----------
    temperature_c : float or array
        Temperature, 40 to 100 °C [°C]
    strength_pct_vol : float or array
        Strength by volume at 20 °C, 0 to 22.5 % vol [% vol]

    Returns
    -------
    float or array
        Relative standard uncertainty [-]

    Raises
    ------
    ValueError
        If strength or temperature is out of range.

    Source
    ------
    As `hot_density`; JCGM 100:2008 (GUM), 4.3.7.

    Examples
    --------
    >>> [round(u_of_expansion(80.0, strength), 4) for strength in (0.0, 10.0)]
    [0.0014, 0.0024]
    """
    strength = in_range(strength_pct_vol, 0.0, MOST_STRENGTH_PCT_VOL, "strength above 40 °C", "% vol")
    w, t = _checked(mass_fraction_from_volume_strength(strength), temperature_c)
    hot = 1.0 / np.asarray(hot_density(w, t))
    as_water = _volume_at_40c(w) * np.asarray(water_density(HOT_FROM_C)) / np.asarray(water_density(t))
    expansion = hot * r22.in_blocks(r22.density_at_20c, w) - 1.0
    return as_given(np.hypot((hot - as_water) / hot / np.sqrt(3.0), _OF_EXPANSION * expansion))


def _checked(mass_fraction: ArrayLike, temperature_c: ArrayLike) -> tuple[Array, Array]:
    w = in_range(mass_fraction, 0.0, MOST_MASS_FRACTION, "mass fraction above 40 °C", "kg/kg")
    t = in_range(temperature_c, HOT_FROM_C, HOT_TO_C, "temperature", "°C")
    return w, t


def _volume_at_40c(w: Array) -> Array:
    """Specific volume by the general formula where it ends [m3/kg]."""
    return 1.0 / r22.in_blocks(r22.density, w, HOT_FROM_C)


def _water_grows(t: Array) -> Array:
    """By how much a kilogram of water is larger than at 40 °C [m3/kg]."""
    return 1.0 / np.asarray(water_density(t)) - 1.0 / np.asarray(water_density(HOT_FROM_C))


def _ethanol_grows(t: Array) -> Array:
    """By how much a kilogram of ethanol is larger than at 40 °C [m3/kg]."""
    return 1.0 / np.interp(t, _ETHANOL_C, _ETHANOL_KG_M3) - 1.0 / _ETHANOL_KG_M3[0]
