"""Extract of wort and wash, fermentation, and the alcohol to be expected of them.

Fermenting wash gives off carbon dioxide, which gathers in vessels and low places and suffocates without
warning: follow local codes and confined-space practice.
"""

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given, in_range
from gaugebook.pipeline.engineering.ethanol_water import DENSITY_ETHANOL_20C, DENSITY_WATER_20C
from gaugebook.pipeline.engineering.spirit_yield import fermentability_pct, predicted_spirit_yield_l_per_t

__all__ = [
    "BALLING_EXTRACT_PER_ALCOHOL",
    "ETHANOL_PER_GRAM",
    "Sugar",
    "alcohol_pct_mass",
    "alcohol_pct_vol",
    "apparent_attenuation_pct",
    "fermentability_pct",
    "fermentation_efficiency_pct",
    "original_extract",
    "plato_from_specific_gravity",
    "predicted_spirit_yield_l_per_t",
    "real_attenuation_pct",
    "real_extract",
    "specific_gravity_from_plato",
    "theoretical_alcohol_l",
]

Sugar = Literal["hexose", "maltose", "sucrose", "lactose", "starch", "fructan"]

# Gram of ethanol per gram by Gay-Lussac's equation, C6H12O6 = 2 C2H5OH + 2 CO2, and the water that
# disaccharides, starch and fructan (inulin of agave) take up before they ferment. Invert sugar is hexose.
ETHANOL_PER_GRAM: dict[str, float] = {
    "hexose": 0.5114, "maltose": 0.5383, "sucrose": 0.5383, "lactose": 0.5383, "starch": 0.5683, "fructan": 0.5683,
}  # fmt: skip

BALLING_EXTRACT_PER_ALCOHOL = 2.0665  # g of extract that give 1 g of alcohol
_SG_RANGE = (0.98, 1.18)  # wash below water to a strong syrup of 40 °P
_PLATO_OF_SG = (135.997, -630.272, 1111.14, -616.868)  # cubic, highest power first


def plato_from_specific_gravity(specific_gravity: ArrayLike) -> FloatOrArray:
    """Extract in °Plato from specific gravity.

    Parameters
    ----------
    specific_gravity : float or array
        Specific gravity 20/20 °C, 0.98 to 1.18 [-]

    Returns
    -------
    float or array
        Extract, grams per 100 g; apparent and perhaps below 0 where alcohol is present [°P]

    Raises
    ------
    ValueError
        If the specific gravity lies outside 0.98 to 1.18.

    Source
    ------
    P = 135.997 S^3 - 630.272 S^2 + 1111.14 S - 616.868, the cubic fitted to the sugar tables of the
    American Society of Brewing Chemists (12.0 °P at 1.04837, 10.0 at 1.0400). Beyond 30 °P it falls short
    of the tables by up to 0.15 °P.

    Examples
    --------
    >>> round(plato_from_specific_gravity(1.04837), 1)
    12.0
    """
    return as_given(np.polyval(_PLATO_OF_SG, in_range(specific_gravity, *_SG_RANGE, "specific gravity", "(20/20 °C)")))


def specific_gravity_from_plato(plato: ArrayLike) -> FloatOrArray:
    """Specific gravity from extract in °Plato: the inverse of `plato_from_specific_gravity`.

    Parameters
    ----------
    plato : float or array
        Extract, grams per 100 g [°P]

    Returns
    -------
    float or array
        Specific gravity 20/20 °C [-]

    Raises
    ------
    ValueError
        If the extract lies outside what the specific gravities 0.98 to 1.18 span.

    Source
    ------
    As `plato_from_specific_gravity`, inverted by Newton's method.

    Examples
    --------
    >>> round(specific_gravity_from_plato(10.0), 4)
    1.04
    """
    least, most = np.polyval(_PLATO_OF_SG, _SG_RANGE)
    p = in_range(plato, least, most, "extract", "°P")
    s = 1.0 + 0.004 * p
    for _ in range(6):  # the cubic is nearly straight: quadratic convergence from within 0.02
        s = s - (np.polyval(_PLATO_OF_SG, s) - p) / np.polyval(np.polyder(_PLATO_OF_SG), s)
    return as_given(s)


