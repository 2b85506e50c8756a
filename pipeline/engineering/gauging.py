"""Volume at 20 °C and alcohol from what a tank or a balance shows.

Spirit and vessel both shrink on cooling. A volume at 20 °C comes through the densities of the spirit at
the two temperatures and the vessel's own expansion; a mass weighed in air is first freed of the buoyancy
of the air.
"""

import numpy as np
from numpy.typing import ArrayLike

from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given, in_range
from gaugebook.pipeline.engineering.ethanol_water import (
    AIR_DENSITY_KG_M3,
    DENSITY_ETHANOL_20C,
    WEIGHTS_DENSITY_KG_M3,
    density,
)
from gaugebook.pipeline.engineering.strength import mass_fraction_from_volume_strength

STEEL_EXPANSION_PER_K = 36e-6  # cubic, mild steel: OIML R 22, Table XI
STAINLESS_STEEL_EXPANSION_PER_K = 51e-6  # cubic, austenitic: common practice (17e-6 linear, from memory)


def volume_at_20c(
    volume_at_t_l: ArrayLike,
    temperature_c: ArrayLike,
    strength_pct_vol: ArrayLike,
    vessel_expansion_per_k: ArrayLike = 0.0,
) -> FloatOrArray:
    """Volume at 20 °C of spirit gauged at another temperature.

    Parameters
    ----------
    volume_at_t_l : float or array
        Volume as the vessel's scale or table shows it; the scale holds at 20 °C [L]
    temperature_c : float or array
        Temperature of spirit and vessel, -20 to 40 °C [°C]
    strength_pct_vol : float or array
        Strength by volume at 20 °C [% vol]
    vessel_expansion_per_k : float or array
        Cubic expansion of the vessel [1/K]

    Returns
    -------
    float or array
        Volume of the spirit at 20 °C [L]

    Raises
    ------
    ValueError
        If the volume is negative, the strength or the temperature out of range, or the spirit frozen.

    Source
    ------
    OIML R 22 (1975), general formula and Table XI (measures of steel, 36e-6 per kelvin).

    Examples
    --------
    >>> round(volume_at_20c(1000.0, 30.0, 96.0), 1)
    989.2
    """
    w = mass_fraction_from_volume_strength(strength_pct_vol)
    ratio = density(w, temperature_c) / np.asarray(density(w, 20.0))
    return volume_by_densities(volume_at_t_l, temperature_c, ratio, vessel_expansion_per_k)


def volume_by_densities(
    volume_at_t_l: ArrayLike,
    temperature_c: ArrayLike,
    density_ratio: ArrayLike,
    vessel_expansion_per_k: ArrayLike = 0.0,
) -> FloatOrArray:
    """Volume at 20 °C of any liquid whose densities are known.

    Parameters
    ----------
    volume_at_t_l : float or array
        Volume as the vessel's scale or table shows it; the scale holds at 20 °C [L]
    temperature_c : float or array
        Temperature of liquid and vessel [°C]
    density_ratio : float or array
        Density of the liquid at that temperature over that at 20 °C [-]
    vessel_expansion_per_k : float or array
        Cubic expansion of the vessel [1/K]

    Returns
    -------
    float or array
        Volume of the liquid at 20 °C [L]

    Raises
    ------
    ValueError
        If the volume is negative, or the vessel's expansion outside 0 to 1e-3 per kelvin.

    Source
    ------
    The mass is the same at both temperatures; OIML R 22 (1975), Table XI, for the vessel.

    Examples
    --------
    >>> round(volume_by_densities(1000.0, 30.0, 0.99, 36e-6), 1)
    990.4
    """
    volume = in_range(volume_at_t_l, 0.0, np.inf, "volume", "L")
    expansion = in_range(vessel_expansion_per_k, 0.0, 1e-3, "vessel expansion", "1/K")
    return as_given(
        volume * (1.0 + expansion * (np.asarray(temperature_c, dtype=float) - 20.0)) * np.asarray(density_ratio)
    )


