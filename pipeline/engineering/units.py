"""Units met at the edges, turned into the units that this house reckons in, and back.

Inside there is one unit a quantity: °C, L, L of pure alcohol, kg, kPa, % vol at 20 °C, °Plato, kg/m3, L/h, kg/h, kW,
mg/L. Each unit below belongs to one of them; most by a factor, temperatures also by an offset, and five by a curve: US
proof and % vol (both at 60 °F) and % mass to % vol at 20 °C, and specific gravity (20/20 °C) and °Oechsle to °Plato.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given
from gaugebook.pipeline.engineering.ethanol_water import density
from gaugebook.pipeline.engineering.extract import plato_from_specific_gravity, specific_gravity_from_plato
from gaugebook.pipeline.engineering.strength import (
    mass_fraction_from_volume_strength,
    strength_from_us_proof,
    us_proof_from_strength,
    volume_strength_from_mass_fraction,
)
from gaugebook.pipeline.engineering.unit_words import why_not

US_GALLON_L = 3.785411784  # 231 cubic inches of 2.54 cm: 27 CFR 30.11, which calls it the wine gallon
IMPERIAL_GALLON_L = 4.54609  # Units of Measurement Regulations 1995 (UK)
POUND_KG = 0.45359237  # international yard and pound agreement, 1959
# Litres of pure alcohol at 20 °C in a US gallon of 100 proof at 60 °F (27 CFR 30.11); densities by OIML R 22 (1975).
PROOF_GALLON_LPA = 0.5 * US_GALLON_L * float(density(1.0, (60.0 - 32.0) / 1.8)) / float(density(1.0, 20.0))
PSI_KPA = 6.894757293168  # pound-force per square inch, from the above and g = 9.80665 m/s2
MERCURY_KPA_PER_MM = 0.133322387415  # conventional millimetre of mercury: NIST SP 811, B.8
BTU_KJ = 1.05505585262  # International Table: NIST SP 811, B.8


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
    "cL": Unit("L", 1e-2),
    "mL": Unit("L", 1e-3),
    "m3": Unit("L", 1000.0),
    "US gal": Unit("L", US_GALLON_L),
    "wine gal": Unit("L", US_GALLON_L),
    "US fl oz": Unit("L", US_GALLON_L / 128.0),
    "imp gal": Unit("L", IMPERIAL_GALLON_L),
    "LPA": Unit("LPA"),  # litres of pure alcohol
    "proof gal": Unit("LPA", PROOF_GALLON_LPA),
    "kg": Unit("kg"),
    "g": Unit("kg", 1e-3),
    "mg": Unit("kg", 1e-6),
    "t": Unit("kg", 1000.0),
    "lb": Unit("kg", POUND_KG),
    "oz": Unit("kg", POUND_KG / 16.0),  # avoirdupois
    "US ton": Unit("kg", POUND_KG * 2000.0),
    "pct_vol": Unit("pct_vol"),
    "pct_vol_60f": Unit("pct_vol"),  # by a curve: half the proof
    "us_proof": Unit("pct_vol"),  # by a curve
    "pct_mass": Unit("pct_vol"),  # by a curve: alcohol by mass
    "plato": Unit("plato"),
    "brix": Unit("plato"),  # both are % mass of sucrose: ICUMSA; the scales differ by less than 0.01
    "sg": Unit("plato"),  # by a curve
    "oechsle": Unit("plato"),  # by a curve: thousandths of specific gravity (20/20 °C) above 1
    "kg/m3": Unit("kg/m3"),
    "g/cm3": Unit("kg/m3", 1000.0),
    "g/mL": Unit("kg/m3", 1000.0),
    "kg/L": Unit("kg/m3", 1000.0),
    "lb/US gal": Unit("kg/m3", 1000.0 * POUND_KG / US_GALLON_L),
    "kPa": Unit("kPa"),  # absolute, as all pressures here
    "Pa": Unit("kPa", 1e-3),
    "hPa": Unit("kPa", 0.1),
    "mbar": Unit("kPa", 0.1),
    "bar": Unit("kPa", 100.0),
    "atm": Unit("kPa", 101.325),
    "psi": Unit("kPa", PSI_KPA),
    "psia": Unit("kPa", PSI_KPA),
    "inHg": Unit("kPa", 25.4 * MERCURY_KPA_PER_MM),
    "mmHg": Unit("kPa", MERCURY_KPA_PER_MM),
    "L/h": Unit("L/h"),
    "L/min": Unit("L/h", 60.0),
    "mL/min": Unit("L/h", 0.06),
    "hL/h": Unit("L/h", 100.0),
    "m3/h": Unit("L/h", 1000.0),
    "US gal/h": Unit("L/h", US_GALLON_L),
    "US gal/min": Unit("L/h", 60.0 * US_GALLON_L),
    "kg/h": Unit("kg/h"),
    "kg/min": Unit("kg/h", 60.0),
    "t/h": Unit("kg/h", 1000.0),
    "lb/h": Unit("kg/h", POUND_KG),
    "kW": Unit("kW"),
    "W": Unit("kW", 1e-3),
    "MJ/h": Unit("kW", 1.0 / 3.6),
    "BTU/h": Unit("kW", BTU_KJ / 3600.0),
    "kWh": Unit("kWh"),
    "MJ": Unit("kWh", 1.0 / 3.6),
    "pct": Unit("pct"),
    "fraction": Unit("pct", 100.0),
    "g/kg": Unit("pct", 0.1),
    "years": Unit("years"),
    "months": Unit("years", 1.0 / 12.0),  # of the calendar, as ages are stated: 27 CFR 5.74
    "each": Unit("each"),
    "dozen": Unit("each", 12.0),
    "thousand": Unit("each", 1000.0),
    "mg/L": Unit("mg/L"),
    "ug/L": Unit("mg/L", 1e-3),
    "g/L": Unit("mg/L", 1000.0),
    "g/hL": Unit("mg/L", 10.0),
    "mg/100 mL": Unit("mg/L", 10.0),
    "g/100 mL": Unit("mg/L", 10_000.0),
    "g/hL pa": Unit("g/hL pa"),  # of pure alcohol: `congeners` relates it to mg/L, by the strength
    "mg/L pa": Unit("g/hL pa", 0.1),
    "mg/100 mL pa": Unit("g/hL pa"),
    "mg/kg": Unit("mg/kg"),  # of the sample: its density relates it to mg/L
    "ug/kg": Unit("mg/kg", 1e-3),
    "ph": Unit("ph"),
    "ntu": Unit("ntu"),
}


def _strength_from_pct_vol_60f(value: ArrayLike) -> FloatOrArray:
    return strength_from_us_proof(2.0 * np.asarray(value, dtype=float))


def _pct_vol_60f_from_strength(value: ArrayLike) -> FloatOrArray:
    return as_given(np.asarray(us_proof_from_strength(value)) / 2.0)


def _strength_from_pct_mass(value: ArrayLike) -> FloatOrArray:
    return volume_strength_from_mass_fraction(np.asarray(value, dtype=float) / 100.0)


def _pct_mass_from_strength(value: ArrayLike) -> FloatOrArray:
    return as_given(100.0 * np.asarray(mass_fraction_from_volume_strength(value)))


def _plato_from_oechsle(value: ArrayLike) -> FloatOrArray:
    return plato_from_specific_gravity(1.0 + np.asarray(value, dtype=float) / 1000.0)


def _oechsle_from_plato(value: ArrayLike) -> FloatOrArray:
    return as_given(1000.0 * (np.asarray(specific_gravity_from_plato(value)) - 1.0))


_Curve = Callable[[ArrayLike], FloatOrArray]
_CURVES: dict[str, tuple[_Curve, _Curve]] = {
    "us_proof": (strength_from_us_proof, us_proof_from_strength),
    "pct_vol_60f": (_strength_from_pct_vol_60f, _pct_vol_60f_from_strength),
    "pct_mass": (_strength_from_pct_mass, _pct_mass_from_strength),
    "sg": (plato_from_specific_gravity, specific_gravity_from_plato),
    "oechsle": (_plato_from_oechsle, _oechsle_from_plato),
}


def _unit(name: str) -> Unit:
    if name not in UNITS:
        raise ValueError(f"unit is {name!r}, which {why_not(name)}; expected one of {', '.join(UNITS)}")
    return UNITS[name]


def fitting(unit: str) -> tuple[str, ...]:
    """Units of the same quantity as this one, itself included.

    Parameters
    ----------
    unit : str
        Name of a unit, one of `UNITS` [-]

    Returns
    -------
    tuple of str
        Names of units that can be turned into it [-]

    Raises
    ------
    ValueError
        If the unit is not known.

    Source
    ------
    House convention; no published source.

    Examples
    --------
    >>> fitting("degF")
    ('degC', 'degF', 'K')
    """
    own = house_unit(unit)
    return tuple(name for name, known in UNITS.items() if known.house_unit == own)


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
