"""Strength against specific gravity, with spirit and water at one temperature.

Laboratories state specific gravity at 20/20 °C; the United States at 60/60 °F, with both liquids weighed
in air.
"""

import numpy as np
from numpy.typing import ArrayLike

from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given, in_range
from gaugebook.pipeline.engineering.ethanol_water import AIR_DENSITY_KG_M3, density
from gaugebook.pipeline.engineering.strength import mass_fraction_from_volume_strength, strength_from_density


def _air(in_air: bool) -> float:
    return AIR_DENSITY_KG_M3 if in_air else 0.0


def specific_gravity(
    strength_pct_vol: ArrayLike, reference_temperature_c: ArrayLike = 20.0, in_air: bool = True
) -> FloatOrArray:
    """Density of spirit over that of water at the same temperature.

    Parameters
    ----------
    strength_pct_vol : float or array
        Strength by volume at 20 °C [% vol]
    reference_temperature_c : float or array
        Temperature of both liquids, 20 for 20/20 °C, 15.556 for 60/60 °F [°C]
    in_air : bool
        True for apparent masses in air of 1.2 kg/m3, False for true masses [-]

    Returns
    -------
    float or array
        Specific gravity [-]

    Raises
    ------
    ValueError
        If the strength or the temperature is out of range or either liquid would be frozen.

    Source
    ------
    Definition; densities of OIML R 22 (1975).

    Examples
    --------
    >>> round(specific_gravity(25.0, 25.0), 4)
    0.9686
    """
    air = _air(in_air)
    spirit = np.asarray(density(mass_fraction_from_volume_strength(strength_pct_vol), reference_temperature_c))
    return as_given((spirit - air) / (np.asarray(density(0.0, reference_temperature_c)) - air))


def strength_from_specific_gravity(
    specific_gravity: ArrayLike, reference_temperature_c: ArrayLike = 20.0, in_air: bool = True
) -> FloatOrArray:
    """Strength by volume at 20 °C from a specific gravity.

    Parameters
    ----------
    specific_gravity : float or array
        Density of the spirit over that of water at the same temperature [-]
    reference_temperature_c : float or array
        Temperature of both liquids, 20 for 20/20 °C, 15.556 for 60/60 °F [°C]
    in_air : bool
        True for apparent masses in air of 1.2 kg/m3, False for true masses [-]

    Returns
    -------
    float or array
        Strength by volume at 20 °C [% vol]

    Raises
    ------
    ValueError
        If the temperature is out of range or no mixture has that specific gravity.

    Source
    ------
    Definition; densities of OIML R 22 (1975).

    Examples
    --------
    >>> round(strength_from_specific_gravity(specific_gravity(40.0)), 6)
    40.0
    """
    air = _air(in_air)
    sg = in_range(specific_gravity, 0.0, 2.0, "specific gravity", "(spirit/water)")
    water = np.asarray(density(0.0, reference_temperature_c))
    return strength_from_density(sg * (water - air) + air, reference_temperature_c)