def real_extract(original_plato: ArrayLike, apparent_plato: ArrayLike) -> FloatOrArray:
    """Extract that a wash really holds, freed of the buoyancy of its alcohol.

    Parameters
    ----------
    original_plato : float or array
        Extract before fermentation [°P]
    apparent_plato : float or array
        Extract that the density shows after it [°P]

    Returns
    -------
    float or array
        Real extract [°P]

    Raises
    ------
    ValueError
        If the original extract lies outside 0 to 40 °P or the apparent outside -6 to 40 °P.

    Source
    ------
    Balling: Er = 0.1808 OE + 0.8192 EA (from memory).

    Examples
    --------
    >>> round(real_extract(12.0, 2.0), 3)
    3.808
    """
    original = in_range(original_plato, 0.0, 40.0, "original extract", "°P")
    apparent = in_range(apparent_plato, -6.0, 40.0, "apparent extract", "°P")
    return as_given(0.1808 * original + 0.8192 * apparent)


def apparent_attenuation_pct(original_plato: ArrayLike, apparent_plato: ArrayLike) -> FloatOrArray:
    """Share of the extract that seems to have fermented, by density.

    Parameters
    ----------
    original_plato : float or array
        Extract before fermentation, above 0 [°P]
    apparent_plato : float or array
        Extract that the density shows after it [°P]

    Returns
    -------
    float or array
        Apparent attenuation, above 100 where the wash is lighter than water [%]

    Raises
    ------
    ValueError
        If the original extract is not above 0 and at most 40 °P, or the apparent outside -6 to 40 °P.

    Source
    ------
    Definition, 100 (OE - EA) / OE.

    Examples
    --------
    >>> apparent_attenuation_pct(12.0, 3.0)
    75.0
    """
    original = in_range(original_plato, 1e-6, 40.0, "original extract", "°P")
    apparent = in_range(apparent_plato, -6.0, 40.0, "apparent extract", "°P")
    return as_given(100.0 * (original - apparent) / original)


def real_attenuation_pct(original_plato: ArrayLike, apparent_plato: ArrayLike) -> FloatOrArray:
    """Share of the extract that has really fermented.

    Parameters
    ----------
    original_plato : float or array
        Extract before fermentation, above 0 [°P]
    apparent_plato : float or array
        Extract that the density shows after it [°P]

    Returns
    -------
    float or array
        Real attenuation, 100 (OE - Er) / OE [%]

    Raises
    ------
    ValueError
        As `apparent_attenuation_pct`.

    Source
    ------
    Definition, with the real extract of Balling: 0.8192 of the apparent attenuation.

    Examples
    --------
    >>> round(real_attenuation_pct(12.0, 3.0), 2)
    61.44
    """
    original = in_range(original_plato, 1e-6, 40.0, "original extract", "°P")
    return as_given(100.0 * (original - real_extract(original, apparent_plato)) / original)


def original_extract(alcohol_pct_mass: ArrayLike, real_extract_plato: ArrayLike) -> FloatOrArray:
    """Extract before fermentation, from the alcohol and the real extract after it.

    Parameters
    ----------
    alcohol_pct_mass : float or array
        Alcohol of the wash by mass [% mass]
    real_extract_plato : float or array
        Real extract of the wash [°P]

    Returns
    -------
    float or array
        Original extract [°P]

    Raises
    ------
    ValueError
        If the alcohol lies outside 0 to 20 % mass or the extract outside 0 to 40 °P.

    Source
    ------
    Balling: 2.0665 g of extract give 1 g of alcohol, 0.9565 g of carbon dioxide and 0.11 g of yeast;
    OE = 100 (2.0665 A + Er) / (100 + 1.0665 A).

    Examples
    --------
    >>> round(original_extract(4.0, 4.0), 2)
    11.76
    """
    alcohol = in_range(alcohol_pct_mass, 0.0, 20.0, "alcohol", "% mass")
    real = in_range(real_extract_plato, 0.0, 40.0, "real extract", "°P")
    return as_given(100.0 * (BALLING_EXTRACT_PER_ALCOHOL * alcohol + real) / (100.0 + 1.0665 * alcohol))