def volume_at_temperature(
    volume_l: ArrayLike,
    temperature_c: ArrayLike,
    strength_pct_vol: ArrayLike,
    vessel_expansion_per_k: ArrayLike = 0.0,
) -> FloatOrArray:
    """What a vessel's scale shows at a temperature for a volume known at 20 °C.

    Parameters
    ----------
    volume_l : float or array
        Volume of the spirit at 20 °C [L]
    temperature_c : float or array
        Temperature of spirit and vessel, -20 to 40 °C [°C]
    strength_pct_vol : float or array
        Strength by volume at 20 °C [% vol]
    vessel_expansion_per_k : float or array
        Cubic expansion of the vessel [1/K]

    Returns
    -------
    float or array
        Volume on the vessel's scale [L]

    Raises
    ------
    ValueError
        As `volume_at_20c`.

    Source
    ------
    OIML R 22 (1975), general formula and Table XI, the inverse of `volume_at_20c`.

    Examples
    --------
    >>> round(volume_at_temperature(volume_at_20c(1000.0, 30.0, 96.0), 30.0, 96.0), 6)
    1000.0
    """
    volume = in_range(volume_l, 0.0, np.inf, "volume", "L")
    return as_given(volume / volume_at_20c(1.0, temperature_c, strength_pct_vol, vessel_expansion_per_k))


def mass_from_weighing(
    mass_kg: ArrayLike, strength_pct_vol: ArrayLike, temperature_c: ArrayLike = 20.0
) -> FloatOrArray:
    """Mass of spirit from the indication of a balance in air: the buoyancy of the air put back.

    Parameters
    ----------
    mass_kg : float or array
        Indication of the balance, in air of 1.2 kg/m3, set with weights of 8000 kg/m3 [kg]
    strength_pct_vol : float or array
        Strength by volume at 20 °C [% vol]
    temperature_c : float or array
        Temperature of the spirit when weighed, -20 to 40 °C [°C]

    Returns
    -------
    float or array
        Mass [kg]

    Raises
    ------
    ValueError
        If the mass is negative, the strength or the temperature out of range, or the spirit frozen.

    Source
    ------
    OIML R 22 (1975), Table XII: m = W (1 - 1.2 (1/8000 - 1/rho)), here without its first-order shortening.

    Examples
    --------
    >>> round(mass_from_weighing(100.0, 40.0), 3)
    100.112
    """
    weighed = in_range(mass_kg, 0.0, np.inf, "mass", "kg")
    rho = np.asarray(density(mass_fraction_from_volume_strength(strength_pct_vol), temperature_c))
    buoyancy = (1.0 - AIR_DENSITY_KG_M3 / WEIGHTS_DENSITY_KG_M3) / (1.0 - AIR_DENSITY_KG_M3 / rho)
    return as_given(weighed * buoyancy)


def volume_from_mass(mass_kg: ArrayLike, strength_pct_vol: ArrayLike, temperature_c: ArrayLike = 20.0) -> FloatOrArray:
    """Volume at 20 °C of spirit weighed in air.

    Parameters
    ----------
    mass_kg : float or array
        Indication of the balance in air [kg]
    strength_pct_vol : float or array
        Strength by volume at 20 °C [% vol]
    temperature_c : float or array
        Temperature of the spirit when weighed; it matters for the buoyancy alone [°C]

    Returns
    -------
    float or array
        Volume at 20 °C [L]

    Raises
    ------
    ValueError
        As `mass_from_weighing`.

    Source
    ------
    OIML R 22 (1975), Tables IVa and XII.

    Examples
    --------
    >>> round(volume_from_mass(946.99, 40.0), 1)  # United Kingdom density in air at 20 °C: 946.99 kg/m3
    1000.0
    """
    rho = density(mass_fraction_from_volume_strength(strength_pct_vol), 20.0)
    return as_given(1000.0 * mass_from_weighing(mass_kg, strength_pct_vol, temperature_c) / np.asarray(rho))


