"""Alcoholic strength from what is read: density, glass alcoholmeter, glass hydrometer.

Strength by volume is a property at 20 °C. What an instrument shows at another temperature becomes a
density, corrected for the expansion of the instrument's glass, and the density at that temperature
becomes the strength. With anything dissolved in the spirit the strength so found is apparent; see
`obscuration`.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.engineering import r22
from pipeline.engineering.elements import FloatOrArray, as_given, in_range
from pipeline.engineering.ethanol_water import (
    DENSITY_ETHANOL_20C,
    DENSITY_WATER_20C,
    TEMPERATURE_RANGE_C,
    density,
    density_slopes,
    liquid_or_nan,
)

# Cubic expansion of the instrument's glass per kelvin. Soda-lime: OIML R 22, Tables VIII and IX, and
# ISO 1768. Borosilicate: from memory of glass makers' data; not compared with R 22.
GLASS_EXPANSION_PER_K = {"soda-lime": 25e-6, "borosilicate": 10e-6}

SIXTY_FAHRENHEIT_C = (60.0 - 32.0) / 1.8

Array = NDArray[np.float64]


def _strength(w: ArrayLike) -> Array:
    """Strength by volume at 20 °C of a mass fraction already judged."""
    return r22.in_blocks(lambda p: p * r22.density_at_20c(p) * (100.0 / DENSITY_ETHANOL_20C), w)


def _of_strength(strength_pct_vol: Array) -> Array:
    """Mass fraction of a strength already judged: one block of `mass_fraction_from_volume_strength`."""
    return r22.mass_fraction_of_concentration(strength_pct_vol * (DENSITY_ETHANOL_20C / 100.0))


def _glass(glass: str) -> float:
    if glass not in GLASS_EXPANSION_PER_K:
        raise ValueError(f"glass is {glass!r}; expected one of {', '.join(GLASS_EXPANSION_PER_K)}")
    return GLASS_EXPANSION_PER_K[glass]


def _liquid(w: Array, t: Array, density_kg_m3: Array) -> Array:
    """Refuse densities that no liquid mixture has at their temperature; `w` is NaN where none has."""
    shape = np.broadcast_shapes(np.shape(density_kg_m3), np.shape(t))
    if shape == () and np.isnan(w):
        water, ethanol = r22.density(np.array([0.0, 1.0]), np.array([t, t]))
        raise ValueError(
            f"no mixture of ethanol and water has a density of {density_kg_m3:.8g} kg/m3 at {t:.6g} °C; "
            f"expected {ethanol:.3f} to {water:.3f} kg/m3"
        )
    return liquid_or_nan(w, t)


def volume_strength_from_mass_fraction(mass_fraction: ArrayLike) -> FloatOrArray:
    """Alcoholic strength by volume at 20 °C of a mixture known by mass.

    Parameters
    ----------
    mass_fraction : float or array
        Mass of ethanol over mass of mixture [kg/kg]

    Returns
    -------
    float or array
        Strength by volume at 20 °C [% vol]

    Raises
    ------
    ValueError
        If the mass fraction lies outside 0 to 1.

    Source
    ------
    OIML R 22 (1975), Table IIIb: q = p rho(p, 20 °C) / rho(1, 20 °C).

    Examples
    --------
    >>> round(volume_strength_from_mass_fraction(0.30), 2)  # Table IIIb prints 36.25
    36.25
    """
    return as_given(_strength(in_range(mass_fraction, 0.0, 1.0, "mass fraction", "kg/kg")))


def mass_fraction_from_volume_strength(strength_pct_vol: ArrayLike) -> FloatOrArray:
    """Mass fraction of ethanol in a mixture of a given strength by volume at 20 °C.

    Parameters
    ----------
    strength_pct_vol : float or array
        Strength by volume at 20 °C [% vol]

    Returns
    -------
    float or array
        Mass of ethanol over mass of mixture [kg/kg]

    Raises
    ------
    ValueError
        If the strength lies outside 0 to 100 % vol.

    Source
    ------
    OIML R 22 (1975), Table IVb, which inverts Table IIIb.

    Examples
    --------
    >>> round(100 * mass_fraction_from_volume_strength(30.0), 2)  # Table IVb prints 24.61 % mass
    24.61
    """
    q = in_range(strength_pct_vol, 0.0, 100.0, "strength", "% vol")
    return as_given(r22.in_blocks(_of_strength, q))


def mass_fraction_from_density(density_kg_m3: ArrayLike, temperature_c: ArrayLike) -> FloatOrArray:
    """Mass fraction of ethanol in the mixture that has a density at a temperature.

    Parameters
    ----------
    density_kg_m3 : float or array
        Density in vacuo at the temperature [kg/m3]
    temperature_c : float or array
        Temperature, -20 to 40 °C [°C]

    Returns
    -------
    float or array
        Mass of ethanol over mass of mixture [kg/kg]

    Raises
    ------
    ValueError
        If the temperature lies outside -20 to 40 °C, if no mixture has the density there (0.01 kg/m3
        beyond water or ethanol is taken as theirs), or if the mixture would be frozen.

    Source
    ------
    OIML R 22 (1975), Table VIa, which inverts Table I.

    Examples
    --------
    >>> round(100 * mass_fraction_from_density(950.0, 20.0), 2)  # Table Va prints 32.20 % mass
    32.2
    """
    rho = in_range(density_kg_m3, 0.0, np.inf, "density", "kg/m3")
    t = in_range(temperature_c, *TEMPERATURE_RANGE_C, "temperature", "°C")
    return as_given(_liquid(r22.in_blocks(r22.mass_fraction, rho, t), t, rho))


def strength_from_density(density_kg_m3: ArrayLike, temperature_c: ArrayLike) -> FloatOrArray:
    """Strength by volume at 20 °C from a density in vacuo at the temperature of its measurement.

    Parameters
    ----------
    density_kg_m3 : float or array
        Density in vacuo at the temperature [kg/m3]
    temperature_c : float or array
        Temperature, -20 to 40 °C [°C]

    Returns
    -------
    float or array
        Strength by volume at 20 °C [% vol]

    Raises
    ------
    ValueError
        As `mass_fraction_from_density`.

    Source
    ------
    OIML R 22 (1975), Table VIb.

    Examples
    --------
    >>> round(strength_from_density(990.0, 20.0), 2)  # Table Vb prints 5.79
    5.79
    """
    return as_given(_strength(mass_fraction_from_density(density_kg_m3, temperature_c)))


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
    t = in_range(temperature_c, *TEMPERATURE_RANGE_C, "temperature", "°C")
    at_20c = r22.in_blocks(lambda block: r22.density_at_20c(_of_strength(block)), q)
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


def strength_from_us_proof(proof: ArrayLike) -> FloatOrArray:
    """Strength by volume at 20 °C of spirit whose proof is stated at 60 °F.

    Proof is twice the per cent of ethanol by volume with spirit and ethanol both at 60 °F, so half
    of it is not the strength at 20 °C: 80 proof is 40.07 % vol.

    Parameters
    ----------
    proof : float or array
        Degrees of United States proof, 0 to 200 [proof]

    Returns
    -------
    float or array
        Strength by volume at 20 °C [% vol]

    Raises
    ------
    ValueError
        If the proof lies outside 0 to 200.

    Source
    ------
    27 CFR 30.11, definitions of proof and of proof gallon; densities of OIML R 22 (1975) at 60 °F.

    Examples
    --------
    >>> round(strength_from_us_proof(80.0), 2)
    40.07
    """
    return as_given(_strength(mass_fraction_from_us_proof(proof)))


def mass_fraction_from_us_proof(proof: ArrayLike) -> FloatOrArray:
    """Mass fraction of ethanol in spirit whose proof is stated at 60 °F.

    Parameters
    ----------
    proof : float or array
        Degrees of United States proof, 0 to 200 [proof]

    Returns
    -------
    float or array
        Mass of ethanol over mass of mixture [kg/kg]

    Raises
    ------
    ValueError
        If the proof lies outside 0 to 200.

    Source
    ------
    27 CFR 30.11, definition of proof; densities of OIML R 22 (1975) at 60 °F.

    Examples
    --------
    >>> round(mass_fraction_from_us_proof(100.0), 4)
    0.4248
    """
    x = in_range(proof, 0.0, 200.0, "proof", "degrees") / 200.0
    ethanol = x * density(1.0, SIXTY_FAHRENHEIT_C)
    w = mass_fraction_from_volume_strength(100.0 * x)
    for _ in range(4):  # Newton; the start is the strength at 20 °C, off by less than 0.002
        rho, slope = density(w, SIXTY_FAHRENHEIT_C), density_slopes(w, SIXTY_FAHRENHEIT_C)[0]
        w = np.clip(w - (w * rho - ethanol) / (rho + w * slope), 0.0, 1.0)
    return as_given(w)


def us_proof_from_strength(strength_pct_vol: ArrayLike) -> FloatOrArray:
    """Degrees of proof at 60 °F of spirit whose strength is stated at 20 °C.

    Parameters
    ----------
    strength_pct_vol : float or array
        Strength by volume at 20 °C [% vol]

    Returns
    -------
    float or array
        Degrees of United States proof [proof]

    Raises
    ------
    ValueError
        If the strength lies outside 0 to 100 % vol.

    Source
    ------
    27 CFR 30.11, definition of proof; densities of OIML R 22 (1975) at 60 °F.

    Examples
    --------
    >>> round(us_proof_from_strength(40.069), 2)
    80.0
    """
    w = np.asarray(mass_fraction_from_volume_strength(strength_pct_vol))
    return as_given(200.0 * w * density(w, SIXTY_FAHRENHEIT_C) / density(1.0, SIXTY_FAHRENHEIT_C))
