"""A log held against equilibrium: what the thermometers must show for this strength and pressure, and who is wrong.

Total condensation is assumed: the distillate has the strength of the vapour at the head. Ethanol vapour is flammable;
a figure from here judges sensors, never the safety of an operation.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.engineering.composition import mole_fraction_from_strength
from gaugebook.pipeline.engineering.vapour import (
    azeotrope,
    bubble_temperature_c,
    highest_strength_pct_vol,
    vapour_mole_fraction,
)

Array = NDArray[np.float64]

MODEL_U_C = 0.3  # of the equilibrium: within 0.55 °C of the handbook's table, see `vapour`
WEATHER_U_KPA = 1.5  # of the air pressure about the site's mean: common practice
PLATE_EFFICIENCY = 0.75  # ideal stages that a real plate makes, upper part of what is usual: common practice
_STRONGER = 0.01  # % vol below the azeotrope at which a liquid is still counted as weaker than it


@dataclass(frozen=True)
class Suspect:
    """A sensor whose error would explain what does not fit."""

    tag: str
    error: float  # in the unit of the tag
    misfit: float  # mean square of what it leaves unexplained, in standard uncertainties


@cache
def _tables(pressure_kpa: float) -> tuple[Array, Array, Array, Array]:
    """Strength [% vol], dew and bubble temperature [°C] of it, and dew change per kilopascal [K/kPa]."""
    strength = np.linspace(0.0, float(highest_strength_pct_vol(pressure_kpa)) - 0.05, 800)
    x_of_vapour = np.asarray(mole_fraction_from_strength(strength))
    liquid = np.unique(np.r_[0.0, np.geomspace(1e-6, 0.01, 300), np.linspace(0.0101, 0.93, 1500)])
    boiling = np.asarray(bubble_temperature_c(liquid, pressure_kpa))
    vapours = np.maximum.accumulate(np.asarray(vapour_mole_fraction(liquid, pressure_kpa)))
    dew = np.interp(np.interp(x_of_vapour, vapours, liquid), liquid, boiling)
    higher = np.asarray(bubble_temperature_c(liquid, pressure_kpa + 1.0))
    higher_vapours = np.maximum.accumulate(np.asarray(vapour_mole_fraction(liquid, pressure_kpa + 1.0)))
    per_kpa = np.interp(np.interp(x_of_vapour, higher_vapours, liquid), liquid, higher) - dew
    return strength, dew, np.interp(x_of_vapour, liquid, boiling), per_kpa


@cache
def _equilibrium(pressure_kpa: float) -> tuple[Array, Array, float]:
    """Mole fractions of liquid and vapour up to the azeotrope, and its strength [% vol]."""
    top = azeotrope(pressure_kpa)
    liquid = np.r_[0.0, np.geomspace(1e-6, 0.01, 300), np.linspace(0.0101, float(top.mole_fraction), 3000)]
    return liquid, np.asarray(vapour_mole_fraction(liquid, pressure_kpa)), float(top.strength_pct_vol)


def vapour_temperature_for(strength_pct_vol: ArrayLike, pressure_kpa: ArrayLike) -> tuple[Array, Array, Array]:
    """Temperature of the vapour that condenses to a strength, and how it moves with strength and with pressure.

    Quick over a whole log: tables at the log's middle pressure, moved along with the pressure.

    Parameters
    ----------
    strength_pct_vol : array
        Strength of the distillate at 20 °C [% vol]
    pressure_kpa : array
        Absolute pressure at the head, 50 to 190 kPa [kPa]

    Returns
    -------
    tuple of array
        Temperature [°C], its change per % vol [K/% vol] and per kilopascal [K/kPa]; NaN where a value is missing

    Raises
    ------
    ValueError
        If the middle pressure lies outside 50 to 190 kPa.

    Source
    ------
    As `vapour.dew_temperature_c`.

    Examples
    --------
    >>> at, per_strength, per_kpa = vapour_temperature_for([60.0], [101.325])
    >>> round(float(at[0]), 1), round(float(per_kpa[0]), 2)
    (91.4, 0.26)
    """
    q, p = np.broadcast_arrays(
        np.asarray(strength_pct_vol, dtype=np.float64), np.asarray(pressure_kpa, dtype=np.float64)
    )
    if not np.isfinite(p).any():
        return np.full(q.shape, np.nan), np.full(q.shape, np.nan), np.full(q.shape, np.nan)
    middle = round(float(np.nanmedian(p)), 0)
    strength, dew, _, per_kpa = _tables(middle)
    slope = np.gradient(dew, strength)
    kelvin_per_kpa = np.interp(q, strength, per_kpa)
    outside = np.isnan(q) | np.isnan(p)
    at = np.interp(q, strength, dew) + kelvin_per_kpa * (p - middle)
    return (
        np.where(outside, np.nan, at),
        np.where(outside, np.nan, np.interp(q, strength, slope)),
        np.where(outside, np.nan, kelvin_per_kpa),
    )


def suspects(
    vapour_less_expected_c: ArrayLike, per_strength: ArrayLike, per_kpa: ArrayLike, u_c: ArrayLike,
    pot_less_expected_c: ArrayLike, pot_per_kpa: float, pressure_less_site_kpa: float,
) -> list[Suspect]:  # fmt: skip
    """Which one sensor's steady error explains best what does not fit.

    Each sensor leaves its own pattern: the vapour thermometer the same error everywhere, the parrot one that grows
    where the strength falls, the pressure gauge one in vapour, pot and against the site's mean pressure, the pot's
    thermometer one in the pot alone. Each pattern is fitted by least squares; the best fit comes first.

    Parameters
    ----------
    vapour_less_expected_c : array
        Vapour temperature less that of equilibrium [K]
    per_strength : array
        Change of the expected temperature with strength [K/% vol]
    per_kpa : array
        Change of the expected temperature with pressure [K/kPa]
    u_c : array
        Standard uncertainty of each difference, without what is common to all [K]
    pot_less_expected_c : array
        Pot temperature less that of its gauged strength, at start and end where known, else empty [K]
    pot_per_kpa : float
        Change of the pot's boiling temperature with pressure [K/kPa]
    pressure_less_site_kpa : float
        Logged pressure less the site's mean, NaN where it is not logged [kPa]

    Returns
    -------
    list of Suspect
        Best first; errors in the unit of the tag [K, % vol or kPa]

    Source
    ------
    Least squares of one fault at a time; house method.

    Examples
    --------
    >>> found = suspects([1.5, 1.4, 1.6], [-0.05, -0.1, -0.2], [0.25, 0.26, 0.27], [0.3] * 3, [0.1], 0.27, 0.4)
    >>> found[0].tag, round(found[0].error, 1)
    ('vapour_temperature_c', 1.5)
    """
    vapour, pot = np.asarray(vapour_less_expected_c, dtype=float), np.asarray(pot_less_expected_c, dtype=float)
    u = np.asarray(u_c, dtype=float)
    there = np.isfinite(vapour)
    vapour, u, pot = vapour[there], u[there], pot[np.isfinite(pot)]
    dq, dp = np.asarray(per_strength, dtype=float)[there], np.asarray(per_kpa, dtype=float)[there]
    weather = np.array([pressure_less_site_kpa]) if np.isfinite(pressure_less_site_kpa) else np.empty(0)
    seen = np.r_[vapour / u, pot / MODEL_U_C, weather / WEATHER_U_KPA]
    none_pot, none_weather = np.zeros(pot.size), np.zeros(weather.size)
    patterns = {
        "vapour_temperature_c": np.r_[1 / u, none_pot, none_weather],
        "parrot_strength_pct_vol": np.r_[-dq / u, none_pot, none_weather],
        "pressure_kpa": np.r_[
            -dp / u, np.full(pot.size, -pot_per_kpa / MODEL_U_C), np.full(weather.size, 1 / WEATHER_U_KPA)
        ],
        "pot_temperature_c": np.r_[np.zeros(u.size), np.full(pot.size, 1 / MODEL_U_C), none_weather],
    }
    suspects_in_order = []
    for tag, pattern in patterns.items():
        square = float(pattern @ pattern)
        if square > 0:
            error = float(pattern @ seen) / square
            suspects_in_order.append(Suspect(tag, error, float(np.mean((seen - error * pattern) ** 2))))
    return sorted(suspects_in_order, key=lambda suspect: suspect.misfit)


def stages_needed(charge_pct_vol: float, reached_pct_vol: float, pressure_kpa: float) -> float:
    """Ideal stages that a strength takes at the least, from a charge.

    Parameters
    ----------
    charge_pct_vol : float
        Strength of the charge at 20 °C [% vol]
    reached_pct_vol : float
        Strength reached, less what is uncertain of it [% vol]
    pressure_kpa : float
        Absolute pressure [kPa]

    Returns
    -------
    float
        Ideal stages at total reflux, the pot being the first; infinite at the azeotrope and beyond [-]

    Source
    ------
    As `vapour.ideal_stages`, read off a table of the equilibrium.

    Examples
    --------
    >>> stages_needed(10.0, 97.5, 101.325)
    inf
    """
    liquid, vapours, strongest = _equilibrium(round(pressure_kpa, 1))
    if reached_pct_vol >= strongest - _STRONGER:
        return float("inf")
    x, goal = (float(mole_fraction_from_strength(strength)) for strength in (charge_pct_vol, reached_pct_vol))
    stages = 0.0
    while x < goal:
        y = float(np.interp(x, liquid, vapours))
        stages += min(1.0, (goal - x) / (y - x))
        x = y
    return stages


def stages_available(plates: int) -> float:
    """Ideal stages that a still with so many plates can make: the pot and its plates at their efficiency.

    Parameters
    ----------
    plates : int
        Number of plates above the pot [-]

    Returns
    -------
    float
        Ideal stages [-]

    Source
    ------
    Overall plate efficiency of 0.75: common practice for small bubble-cap and sieve columns run with care.

    Examples
    --------
    >>> stages_available(8)
    7.0
    """
    return 1.0 + PLATE_EFFICIENCY * plates
