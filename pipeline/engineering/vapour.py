"""Equilibrium of liquid and vapour of ethanol and water near atmospheric pressure.

Ideal vapour over a liquid whose activity coefficients follow the NRTL equation. Against the handbook
table at 101.325 kPa it stays within 0.55 °C and 0.013 mole fraction, against an independent equation of
state within 0.6 °C from 55 to 190 kPa.

Ethanol vapour is flammable and heavier than air. A figure from here says what equilibrium is, not
that an operation is safe; for that follow local codes and licensed practice.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.engineering.composition import (
    mass_from_mole_fraction,
    mole_fraction_from_strength,
    mole_from_mass_fraction,
    strength_from_mole_fraction,
)
from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given, in_range

__all__ = [
    "Azeotrope",
    "azeotrope",
    "bubble_temperature_c",
    "dew_temperature_c",
    "highest_strength_pct_vol",
    "ideal_stages",
    "liquid_mole_fraction",
    "mass_from_mole_fraction",
    "mole_fraction_from_strength",
    "mole_from_mass_fraction",
    "strength_from_mole_fraction",
    "vapour_mole_fraction",
]

Array = NDArray[np.float64]

STANDARD_PRESSURE_KPA = 101.325
PRESSURE_RANGE_KPA = (50.0, 200.0)

# Antoine, log10(p / mmHg) = A - B / (C + t / °C): Gmehling and Onken, Vapor-Liquid Equilibrium Data
# Collection (DECHEMA), vol. I part 1.
_ANTOINE_ETHANOL = (8.1122, 1592.864, 226.184)
_ANTOINE_WATER = (8.07131, 1730.63, 233.426)
_KPA_PER_MMHG = 101.325 / 760.0

# NRTL (Renon and Prausnitz, AIChE Journal 14 (1968) 135), tau = A + B/T with T in kelvin, ethanol first.
# Fitted to the handbook's table and to azeotropes at 54, 101 and 143 kPa, starting from the set of the
# same collection: tests/reference/make_nrtl_parameters.py. That set itself misses the handbook by 0.8 °C.
_NRTL_A = (-0.0186, 2.1440)
_NRTL_B_K = (98.41, -242.5)
_NRTL_ALPHA = 0.4933

_NEWTON_STEPS = 30
_CONVERGED_K = 1e-10


def _activity_coefficients(x: Array, t: Array) -> tuple[Array, Array]:
    """The NRTL equation for ethanol and for water in the liquid."""
    kelvin = t + 273.15
    tau12, tau21 = (a + b / kelvin for a, b in zip(_NRTL_A, _NRTL_B_K, strict=True))
    g12, g21 = np.exp(-_NRTL_ALPHA * tau12), np.exp(-_NRTL_ALPHA * tau21)
    x2 = 1.0 - x
    around_ethanol, around_water = g21 / (x + x2 * g21), g12 / (x2 + x * g12)
    ethanol = x2**2 * (tau21 * around_ethanol**2 + tau12 * around_water**2 / g12)
    water = x**2 * (tau12 * around_water**2 + tau21 * around_ethanol**2 / g21)
    return np.exp(ethanol), np.exp(water)


def _partial_pressures(x: Array, t: Array) -> tuple[Array, Array]:
    """Partial pressures of ethanol and water over a liquid [kPa]."""
    (a1, b1, c1), (a2, b2, c2) = _ANTOINE_ETHANOL, _ANTOINE_WATER
    gamma1, gamma2 = _activity_coefficients(x, t)
    ethanol = x * gamma1 * 10.0 ** (a1 - b1 / (c1 + t)) * _KPA_PER_MMHG
    water = (1.0 - x) * gamma2 * 10.0 ** (a2 - b2 / (c2 + t)) * _KPA_PER_MMHG
    return ethanol, water


def _judged(mole_fraction: ArrayLike, pressure_kpa: ArrayLike) -> tuple[Array, Array]:
    x = in_range(mole_fraction, 0.0, 1.0, "mole fraction", "mol/mol")
    p = in_range(pressure_kpa, *PRESSURE_RANGE_KPA, "pressure", "kPa")
    x, p = np.broadcast_arrays(x, p)
    return x, p


def _bubble(x: Array, p: Array) -> Array:
    """Boiling temperature by Newton steps on the logarithm of the pressure, which is nearly straight."""
    t = 95.0 - 15.0 * x + 25.0 * np.log(p / STANDARD_PRESSURE_KPA)
    for _ in range(_NEWTON_STEPS):
        pressure, warmer = sum(_partial_pressures(x, t)), sum(_partial_pressures(x, t + 1e-3))
        change = np.log(pressure / p) / (np.log(warmer / pressure) / 1e-3)
        t = t - change
        if not np.nanmax(np.abs(change), initial=0.0) > _CONVERGED_K:
            break
    return t


def bubble_temperature_c(mole_fraction: ArrayLike, pressure_kpa: ArrayLike = STANDARD_PRESSURE_KPA) -> FloatOrArray:
    """Temperature at which a liquid begins to boil.

    Parameters
    ----------
    mole_fraction : float or array
        Mole fraction of ethanol in the liquid [mol/mol]
    pressure_kpa : float or array
        Absolute pressure, 50 to 200 kPa [kPa]

    Returns
    -------
    float or array
        Boiling temperature [°C]

    Raises
    ------
    ValueError
        If the mole fraction lies outside 0 to 1 or the pressure outside 50 to 200 kPa.

    Source
    ------
    NRTL: Renon and Prausnitz, AIChE Journal 14 (1968) 135, and Antoine's equation; fitted to Perry's
    Chemical Engineers' Handbook, 4th edition, p. 13-5.

    Examples
    --------
    >>> round(bubble_temperature_c(0.5079, 101.325), 1)  # the handbook prints 79.8
    79.8
    """
    return as_given(_bubble(*_judged(mole_fraction, pressure_kpa)))


def vapour_mole_fraction(mole_fraction: ArrayLike, pressure_kpa: ArrayLike = STANDARD_PRESSURE_KPA) -> FloatOrArray:
    """Mole fraction of ethanol in the vapour over a boiling liquid.

    Parameters
    ----------
    mole_fraction : float or array
        Mole fraction of ethanol in the liquid [mol/mol]
    pressure_kpa : float or array
        Absolute pressure, 50 to 200 kPa [kPa]

    Returns
    -------
    float or array
        Mole fraction of ethanol in the vapour [mol/mol]

    Raises
    ------
    ValueError
        As `bubble_temperature_c`.

    Source
    ------
    As `bubble_temperature_c`.

    Examples
    --------
    >>> round(vapour_mole_fraction(0.0966, 101.325), 2)  # the handbook prints 0.4375
    0.43
    """
    return as_given(_vapour(*_judged(mole_fraction, pressure_kpa)))


def _vapour(x: Array, p: Array) -> Array:
    ethanol, water = _partial_pressures(x, _bubble(x, p))
    return ethanol / (ethanol + water)


def liquid_mole_fraction(
    vapour_mole_fraction: ArrayLike, pressure_kpa: ArrayLike = STANDARD_PRESSURE_KPA
) -> FloatOrArray:
    """Mole fraction of ethanol in the liquid that boils to a given vapour, or first condenses from it.

    Parameters
    ----------
    vapour_mole_fraction : float or array
        Mole fraction of ethanol in the vapour [mol/mol]
    pressure_kpa : float or array
        Absolute pressure, 50 to 200 kPa [kPa]

    Returns
    -------
    float or array
        Mole fraction of ethanol in the liquid [mol/mol]

    Raises
    ------
    ValueError
        As `bubble_temperature_c`.

    Source
    ------
    As `bubble_temperature_c`; bisection, the vapour's strength rising with the liquid's throughout.

    Examples
    --------
    >>> round(liquid_mole_fraction(vapour_mole_fraction(0.3)), 9)
    0.3
    """
    y, p = _judged(vapour_mole_fraction, pressure_kpa)
    low, high = np.zeros_like(y), np.ones_like(y)
    for _ in range(50):  # halves the interval to 1e-15
        middle = (low + high) / 2.0
        weaker = _vapour(middle, p) < y
        low, high = np.where(weaker, middle, low), np.where(weaker, high, middle)
    return as_given(np.where(np.isnan(y + p), np.nan, (low + high) / 2.0))


def dew_temperature_c(vapour_mole_fraction: ArrayLike, pressure_kpa: ArrayLike = STANDARD_PRESSURE_KPA) -> FloatOrArray:
    """Temperature at which a vapour begins to condense.

    Parameters
    ----------
    vapour_mole_fraction : float or array
        Mole fraction of ethanol in the vapour [mol/mol]
    pressure_kpa : float or array
        Absolute pressure, 50 to 200 kPa [kPa]

    Returns
    -------
    float or array
        Dew temperature [°C]

    Raises
    ------
    ValueError
        As `bubble_temperature_c`.

    Source
    ------
    As `bubble_temperature_c`.

    Examples
    --------
    >>> round(dew_temperature_c(0.6841, 101.325), 1)  # the handbook has 79.3 for this vapour
    79.4
    """
    return bubble_temperature_c(liquid_mole_fraction(vapour_mole_fraction, pressure_kpa), pressure_kpa)


@dataclass(frozen=True)
class Azeotrope:
    """The mixture that boils without changing, and bounds every distillation."""

    mole_fraction: FloatOrArray
    temperature_c: FloatOrArray
    strength_pct_vol: FloatOrArray


def azeotrope(pressure_kpa: ArrayLike = STANDARD_PRESSURE_KPA) -> Azeotrope:
    """Composition and boiling temperature of the azeotrope at a pressure.

    Parameters
    ----------
    pressure_kpa : float or array
        Absolute pressure, 50 to 200 kPa [kPa]

    Returns
    -------
    Azeotrope
        Mole fraction [mol/mol], boiling temperature [°C], strength by volume at 20 °C [% vol]

    Raises
    ------
    ValueError
        If the pressure lies outside 50 to 200 kPa.

    Source
    ------
    As `bubble_temperature_c`; the handbook has mole fraction 0.8943 and 78.15 °C at 101.325 kPa.

    Examples
    --------
    >>> found = azeotrope(101.325)
    >>> round(found.mole_fraction, 3), round(found.temperature_c, 1)
    (0.896, 78.1)
    """
    p = in_range(pressure_kpa, *PRESSURE_RANGE_KPA, "pressure", "kPa")
    low, high = np.full_like(p, 0.5), np.ones_like(p) - 1e-9
    for _ in range(50):
        middle = (low + high) / 2.0
        enriching = _vapour(middle, p) > middle
        low, high = np.where(enriching, middle, low), np.where(enriching, high, middle)
    x = np.where(np.isnan(p), np.nan, (low + high) / 2.0)
    return Azeotrope(as_given(x), as_given(_bubble(x, p)), strength_from_mole_fraction(x))


def highest_strength_pct_vol(pressure_kpa: ArrayLike = STANDARD_PRESSURE_KPA) -> FloatOrArray:
    """Highest strength that any distillation of ethanol and water can reach at a pressure.

    Parameters
    ----------
    pressure_kpa : float or array
        Absolute pressure, 50 to 200 kPa [kPa]

    Returns
    -------
    float or array
        Strength of the azeotrope by volume at 20 °C [% vol]

    Raises
    ------
    ValueError
        If the pressure lies outside 50 to 200 kPa.

    Source
    ------
    As `azeotrope`; the handbook's azeotrope is 97.19 % vol at 101.325 kPa.

    Examples
    --------
    >>> round(highest_strength_pct_vol(101.325), 1)
    97.2
    """
    return azeotrope(pressure_kpa).strength_pct_vol


def ideal_stages(
    charge_pct_vol: ArrayLike,
    distillate_pct_vol: ArrayLike,
    pressure_kpa: ArrayLike = STANDARD_PRESSURE_KPA,
) -> FloatOrArray:
    """Smallest number of ideal stages from a charge's strength to a distillate's, at total reflux.

    The boiling pot is the first stage. Part of a last stage counts as the part of its step, in mole
    fraction, that is needed.

    Parameters
    ----------
    charge_pct_vol : float or array
        Strength of the boiling charge by volume at 20 °C, above 0 [% vol]
    distillate_pct_vol : float or array
        Strength of the distillate by volume at 20 °C [% vol]
    pressure_kpa : float or array
        Absolute pressure, 50 to 200 kPa [kPa]

    Returns
    -------
    float or array
        Number of ideal stages, 0 where the distillate is no stronger than the charge [-]

    Raises
    ------
    ValueError
        If a strength or the pressure is out of range, or the distillate is as strong as the azeotrope.

    Source
    ------
    McCabe and Thiele, Industrial and Engineering Chemistry 17 (1925) 605, at total reflux.

    Examples
    --------
    >>> round(ideal_stages(10.0, 50.0), 2)  # one simple distillation begins above 50
    0.86
    """
    charge = in_range(charge_pct_vol, 0.01, 100.0, "strength of the charge", "% vol")
    limit = np.asarray(highest_strength_pct_vol(pressure_kpa)) - 0.01
    distillate = in_range(distillate_pct_vol, 0.0, limit, "strength of the distillate", "% vol")
    x, goal, p = np.broadcast_arrays(
        mole_fraction_from_strength(charge), mole_fraction_from_strength(distillate), pressure_kpa
    )
    stages = np.where(np.isnan(x + goal + p), np.nan, 0.0)
    while (x < goal).any():
        y = _vapour(x, np.asarray(p, dtype=float))
        stages = stages + np.clip((goal - x) / np.where(x < goal, y - x, 1.0), 0.0, 1.0)
        x = np.where(x < goal, y, x)
    return as_given(stages)
