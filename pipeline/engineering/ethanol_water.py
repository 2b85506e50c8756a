"""Density and freezing point of ethanol-water mixtures.

Everything that gauges spirit stands on the density formula of OIML R 22. It holds from -20 to 40 °C,
for liquid mixtures: below the freezing line no value is given.

The formula counts temperature on the scale of its day, IPTS-68. A thermometer of today reads ITS-90,
which is lower by 0.005 °C at 20 °C; ignoring that shifts a strength by about 0.002 % vol, so readings
are used as they come. `ipts68_from_its90` converts where that matters.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.engineering import r22
from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given, in_range

TEMPERATURE_RANGE_C = (-20.0, 40.0)  # OIML R 22: where the general formula holds

DENSITY_WATER_20C = float(r22.density_at_20c(np.array([0.0]))[0])  # 998.20123 kg/m3 in vacuo
DENSITY_ETHANOL_20C = float(r22.density_at_20c(np.array([1.0]))[0])  # 789.23912 kg/m3 in vacuo

AIR_DENSITY_KG_M3 = 1.2  # OIML R 22, Table XII
WEIGHTS_DENSITY_KG_M3 = 8000.0  # OIML R 22, Table XII

# Freezing point of ethanol-water mixtures, % mass and °C: CRC Handbook of Chemistry and Physics,
# "Concentrative properties of aqueous solutions" (from memory). Official alcoholmeter tables print cells
# as near to this line as 13 % vol at -6 °C; Lange's Handbook, Table 5.13, lies up to 1.6 K above it.
_FREEZING_PCT_MASS = (
    0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 14.0, 16.0, 18.0,
    20.0, 22.0, 24.0, 26.0, 28.0, 30.0, 32.0, 34.0, 36.0, 38.0, 40.0,
)  # fmt: skip
_FREEZING_C = (
    0.0, -0.40, -0.81, -1.23, -1.65, -2.09, -2.54, -2.99, -3.47, -3.96, -4.47, -5.56, -6.73, -8.01, -9.40,
    -10.92, -12.60, -14.47, -16.41, -18.43, -20.47, -22.44, -24.27, -25.98, -27.62, -29.26,
)  # fmt: skip


def freezing_temperature(mass_fraction: ArrayLike) -> FloatOrArray:
    """Temperature at which ice begins to form, interpolated in a handbook table.

    Beyond 40 % mass the mixture freezes far below the range of the density formula; the last value of
    the table, -29.26 °C, is then given as an upper bound.

    Parameters
    ----------
    mass_fraction : float or array
        Mass of ethanol over mass of mixture [kg/kg]

    Returns
    -------
    float or array
        Freezing temperature [°C]

    Raises
    ------
    ValueError
        If the mass fraction lies outside 0 to 1.

    Source
    ------
    CRC Handbook of Chemistry and Physics, "Concentrative properties of aqueous solutions" (from memory).

    Examples
    --------
    >>> freezing_temperature(0.1)
    -4.47
    """
    w = in_range(mass_fraction, 0.0, 1.0, "mass fraction", "kg/kg")
    return as_given(np.interp(100.0 * w, _FREEZING_PCT_MASS, _FREEZING_C))


def least_liquid_mass_fraction(temperature_c: ArrayLike) -> FloatOrArray:
    """Weakest mixture that is still liquid at a temperature: the freezing line read the other way.

    Parameters
    ----------
    temperature_c : float or array
        Temperature [°C]

    Returns
    -------
    float or array
        Mass fraction of ethanol on the freezing line, 0 from 0 °C upwards [kg/kg]

    Raises
    ------
    ValueError
        If the temperature lies outside -20 to 40 °C.

    Source
    ------
    CRC Handbook of Chemistry and Physics, "Concentrative properties of aqueous solutions" (from memory).

    Examples
    --------
    >>> least_liquid_mass_fraction(-4.47)
    0.1
    """
    t = in_range(temperature_c, *TEMPERATURE_RANGE_C, "temperature", "°C")
    return as_given(np.interp(t, _FREEZING_C[::-1], _FREEZING_PCT_MASS[::-1]) / 100.0)


def liquid_or_nan(mass_fraction: ArrayLike, temperature_c: ArrayLike) -> NDArray[np.float64]:
    """Mass fractions of the mixtures that are liquid; the frozen ones are refused.

    Parameters
    ----------
    mass_fraction : float or array
        Mass of ethanol over mass of mixture [kg/kg]
    temperature_c : float or array
        Temperature [°C]

    Returns
    -------
    array
        The mass fractions, NaN where the mixture would be frozen [kg/kg]

    Raises
    ------
    ValueError
        If both are single values and the mixture would be frozen.

    Source
    ------
    CRC Handbook of Chemistry and Physics, "Concentrative properties of aqueous solutions" (from memory).

    Examples
    --------
    >>> liquid_or_nan([0.05, 0.2], -5.0)
    array([nan, 0.2])
    """
    w, t = np.asarray(mass_fraction, dtype=float), np.asarray(temperature_c, dtype=float)
    if not (t < 0.0).any():
        return w
    least = np.interp(t, _FREEZING_C[::-1], _FREEZING_PCT_MASS[::-1]) / 100.0
    frozen = w < least - 1e-9
    if frozen.ndim == 0 and frozen:
        raise ValueError(
            f"a mixture of mass fraction {w:.6g} kg/kg is frozen at {t:.6g} °C; "
            f"expected {least:.4f} to 1 kg/kg at that temperature"
        )
    return np.where(frozen, np.nan, w)


def density(mass_fraction: ArrayLike, temperature_c: ArrayLike) -> FloatOrArray:
    """Density in vacuo of a mixture of ethanol and water.

    Parameters
    ----------
    mass_fraction : float or array
        Mass of ethanol over mass of mixture [kg/kg]
    temperature_c : float or array
        Temperature, -20 to 40 °C [°C]

    Returns
    -------
    float or array
        Density in vacuo [kg/m3]

    Raises
    ------
    ValueError
        If the mass fraction lies outside 0 to 1, the temperature outside -20 to 40 °C, or the mixture
        would be frozen.

    Source
    ------
    OIML R 22 (1975), general formula and Table I; the same in the annex of Directive 76/766/EEC.

    Examples
    --------
    >>> round(density(0.4, 25.0), 2)  # Table I prints 931.42
    931.42
    """
    w = in_range(mass_fraction, 0.0, 1.0, "mass fraction", "kg/kg")
    t = in_range(temperature_c, *TEMPERATURE_RANGE_C, "temperature", "°C")
    return as_given(r22.in_blocks(r22.density, liquid_or_nan(w, t), t))


def density_slopes(mass_fraction: ArrayLike, temperature_c: ArrayLike) -> tuple[FloatOrArray, FloatOrArray]:
    """How the density changes with mass fraction and with temperature.

    Parameters
    ----------
    mass_fraction : float or array
        Mass of ethanol over mass of mixture [kg/kg]
    temperature_c : float or array
        Temperature, -20 to 40 °C [°C]

    Returns
    -------
    tuple of (float or array)
        Slope in mass fraction [kg/m3] and slope in temperature [kg/(m3 K)]

    Raises
    ------
    ValueError
        As `density`.

    Source
    ------
    OIML R 22 (1975), general formula, differentiated.

    Examples
    --------
    >>> in_mass_fraction, in_temperature = density_slopes(0.4, 20.0)
    >>> round(in_mass_fraction, 1), round(in_temperature, 3)
    (-203.1, -0.737)
    """
    w = in_range(mass_fraction, 0.0, 1.0, "mass fraction", "kg/kg")
    t = in_range(temperature_c, *TEMPERATURE_RANGE_C, "temperature", "°C")
    w, t = np.broadcast_arrays(liquid_or_nan(w, t), t)
    in_w, in_t = r22.density_slopes(w, t)
    return as_given(in_w), as_given(in_t)


def density_in_air(density_kg_m3: ArrayLike) -> FloatOrArray:
    """Density in air of a liquid: what a balance that was set with steel weights makes of it.

    United Kingdom duty goes by density in air at 20 °C; taking one density for the other costs about
    0.65 % vol.

    Parameters
    ----------
    density_kg_m3 : float or array
        Density in vacuo [kg/m3]

    Returns
    -------
    float or array
        Density in air of 1.2 kg/m3, against weights of 8000 kg/m3 [kg/m3]

    Raises
    ------
    ValueError
        If the density is not positive.

    Source
    ------
    OIML R 22 (1975), Table XII (both densities); SI 2023/806, schedule 2 (strength from density in air).

    Examples
    --------
    >>> round(density_in_air(948.05), 2)  # 40 % vol in the United Kingdom's tables: 946.99
    946.99
    """
    rho = in_range(density_kg_m3, 1e-6, np.inf, "density", "kg/m3")
    return as_given((rho - AIR_DENSITY_KG_M3) / (1.0 - AIR_DENSITY_KG_M3 / WEIGHTS_DENSITY_KG_M3))


def density_in_vacuo(density_in_air_kg_m3: ArrayLike) -> FloatOrArray:
    """Density in vacuo of a liquid whose density in air is known.

    Parameters
    ----------
    density_in_air_kg_m3 : float or array
        Density in air of 1.2 kg/m3, against weights of 8000 kg/m3 [kg/m3]

    Returns
    -------
    float or array
        Density in vacuo [kg/m3]

    Raises
    ------
    ValueError
        If the density is not positive.

    Source
    ------
    OIML R 22 (1975), Table XII (both densities); SI 2023/806, schedule 2 (strength from density in air).

    Examples
    --------
    >>> round(density_in_vacuo(946.99), 2)
    948.05
    """
    rho = in_range(density_in_air_kg_m3, 1e-6, np.inf, "density in air", "kg/m3")
    return as_given(rho * (1.0 - AIR_DENSITY_KG_M3 / WEIGHTS_DENSITY_KG_M3) + AIR_DENSITY_KG_M3)


def ipts68_from_its90(temperature_c: ArrayLike) -> FloatOrArray:
    """Temperature on the scale that OIML R 22 counts on, from one on today's scale.

    Parameters
    ----------
    temperature_c : float or array
        Temperature on ITS-90 [°C]

    Returns
    -------
    float or array
        Temperature on IPTS-68 [°C]

    Raises
    ------
    ValueError
        If the temperature lies outside -20 to 40 °C, where the proportion is good to 0.0005 °C.

    Source
    ------
    P. M. Saunders, WOCE Newsletter 10 (1990): t68 = 1.00024 t90 (from memory; the official differences,
    Preston-Thomas, Metrologia 27 (1990) 3, Table 6, give 0.005 °C at 20 °C).

    Examples
    --------
    >>> round(ipts68_from_its90(20.0), 4)
    20.0048
    """
    return as_given(1.00024 * in_range(temperature_c, *TEMPERATURE_RANGE_C, "temperature", "°C"))
