"""Alcoholic strength from what is read: density, glass alcoholmeter, glass hydrometer.

Strength by volume is a property at 20 °C. What an instrument shows at another temperature becomes a
density, corrected for the expansion of the instrument's glass, and the density at that temperature
becomes the strength. With anything dissolved in the spirit the strength so found is apparent; see
`obscuration`.
"""

import numpy as np
from numpy.typing import ArrayLike

from gaugebook.pipeline.engineering import r22
from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given, in_range
from gaugebook.pipeline.engineering.ethanol_water import (
    DENSITY_ETHANOL_20C,
    DENSITY_WATER_20C,
    TEMPERATURE_RANGE_C,
    density,
)
from gaugebook.pipeline.engineering.mixture import (
    mass_fraction_from_density,
    mass_fraction_from_volume_strength,
    strength_from_density,
    volume_strength_from_mass_fraction,
)
from gaugebook.pipeline.engineering.us_proof import (
    mass_fraction_from_us_proof,
    strength_from_us_proof,
    us_proof_from_strength,
)

__all__ = [
    "GLASS_EXPANSION_PER_K",
    "alcoholmeter_reading",
    "density_of_alcoholmeter_reading",
    "mass_fraction_from_density",
    "mass_fraction_from_us_proof",
    "mass_fraction_from_volume_strength",
    "strength_from_alcoholmeter",
    "strength_from_density",
    "strength_from_hydrometer_density",
    "strength_from_us_proof",
    "us_proof_from_strength",
    "volume_strength_from_mass_fraction",
]

# Cubic expansion of the instrument's glass per kelvin. Soda-lime: OIML R 22, Tables VIII and IX, and
# ISO 1768. Borosilicate: from memory of glass makers' data; not compared with R 22.
GLASS_EXPANSION_PER_K = {"soda-lime": 25e-6, "borosilicate": 10e-6}


def _glass(glass: str) -> float:
    if glass not in GLASS_EXPANSION_PER_K:
        raise ValueError(f"glass is {glass!r}; expected one of {', '.join(GLASS_EXPANSION_PER_K)}")
    return GLASS_EXPANSION_PER_K[glass]


def strength_from_alcoholmeter(
    reading_pct_vol: ArrayLike, temperature_c: ArrayLike, glass: str = "soda-lime"
) -> FloatOrArray:
    """Strength by volume at 20 °C from the reading of a glass alcoholmeter at another temperature.

    The scale is right at 20 °C. Elsewhere the reading stands for the density that a mixture of that
    strength has at 20 °C, and the float displaces a volume that grew or shrank with its glass:
    rho = rho20(reading) (1 - beta (t - 20 °C)).

    Parameters
    ----------
    reading_pct_vol : float or array
        Reading of an alcoholmeter graduated in % vol at 20 °C [% vol]
    temperature_c : float or array
        Temperature of the spirit and of the instrument, -20 to 40 °C [°C]
    glass : str
        Kind of glass, "soda-lime" or "borosilicate" [-]

    Returns
    -------
    float or array
        Strength by volume at 20 °C [% vol]

    Raises
    ------
    ValueError
        If the reading lies outside 0 to 100 % vol, the temperature outside -20 to 40 °C, the glass is
        not known, or no liquid mixture gives that reading at that temperature.

    Source
    ------
    OIML R 22 (1975), Table VIIIb (soda-lime glass, 25e-6 per kelvin; so also ISO 1768).

    Examples
    --------
    >>> round(strength_from_alcoholmeter(68.0, 0.0), 1)  # Table VIIIb prints 74.3
    74.3
    """
    rho = density_of_alcoholmeter_reading(reading_pct_vol, temperature_c, glass)
    return strength_from_density(rho, temperature_c)


