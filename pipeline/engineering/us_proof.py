"""United States proof, which is stated at 60 °F, against strength at 20 °C."""

import numpy as np
from numpy.typing import ArrayLike

from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given, in_range
from gaugebook.pipeline.engineering.ethanol_water import density, density_slopes
from gaugebook.pipeline.engineering.mixture import (
    mass_fraction_from_volume_strength,
    volume_strength_from_mass_fraction,
)

SIXTY_FAHRENHEIT_C = (60.0 - 32.0) / 1.8


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
    return volume_strength_from_mass_fraction(mass_fraction_from_us_proof(proof))


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