def mass_from_volume(volume_l: ArrayLike, strength_pct_vol: ArrayLike, temperature_c: ArrayLike = 20.0) -> FloatOrArray:
    """What a balance in air shows for a volume of spirit at 20 °C: the inverse of `volume_from_mass`.

    Parameters
    ----------
    volume_l : float or array
        Volume at 20 °C [L]
    strength_pct_vol : float or array
        Strength by volume at 20 °C [% vol]
    temperature_c : float or array
        Temperature of the spirit when weighed [°C]

    Returns
    -------
    float or array
        Indication of the balance in air [kg]

    Raises
    ------
    ValueError
        If the volume is negative, the strength or the temperature out of range, or the spirit frozen.

    Source
    ------
    OIML R 22 (1975), Tables IVa and XII.

    Examples
    --------
    >>> round(mass_from_volume(1000.0, 40.0), 2)
    946.99
    """
    volume = in_range(volume_l, 0.0, np.inf, "volume", "L")
    return as_given(volume / volume_from_mass(1.0, strength_pct_vol, temperature_c))


def alcohol_from_mass(mass_kg: ArrayLike, strength_pct_vol: ArrayLike, temperature_c: ArrayLike = 20.0) -> FloatOrArray:
    """Litres of pure alcohol in spirit weighed in air.

    Parameters
    ----------
    mass_kg : float or array
        Indication of the balance in air [kg]
    strength_pct_vol : float or array
        Strength by volume at 20 °C [% vol]
    temperature_c : float or array
        Temperature of the spirit when weighed [°C]

    Returns
    -------
    float or array
        Litres of pure alcohol at 20 °C [L]

    Raises
    ------
    ValueError
        As `mass_from_weighing`.

    Source
    ------
    OIML R 22 (1975), Table XII: 100 p (1000/rho_ethanol) (1 - 1.2 (1/8000 - 1/rho)) in 100 kg.

    Examples
    --------
    >>> round(alcohol_from_mass(100.0, 40.0), 2)
    42.24
    """
    w = np.asarray(mass_fraction_from_volume_strength(strength_pct_vol))
    mass = mass_from_weighing(mass_kg, strength_pct_vol, temperature_c)
    return as_given(1000.0 * w * mass / DENSITY_ETHANOL_20C)


def volume_from_dip(dip_mm: ArrayLike, table_dip_mm: ArrayLike, table_volume_l: ArrayLike) -> FloatOrArray:
    """Volume that a vessel's strapping table gives for a dip, interpolated in a straight line.

    Parameters
    ----------
    dip_mm : float or array
        Dip, or the height read at the gauge glass [mm]
    table_dip_mm : array
        Dips of the table, rising [mm]
    table_volume_l : array
        Volumes of the table, never falling [L]

    Returns
    -------
    float or array
        Volume at the vessel's reference temperature [L]

    Raises
    ------
    ValueError
        If the dip lies outside the table, or the table does not rise.

    Source
    ------
    Linear interpolation of a tank calibration table: common practice.

    Examples
    --------
    >>> volume_from_dip(150.0, [0.0, 100.0, 200.0], [0.0, 80.0, 180.0])
    130.0
    """
    dips, volumes = np.asarray(table_dip_mm, dtype=float), np.asarray(table_volume_l, dtype=float)
    if dips.ndim != 1 or dips.shape != volumes.shape or dips.size < 2:
        raise ValueError(
            f"the strapping table has {dips.size} dips and {volumes.size} volumes; expected equally many, at least 2"
        )
    if not (np.diff(dips) > 0.0).all() or not (np.diff(volumes) >= 0.0).all():
        raise ValueError("the strapping table does not rise; expected rising dips and volumes that never fall")
    dip = in_range(dip_mm, dips[0], dips[-1], "dip", "mm")
    return as_given(np.interp(dip, dips, volumes))
