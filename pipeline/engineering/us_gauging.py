"""Gauging as the United States prescribes it: proof, wine gallons and proof gallons at 60 °F.

The legal tables rest on older densities than OIML R 22, so cells computed here differ from the printed
ones by up to 0.05 proof and 4 parts in 100,000 by weight.
"""

import numpy as np
from numpy.typing import ArrayLike

from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given, in_range
from gaugebook.pipeline.engineering.ethanol_water import TEMPERATURE_RANGE_C, density, density_in_air
from gaugebook.pipeline.engineering.mixture import strength_from_density
from gaugebook.pipeline.engineering.strength import GLASS_EXPANSION_PER_K
from gaugebook.pipeline.engineering.us_proof import (
    SIXTY_FAHRENHEIT_C,
    mass_fraction_from_us_proof,
    us_proof_from_strength,
)

LITRES_PER_US_GALLON = 3.785411784  # 231 cubic inches: 27 CFR 30.11
KG_PER_POUND = 0.45359237  # international yard and pound agreement, 1959


def _celsius(temperature_f: ArrayLike) -> np.ndarray:
    low, high = (1.8 * t + 32.0 for t in TEMPERATURE_RANGE_C)
    return (in_range(temperature_f, low, high, "temperature", "°F") - 32.0) / 1.8


def proof_from_hydrometer(reading_proof: ArrayLike, temperature_f: ArrayLike) -> FloatOrArray:
    """True proof from the reading of a glass proof hydrometer at another temperature than 60 °F.

    Parameters
    ----------
    reading_proof : float or array
        Reading of a hydrometer graduated at 60 °F, 0 to 200 [proof]
    temperature_f : float or array
        Temperature of the spirit and of the instrument, -4 to 104 °F [°F]

    Returns
    -------
    float or array
        True proof [proof]

    Raises
    ------
    ValueError
        If the reading or the temperature is out of range, or no liquid mixture gives that reading.

    Source
    ------
    27 CFR 30.61, Table 1, and the examples of 30.23 and 30.61; densities of OIML R 22 (1975), glass of
    25e-6 per kelvin counted from 60 °F.

    Examples
    --------
    >>> round(proof_from_hydrometer(193.0, 75.0), 1)  # 30.61 has 189.5
    189.5
    """
    t = _celsius(temperature_f)
    return us_proof_from_strength(strength_from_density(_density_of_hydrometer(reading_proof, t), t))


def _density_of_hydrometer(reading_proof: ArrayLike, t: np.ndarray) -> np.ndarray:
    at_60f = np.asarray(density(mass_fraction_from_us_proof(reading_proof), SIXTY_FAHRENHEIT_C))
    return at_60f * (1.0 - GLASS_EXPANSION_PER_K["soda-lime"] * (t - SIXTY_FAHRENHEIT_C))


def strength_from_proof_hydrometer(reading_proof: ArrayLike, temperature_c: ArrayLike) -> FloatOrArray:
    """Strength by volume at 20 °C from the reading of a glass proof hydrometer at another temperature than 60 °F.

    Parameters
    ----------
    reading_proof : float or array
        Reading of a hydrometer graduated at 60 °F, 0 to 200 [proof]
    temperature_c : float or array
        Temperature of the spirit and of the instrument, -20 to 40 °C [°C]

    Returns
    -------
    float or array
        Strength by volume at 20 °C [% vol]

    Raises
    ------
    ValueError
        If the reading or the temperature is out of range, or no liquid mixture gives that reading.

    Source
    ------
    27 CFR 30.23 to 30.25 and 30.61, Table 1, as `proof_from_hydrometer`; the true proof as `strength_from_us_proof`.

    Examples
    --------
    >>> round(strength_from_proof_hydrometer(193.0, 23.889), 2)  # 189.46 proof
    94.74
    """
    t = in_range(temperature_c, *TEMPERATURE_RANGE_C, "temperature", "°C")
    return strength_from_density(_density_of_hydrometer(reading_proof, t), t)


def wine_gallons_from_pounds(mass_lb: ArrayLike, proof: ArrayLike) -> FloatOrArray:
    """Wine gallons at 60 °F of spirit weighed in air.

    Parameters
    ----------
    mass_lb : float or array
        Weight in air [lb]
    proof : float or array
        True proof [proof]

    Returns
    -------
    float or array
        Volume at 60 °F [US gal]

    Raises
    ------
    ValueError
        If the weight is negative or the proof lies outside 0 to 200.

    Source
    ------
    27 CFR 30.64, Table 4; densities of OIML R 22 (1975), in air of 1.2 kg/m3.

    Examples
    --------
    >>> round(wine_gallons_from_pounds(1.0, 190.0), 5)  # Table 4 prints 0.14718
    0.14719
    """
    mass = in_range(mass_lb, 0.0, np.inf, "weight", "lb") * KG_PER_POUND
    in_air = density_in_air(density(mass_fraction_from_us_proof(proof), SIXTY_FAHRENHEIT_C))
    return as_given(1000.0 * mass / in_air / LITRES_PER_US_GALLON)