def density_of_alcoholmeter_reading(
    reading_pct_vol: ArrayLike, temperature_c: ArrayLike, glass: str = "soda-lime"
) -> FloatOrArray:
    """Density in vacuo of the liquid in which a glass alcoholmeter shows a reading.

    Parameters
    ----------
    reading_pct_vol : float or array
        Reading of an alcoholmeter graduated in % vol at 20 °C [% vol]
    temperature_c : float or array
        Temperature of the liquid and of the instrument, -20 to 40 °C [°C]
    glass : str
        Kind of glass, "soda-lime" or "borosilicate" [-]

    Returns
    -------
    float or array
        Density in vacuo at the temperature [kg/m3]

    Raises
    ------
    ValueError
        If the reading lies outside 0 to 100 % vol, the temperature outside -20 to 40 °C, or the glass
        is not known.

    Source
    ------
    OIML R 22 (1975), Tables IVa and VIII.

    Examples
    --------
    >>> round(density_of_alcoholmeter_reading(40.0, 20.0), 2)
    948.05
    """
    q = in_range(reading_pct_vol, 0.0, 100.0, "alcoholmeter reading", "% vol")
    ethanol = q * (DENSITY_ETHANOL_20C / 100.0)
    t = in_range(temperature_c, *TEMPERATURE_RANGE_C, "temperature", "°C")
    at_20c = r22.in_blocks(lambda c: r22.density_at_20c(r22.mass_fraction_of_concentration(c)), ethanol)
    return as_given(at_20c * (1.0 - _glass(glass) * (t - 20.0)))


def alcoholmeter_reading(
    strength_pct_vol: ArrayLike, temperature_c: ArrayLike, glass: str = "soda-lime"
) -> FloatOrArray:
    """What a glass alcoholmeter shows in spirit of a known strength: the inverse correction.

    Parameters
    ----------
    strength_pct_vol : float or array
        Strength by volume at 20 °C [% vol]
    temperature_c : float or array
        Temperature of the spirit and of the instrument, -20 to 40 °C [°C]
    glass : str
        Kind of glass, "soda-lime" or "borosilicate" [-]

    Returns
    -------
    float or array
        Reading on a scale in % vol at 20 °C [% vol]

    Raises
    ------
    ValueError
        If the strength lies outside 0 to 100 % vol, the temperature outside -20 to 40 °C, the mixture
        would be frozen, or the instrument would float off its scale.

    Source
    ------
    OIML R 22 (1975), Table VIIIb, read the other way.

    Examples
    --------
    >>> round(alcoholmeter_reading(strength_from_alcoholmeter(68.0, 0.0), 0.0), 6)
    68.0
    """
    expansion = _glass(glass)
    t = in_range(temperature_c, *TEMPERATURE_RANGE_C, "temperature", "°C")
    rho = np.asarray(density(mass_fraction_from_volume_strength(strength_pct_vol), t))
    scale = in_range(
        rho / (1.0 - expansion * (t - 20.0)),
        DENSITY_ETHANOL_20C - r22.EDGE_KG_M3,
        DENSITY_WATER_20C + r22.EDGE_KG_M3,
        "the density on the alcoholmeter's scale",
        "kg/m3",
    )
    return strength_from_density(scale, 20.0)


def strength_from_hydrometer_density(
    reading_kg_m3: ArrayLike, temperature_c: ArrayLike, glass: str = "soda-lime"
) -> FloatOrArray:
    """Strength by volume at 20 °C from the reading of a glass hydrometer graduated in density at 20 °C.

    Parameters
    ----------
    reading_kg_m3 : float or array
        Reading of a hydrometer graduated at 20 °C [kg/m3]
    temperature_c : float or array
        Temperature of the spirit and of the instrument, -20 to 40 °C [°C]
    glass : str
        Kind of glass, "soda-lime" or "borosilicate" [-]

    Returns
    -------
    float or array
        Strength by volume at 20 °C [% vol]

    Raises
    ------
    ValueError
        As `mass_fraction_from_density`, or if the glass is not known.

    Source
    ------
    OIML R 22 (1975), Tables IXa and IXb (soda-lime glass, 25e-6 per kelvin).

    Examples
    --------
    >>> w = mass_fraction_from_volume_strength(strength_from_hydrometer_density(900.0, 0.0))
    >>> round(100 * w, 2)  # Table IXa prints 62.96 % mass
    62.96
    """
    reading = in_range(reading_kg_m3, 0.0, np.inf, "hydrometer reading", "kg/m3")
    t = in_range(temperature_c, *TEMPERATURE_RANGE_C, "temperature", "°C")
    return strength_from_density(reading * (1.0 - _glass(glass) * (t - 20.0)), t)
