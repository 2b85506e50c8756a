"""An instrument's stated standard uncertainty, in the unit of the quantity that it was used for.

A density meter is known to so many kg/m3, and its reading may be told as a strength; a chromatograph is known per
litre of pure alcohol, and its result may be told per litre of sample. The slope between the two turns one standard
uncertainty into the other.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.engineering.congeners import g_per_hl_pure_alcohol, mg_per_l_sample
from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given
from gaugebook.pipeline.engineering.ethanol_water import DENSITY_WATER_20C, density
from gaugebook.pipeline.engineering.strength import mass_fraction_from_volume_strength, strength_from_density
from gaugebook.pipeline.engineering.uncertainty import propagate
from gaugebook.pipeline.engineering.units import from_si, house_unit, to_si

Array = NDArray[np.float64]
_Function = Callable[[ArrayLike], FloatOrArray]
_LIQUID = ("kg/m3", "plato", "pct_vol")  # house units that the density of a liquid leads from one to another
_STEP = 0.01  # of which `propagate` takes a hundredth, as a part of the value


def u_in_unit(
    u: ArrayLike,
    unit: str,
    wanted: str,
    at: ArrayLike,
    temperature_c: ArrayLike = 20.0,
    strength_pct_vol: ArrayLike = np.nan,
    u_relative: float = 0.0,
) -> FloatOrArray:
    """Standard uncertainty stated in one unit, in another, at a value.

    Parameters
    ----------
    u : float or array
        Standard uncertainty as it is stated [the given unit]
    unit : str
        Name of that unit, one of `units.UNITS` [-]
    wanted : str
        Name of the unit that the value is in [-]
    at : float or array
        The value that the uncertainty is wanted of [the wanted unit]
    temperature_c : float or array
        Temperature of the liquid, where the value is a density [°C]
    strength_pct_vol : float or array
        Strength of the liquid, where the value is a concentration and the uncertainty per pure alcohol,
        or the other way [% vol]
    u_relative : float
        Part that is proportional to the value in the given unit, as a fraction of it; the two parts are
        independent, so their squares add [-]

    Returns
    -------
    float or array
        Standard uncertainty of the value; NaN where no slope leads from one unit to the other [the wanted unit]

    Raises
    ------
    ValueError
        If a unit is not known.

    Source
    ------
    JCGM 100:2008 (GUM), 5.1.2: u(y) = |df/dx| u(x). Density and strength: OIML R 22 (1975); specific
    gravity 20/20 °C is density over that of water at 20 °C. A part that grows with the value:
    EURACHEM/CITAC Guide CG 4 (2012), Appendix E.5, u(x) = sqrt(s0^2 + (x s1)^2).

    Examples
    --------
    >>> round(u_in_unit(0.05, "kg/m3", "pct_vol", 40.0), 3)  # R 22: 1.6 kg/m3 a % vol at 40 % vol
    0.031
    >>> round(u_in_unit(0.9, "degF", "degC", 20.0), 6)
    0.5
    >>> round(u_in_unit(0.03, "g/hL pa", "g/hL pa", 1.0, u_relative=0.04), 6)
    0.05
    """
    value = np.asarray(at, dtype=float)
    if unit == wanted:
        return as_given(np.broadcast_to(np.hypot(u, u_relative * value) if u_relative else u, value.shape))
    back = _back(unit, wanted, np.asarray(temperature_c, dtype=float), np.atleast_1d(strength_pct_vol))
    if back is None:
        return as_given(np.full(value.shape, np.nan))
    step = np.maximum(1.0, np.abs(value)) * _STEP
    slope = np.asarray(propagate(lambda x: np.asarray(back(x)), [np.atleast_1d(value)], [np.atleast_1d(step)])) / step
    stated = np.hypot(u, u_relative * np.asarray(back(np.atleast_1d(value)), dtype=float)) if u_relative else u
    return as_given(np.reshape(np.asarray(stated, dtype=float) / slope, value.shape))


def _back(unit: str, wanted: str, t: Array, strength: Array) -> _Function | None:
    """A value in the wanted unit, in the one of the stated uncertainty; None where nothing leads there."""
    own, other = house_unit(unit), house_unit(wanted)
    if own == other:
        return lambda x: from_si(to_si(x, wanted), unit)
    if own in _LIQUID and other in _LIQUID:
        return lambda x: _from_density(_density(x, wanted, t), unit, t)
    if (own, other) == ("g/hL pa", "mg/L"):
        return lambda x: from_si(g_per_hl_pure_alcohol(to_si(x, wanted), strength), unit)
    if (own, other) == ("mg/L", "g/hL pa"):
        return lambda x: from_si(mg_per_l_sample(to_si(x, wanted), strength), unit)
    return None


def _density(value: ArrayLike, unit: str, t: Array) -> FloatOrArray:
    """Density of a liquid of which this was read [kg/m3]."""
    if house_unit(unit) == "pct_vol":
        return density(mass_fraction_from_volume_strength(to_si(value, unit)), t)
    if house_unit(unit) == "plato":
        sg = value if unit == "sg" else from_si(to_si(value, unit), "sg")
        return as_given(np.asarray(sg, dtype=float) * DENSITY_WATER_20C)
    return to_si(value, unit)


def _from_density(rho: ArrayLike, unit: str, t: Array) -> FloatOrArray:
    """What an instrument in this unit reads in a liquid of this density."""
    if house_unit(unit) == "pct_vol":
        return from_si(strength_from_density(rho, t), unit)
    if house_unit(unit) == "plato":
        sg = as_given(np.asarray(rho, dtype=float) / DENSITY_WATER_20C)
        return sg if unit == "sg" else from_si(to_si(sg, "sg"), unit)
    return from_si(rho, unit)