def proof_gallons(wine_gallons: ArrayLike, proof: ArrayLike) -> FloatOrArray:
    """Proof gallons in a volume of spirit at 60 °F.

    Parameters
    ----------
    wine_gallons : float or array
        Volume at 60 °F [US gal]
    proof : float or array
        True proof, 0 to 200 [proof]

    Returns
    -------
    float or array
        Gallons of spirit of 100 proof that hold as much alcohol [proof gal]

    Raises
    ------
    ValueError
        If the volume is negative or the proof lies outside 0 to 200.

    Source
    ------
    27 CFR 30.11, definition of proof gallon.

    Examples
    --------
    >>> proof_gallons(100.0, 112.0)
    112.0
    """
    volume = in_range(wine_gallons, 0.0, np.inf, "volume", "US gal")
    return as_given(volume * in_range(proof, 0.0, 200.0, "proof", "degrees") / 100.0)


def proof_gallons_from_pounds(mass_lb: ArrayLike, proof: ArrayLike) -> FloatOrArray:
    """Proof gallons of spirit weighed in air.

    Parameters
    ----------
    mass_lb : float or array
        Weight in air [lb]
    proof : float or array
        True proof, 0 to 200 [proof]

    Returns
    -------
    float or array
        Gallons of spirit of 100 proof that hold as much alcohol [proof gal]

    Raises
    ------
    ValueError
        If the weight is negative or the proof lies outside 0 to 200.

    Source
    ------
    27 CFR 30.63 and 30.64, Tables 3 and 4.

    Examples
    --------
    >>> round(proof_gallons_from_pounds(321.5, 86.0), 1)  # Table 3 gives 35.1 by rounded parts
    35.1
    """
    return proof_gallons(wine_gallons_from_pounds(mass_lb, proof), proof)


def proof_gallons_from_alcohol(alcohol_l: ArrayLike) -> FloatOrArray:
    """Proof gallons that hold as much ethanol as so many litres of pure alcohol at 20 °C.

    Parameters
    ----------
    alcohol_l : float or array
        Litres of pure alcohol at 20 °C [L]

    Returns
    -------
    float or array
        Gallons of spirit of 100 proof at 60 °F [proof gal]

    Raises
    ------
    ValueError
        If the litres are negative.

    Source
    ------
    27 CFR 30.11; the ethanol shrinks from 20 °C to 60 °F by its densities of OIML R 22 (1975).

    Examples
    --------
    >>> round(proof_gallons_from_alcohol(100.0), 2)
    52.58
    """
    alcohol = in_range(alcohol_l, 0.0, np.inf, "pure alcohol", "L")
    at_60f = alcohol * density(1.0, 20.0) / density(1.0, SIXTY_FAHRENHEIT_C)
    return as_given(2.0 * at_60f / LITRES_PER_US_GALLON)


def water_in_100_volumes(proof: ArrayLike) -> FloatOrArray:
    """Volumes of water that 100 volumes of spirit hold, all at 60 °F.

    With the alcohol they come to more than 100: that is the contraction.

    Parameters
    ----------
    proof : float or array
        True proof, 0 to 200 [proof]

    Returns
    -------
    float or array
        Parts of water by volume in 100 [-]

    Raises
    ------
    ValueError
        If the proof lies outside 0 to 200.

    Source
    ------
    27 CFR 30.66, Table 6; densities of OIML R 22 (1975).

    Examples
    --------
    >>> round(water_in_100_volumes(188.0), 2)  # Table 6 prints 7.36
    7.36
    """
    w = np.asarray(mass_fraction_from_us_proof(proof))
    return as_given(100.0 * (1.0 - w) * density(w, SIXTY_FAHRENHEIT_C) / density(0.0, SIXTY_FAHRENHEIT_C))


def volume_factor_to_60f(proof: ArrayLike, temperature_f: ArrayLike) -> FloatOrArray:
    """Volume at 60 °F over the volume at another temperature.

    Parameters
    ----------
    proof : float or array
        True proof, 0 to 200 [proof]
    temperature_f : float or array
        Temperature of the spirit, -4 to 104 °F [°F]

    Returns
    -------
    float or array
        Factor that brings the volume to 60 °F [-]

    Raises
    ------
    ValueError
        If the proof or the temperature is out of range, or the spirit would be frozen.

    Source
    ------
    27 CFR 30.67, Table 7; densities of OIML R 22 (1975).

    Examples
    --------
    >>> round(volume_factor_to_60f(115.0, 68.0), 3)  # Table 7 prints 0.996
    0.996
    """
    w = mass_fraction_from_us_proof(proof)
    return as_given(density(w, _celsius(temperature_f)) / np.asarray(density(w, SIXTY_FAHRENHEIT_C)))
