"""Units met at the edges, turned into the units that this house reckons in, and back.

Inside there is one unit a quantity: °C, L, L of pure alcohol, kg, kPa, % vol at 20 °C, °Plato, kg/m3, L/h, kWh,
mg/L. Each unit below belongs to one of them; most by a factor, temperatures also by an offset, and two by a curve:
US proof (at 60 °F) to % vol at 20 °C, and specific gravity (20/20 °C) to °Plato.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from pipeline.engineering.elements import FloatOrArray, as_given
from pipeline.engineering.ethanol_water import density
from pipeline.engineering.extract import plato_from_specific_gravity, specific_gravity_from_plato
from pipeline.engineering.strength import strength_from_us_proof, us_proof_from_strength

US_GALLON_L = 3.785411784  # 231 cubic inches of 2.54 cm: 27 CFR 30.11
POUND_KG = 0.45359237  # international yard and pound agreement, 1959
# Litres of pure alcohol at 20 °C in a US gallon of 100 proof at 60 °F (27 CFR 30.11); densities by OIML R 22 (1975).
PROOF_GALLON_LPA = 0.5 * US_GALLON_L * float(density(1.0, (60.0 - 32.0) / 1.8)) / float(density(1.0, 20.0))
PSI_KPA = 6.894757293168  # pound-force per square inch, from the above and g = 9.80665 m/s2


@dataclass(frozen=True)
class Unit:
    """A unit as a straight line to the house's own: house = factor x value + offset."""

    house_unit: str
    factor: float = 1.0
    offset: float = 0.0


UNITS: dict[str, Unit] = {
    "degC": Unit("degC"),
    "degF": Unit("degC", 1.0 / 1.8, -32.0 / 1.8),
    "K": Unit("degC", 1.0, -273.15),
    "L": Unit("L"),
    "hL": Unit("L", 100.0),
    "mL": Unit("L", 1e-3),
    "US gal": Unit("L", US_GALLON_L),
    "m3": Unit("L", 1000.0),
    "LPA": Unit("LPA"),  # litres of pure alcohol
    "proof gal": Unit("LPA", PROOF_GALLON_LPA),
    "kg": Unit("kg"),
    "g": Unit("kg", 1e-3),
    "mg": Unit("kg", 1e-6),
    "lb": Unit("kg", POUND_KG),
    "t": Unit("kg", 1000.0),
    "pct_vol": Unit("pct_vol"),
    "us_proof": Unit("pct_vol"),  # by a curve
    "plato": Unit("plato"),
    "sg": Unit("plato"),  # by a curve
    "kg/m3": Unit("kg/m3"),
    "g/cm3": Unit("kg/m3", 1000.0),
    "g/mL": Unit("kg/m3", 1000.0),
    "kPa": Unit("kPa"),
    "bar": Unit("kPa", 100.0),
    "mbar": Unit("kPa", 0.1),
    "psi": Unit("kPa", PSI_KPA),
    "L/h": Unit("L/h"),
    "L/min": Unit("L/h", 60.0),
    "US gal/h": Unit("L/h", US_GALLON_L),
    "pct": Unit("pct"),
    "each": Unit("each"),
    "kWh": Unit("kWh"),
    "MJ": Unit("kWh", 1.0 / 3.6),
    "mg/L": Unit("mg/L"),
    "g/L": Unit("mg/L", 1000.0),
    "g/hL": Unit("mg/L", 10.0),
    "g/hL pa": Unit("g/hL pa"),  # of pure alcohol: `congeners` relates it to mg/L, by the strength
}

_CURVES = {
    "us_proof": (strength_from_us_proof, us_proof_from_strength),
    "sg": (plato_from_specific_gravity, specific_gravity_from_plato),
}


def _unit(name: str) -> Unit:
    if name not in UNITS:
        raise ValueError(f"unit is {name!r}; expected one of {', '.join(UNITS)}")
    return UNITS[name]


def house_unit(unit: str) -> str:
    """Unit in which the house reckons what is stated in a unit.

    Parameters
    ----------
    unit : str
        Name of a unit, one of `UNITS` [-]

    Returns
    -------
    str
        Name of the house's unit [-]

    Raises
    ------
    ValueError
        If the unit is not known.

    Source
    ------
    House convention; no published source.

    Examples
    --------
    >>> house_unit("degF")
    'degC'
    """
    return _unit(unit).house_unit


def to_si(value: ArrayLike, unit: str) -> FloatOrArray:
    """Value in the house's unit of a value stated in another.

    Parameters
    ----------
    value : float or array
        Value as it was stated [the given unit]
    unit : str
        Name of that unit, one of `UNITS` [-]

    Returns
    -------
    float or array
        The same in the unit that `house_unit` names [the house's unit]

    Raises
    ------
    ValueError
        If the unit is not known, or a proof or a specific gravity is out of range.

    Source
    ------
    27 CFR 30.11 (US gallon, proof); international yard and pound agreement, 1959 (pound).

    Examples
    --------
    >>> to_si(68.0, "degF"), to_si(1.0, "US gal")
    (20.0, 3.785411784)
    """
    known = _unit(unit)
    if unit in _CURVES:
        return _CURVES[unit][0](value)
    return as_given(np.asarray(value, dtype=float) * known.factor + known.offset)


def from_si(value: ArrayLike, unit: str) -> FloatOrArray:
    """Value in a stated unit of a value in the house's: the inverse of `to_si`.

    Parameters
    ----------
    value : float or array
        Value in the unit that `house_unit` names [the house's unit]
    unit : str
        Name of the unit wanted, one of `UNITS` [-]

    Returns
    -------
    float or array
        The same in that unit [the given unit]

    Raises
    ------
    ValueError
        If the unit is not known, or a strength or an extract is out of range.

    Source
    ------
    As `to_si`.

    Examples
    --------
    >>> from_si(20.0, "degF")
    68.0
    """
    known = _unit(unit)
    if unit in _CURVES:
        return _CURVES[unit][1](value)
    return as_given((np.asarray(value, dtype=float) - known.offset) / known.factor)