def alcohol_pct_mass(original_plato: ArrayLike, apparent_plato: ArrayLike) -> FloatOrArray:
    """Alcohol of a fermented wash by mass, from its extracts before and after.

    Parameters
    ----------
    original_plato : float or array
        Extract before fermentation [°P]
    apparent_plato : float or array
        Extract that the density shows after it [°P]

    Returns
    -------
    float or array
        Alcohol [% mass]

    Raises
    ------
    ValueError
        As `real_extract`.

    Source
    ------
    Balling: A = (OE - Er) / (2.0665 - 0.010665 OE), which is `original_extract` solved for the alcohol.

    Examples
    --------
    >>> round(alcohol_pct_mass(12.0, 2.5), 2)
    4.01
    """
    original = in_range(original_plato, 0.0, 40.0, "original extract", "°P")
    real = real_extract(original_plato, apparent_plato)
    return as_given((original - real) / (BALLING_EXTRACT_PER_ALCOHOL - 0.010665 * original))


def alcohol_pct_vol(original_plato: ArrayLike, apparent_plato: ArrayLike) -> FloatOrArray:
    """Alcohol of a fermented wash by volume at 20 °C, from its extracts before and after.

    Parameters
    ----------
    original_plato : float or array
        Extract before fermentation [°P]
    apparent_plato : float or array
        Extract that the density shows after it [°P]

    Returns
    -------
    float or array
        Alcohol [% vol]

    Raises
    ------
    ValueError
        As `real_extract`.

    Source
    ------
    Balling for the mass of alcohol; the density of the wash from its apparent extract, that of ethanol
    and of water from OIML R 22 (1975).

    Examples
    --------
    >>> round(alcohol_pct_vol(12.0, 2.5), 2)
    5.13
    """
    density_kg_m3 = np.asarray(specific_gravity_from_plato(apparent_plato)) * DENSITY_WATER_20C
    return as_given(alcohol_pct_mass(original_plato, apparent_plato) * density_kg_m3 / DENSITY_ETHANOL_20C)


def theoretical_alcohol_l(extract_kg: ArrayLike, sugar: Sugar = "maltose") -> FloatOrArray:
    """Litres of pure alcohol if all of a mass of sugar or starch became ethanol and carbon dioxide.

    Parameters
    ----------
    extract_kg : float or array
        Mass of fermentable matter [kg]
    sugar : str
        What it is reckoned as, one of ETHANOL_PER_GRAM; invert sugar is "hexose" [-]

    Returns
    -------
    float or array
        Litres of pure alcohol at 20 °C [L]

    Raises
    ------
    ValueError
        If the mass is negative or the sugar is not one of them.

    Source
    ------
    Gay-Lussac's equation: 0.5114, 0.5383 and 0.5683 g of ethanol per gram of hexose, of maltose, sucrose or
    lactose, and of starch or fructan; 0.648, 0.682 and 0.720 L per kg with the ethanol of OIML R 22 (1975).

    Examples
    --------
    >>> round(theoretical_alcohol_l(1.0, "starch"), 3)
    0.72
    """
    if sugar not in ETHANOL_PER_GRAM:
        raise ValueError(f"sugar is {sugar!r}; expected one of {', '.join(ETHANOL_PER_GRAM)}")
    extract = in_range(extract_kg, 0.0, np.inf, "extract", "kg")
    return as_given(extract * ETHANOL_PER_GRAM[sugar] * 1000.0 / DENSITY_ETHANOL_20C)


def fermentation_efficiency_pct(alcohol_l: ArrayLike, extract_kg: ArrayLike, sugar: Sugar = "maltose") -> FloatOrArray:
    """Alcohol made against the alcohol that the extract could give at most.

    Parameters
    ----------
    alcohol_l : float or array
        Litres of pure alcohol in the fermented wash [L]
    extract_kg : float or array
        Mass of extract fermented, above 0 [kg]
    sugar : str
        What the extract is reckoned as, one of ETHANOL_PER_GRAM [-]

    Returns
    -------
    float or array
        Fermentation efficiency; above 100 means that a quantity was mistaken [%]

    Raises
    ------
    ValueError
        If the alcohol is negative, the extract not above 0, or the sugar not one of them.

    Source
    ------
    Definition, with `theoretical_alcohol_l`.

    Examples
    --------
    >>> round(fermentation_efficiency_pct(620.0, 1000.0, "maltose"), 1)
    90.9
    """
    alcohol = in_range(alcohol_l, 0.0, np.inf, "pure alcohol", "L")
    extract = in_range(extract_kg, 1e-6, np.inf, "extract", "kg")
    return as_given(100.0 * alcohol / theoretical_alcohol_l(extract, sugar))
