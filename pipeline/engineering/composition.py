"""Composition of ethanol-water mixtures by moles, by mass and by volume."""

from numpy.typing import ArrayLike

from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given, in_range
from gaugebook.pipeline.engineering.strength import (
    mass_fraction_from_volume_strength,
    volume_strength_from_mass_fraction,
)

MOLAR_MASS_ETHANOL_G_MOL = 46.068  # from the standard atomic weights
MOLAR_MASS_WATER_G_MOL = 18.015


def mole_from_mass_fraction(mass_fraction: ArrayLike) -> FloatOrArray:
    """Mole fraction of ethanol from its mass fraction.

    Parameters
    ----------
    mass_fraction : float or array
        Mass of ethanol over mass of mixture [kg/kg]

    Returns
    -------
    float or array
        Moles of ethanol over moles of mixture [mol/mol]

    Raises
    ------
    ValueError
        If the mass fraction lies outside 0 to 1.

    Source
    ------
    Definition; molar masses from the standard atomic weights.

    Examples
    --------
    >>> round(mole_from_mass_fraction(0.9558), 4)  # the azeotrope, printed 0.8943
    0.8943
    """
    w = in_range(mass_fraction, 0.0, 1.0, "mass fraction", "kg/kg")
    ethanol, water = w / MOLAR_MASS_ETHANOL_G_MOL, (1.0 - w) / MOLAR_MASS_WATER_G_MOL
    return as_given(ethanol / (ethanol + water))


def mass_from_mole_fraction(mole_fraction: ArrayLike) -> FloatOrArray:
    """Mass fraction of ethanol from its mole fraction.

    Parameters
    ----------
    mole_fraction : float or array
        Moles of ethanol over moles of mixture [mol/mol]

    Returns
    -------
    float or array
        Mass of ethanol over mass of mixture [kg/kg]

    Raises
    ------
    ValueError
        If the mole fraction lies outside 0 to 1.

    Source
    ------
    Definition; molar masses from the standard atomic weights.

    Examples
    --------
    >>> round(mass_from_mole_fraction(0.8943), 4)
    0.9558
    """
    x = in_range(mole_fraction, 0.0, 1.0, "mole fraction", "mol/mol")
    ethanol, water = x * MOLAR_MASS_ETHANOL_G_MOL, (1.0 - x) * MOLAR_MASS_WATER_G_MOL
    return as_given(ethanol / (ethanol + water))


def mole_fraction_from_strength(strength_pct_vol: ArrayLike) -> FloatOrArray:
    """Mole fraction of ethanol in spirit of a strength by volume.

    Parameters
    ----------
    strength_pct_vol : float or array
        Strength by volume at 20 °C [% vol]

    Returns
    -------
    float or array
        Moles of ethanol over moles of mixture [mol/mol]

    Raises
    ------
    ValueError
        If the strength lies outside 0 to 100 % vol.

    Source
    ------
    OIML R 22 (1975), Table IVb, and the molar masses.

    Examples
    --------
    >>> round(mole_fraction_from_strength(97.19), 3)
    0.894
    """
    return mole_from_mass_fraction(mass_fraction_from_volume_strength(strength_pct_vol))


def strength_from_mole_fraction(mole_fraction: ArrayLike) -> FloatOrArray:
    """Strength by volume at 20 °C of a mixture known by its mole fraction.

    Parameters
    ----------
    mole_fraction : float or array
        Moles of ethanol over moles of mixture [mol/mol]

    Returns
    -------
    float or array
        Strength by volume at 20 °C [% vol]

    Raises
    ------
    ValueError
        If the mole fraction lies outside 0 to 1.

    Source
    ------
    OIML R 22 (1975), Table IIIb, and the molar masses.

    Examples
    --------
    >>> round(strength_from_mole_fraction(0.8943), 2)
    97.19
    """
    return volume_strength_from_mass_fraction(mass_from_mole_fraction(mole_fraction))
