"""Mixtures of ethanol and water: strength by mass, by volume at 20 °C, and the density of both."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.engineering import r22
from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given, in_range
from gaugebook.pipeline.engineering.ethanol_water import DENSITY_ETHANOL_20C, TEMPERATURE_RANGE_C, liquid_or_nan

Array = NDArray[np.float64]


def _liquid(w: Array, t: Array, density_kg_m3: Array) -> Array:
    """Refuse densities that no liquid mixture has at their temperature; `w` is NaN where none has."""
    shape = np.broadcast_shapes(np.shape(density_kg_m3), np.shape(t))
    if shape == () and np.isnan(w):
        water, ethanol = r22.density(np.array([0.0, 1.0]), np.array([t, t]))
        raise ValueError(
            f"no mixture of ethanol and water has a density of {density_kg_m3:.8g} kg/m3 at {t:.6g} °C; "
            f"expected {ethanol:.3f} to {water:.3f} kg/m3"
        )
    return liquid_or_nan(w, t)


def volume_strength_from_mass_fraction(mass_fraction: ArrayLike) -> FloatOrArray:
    """Alcoholic strength by volume at 20 °C of a mixture known by mass.

    Parameters
    ----------
    mass_fraction : float or array
        Mass of ethanol over mass of mixture [kg/kg]

    Returns
    -------
    float or array
        Strength by volume at 20 °C [% vol]

    Raises
    ------
    ValueError
        If the mass fraction lies outside 0 to 1.

    Source
    ------
    OIML R 22 (1975), Table IIIb: q = p rho(p, 20 °C) / rho(1, 20 °C).

    Examples
    --------
    >>> round(volume_strength_from_mass_fraction(0.30), 2)  # Table IIIb prints 36.25
    36.25
    """
    w = in_range(mass_fraction, 0.0, 1.0, "mass fraction", "kg/kg")
    return as_given(r22.in_blocks(lambda p: p * r22.density_at_20c(p) * (100.0 / DENSITY_ETHANOL_20C), w))


def mass_fraction_from_volume_strength(strength_pct_vol: ArrayLike) -> FloatOrArray:
    """Mass fraction of ethanol in a mixture of a given strength by volume at 20 °C.

    Parameters
    ----------
    strength_pct_vol : float or array
        Strength by volume at 20 °C [% vol]

    Returns
    -------
    float or array
        Mass of ethanol over mass of mixture [kg/kg]

    Raises
    ------
    ValueError
        If the strength lies outside 0 to 100 % vol.

    Source
    ------
    OIML R 22 (1975), Table IVb, which inverts Table IIIb.

    Examples
    --------
    >>> round(100 * mass_fraction_from_volume_strength(30.0), 2)  # Table IVb prints 24.61 % mass
    24.61
    """
    q = in_range(strength_pct_vol, 0.0, 100.0, "strength", "% vol")
    return as_given(r22.in_blocks(r22.mass_fraction_of_concentration, q * (DENSITY_ETHANOL_20C / 100.0)))


def mass_fraction_from_density(density_kg_m3: ArrayLike, temperature_c: ArrayLike) -> FloatOrArray:
    """Mass fraction of ethanol in the mixture that has a density at a temperature.

    Parameters
    ----------
    density_kg_m3 : float or array
        Density in vacuo at the temperature [kg/m3]
    temperature_c : float or array
        Temperature, -20 to 40 °C [°C]

    Returns
    -------
    float or array
        Mass of ethanol over mass of mixture [kg/kg]

    Raises
    ------
    ValueError
        If the temperature lies outside -20 to 40 °C, if no mixture has the density there (0.01 kg/m3
        beyond water or ethanol is taken as theirs), or if the mixture would be frozen.

    Source
    ------
    OIML R 22 (1975), Table VIa, which inverts Table I.

    Examples
    --------
    >>> round(100 * mass_fraction_from_density(950.0, 20.0), 2)  # Table Va prints 32.20 % mass
    32.2
    """
    rho = in_range(density_kg_m3, 0.0, np.inf, "density", "kg/m3")
    t = in_range(temperature_c, *TEMPERATURE_RANGE_C, "temperature", "°C")
    return as_given(_liquid(r22.in_blocks(r22.mass_fraction, rho, t), t, rho))


def strength_from_density(density_kg_m3: ArrayLike, temperature_c: ArrayLike) -> FloatOrArray:
    """Strength by volume at 20 °C from a density in vacuo at the temperature of its measurement.

    Parameters
    ----------
    density_kg_m3 : float or array
        Density in vacuo at the temperature [kg/m3]
    temperature_c : float or array
        Temperature, -20 to 40 °C [°C]

    Returns
    -------
    float or array
        Strength by volume at 20 °C [% vol]

    Raises
    ------
    ValueError
        As `mass_fraction_from_density`.

    Source
    ------
    OIML R 22 (1975), Table VIb.

    Examples
    --------
    >>> round(strength_from_density(990.0, 20.0), 2)  # Table Vb prints 5.79
    5.79
    """
    w = mass_fraction_from_density(density_kg_m3, temperature_c)
    return volume_strength_from_mass_fraction(w)
