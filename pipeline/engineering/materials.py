"""Juices, musts and other dissolved sugar: what a litre holds, and the alcohol to be expected of it.

Molasses, juices, musts, fruit, agave, whey and honey are bought by their sugar, grain by its extract. Theory is
Gay-Lussac's (`extract.theoretical_alcohol_l`): the most that is possible. What a house may count on is less.

Fermenting material gives off carbon dioxide, which gathers in vessels and low places and suffocates without
warning: follow local codes and confined-space practice.
"""

import numpy as np
from numpy.typing import ArrayLike

from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given, in_range
from gaugebook.pipeline.engineering.ethanol_water import DENSITY_ETHANOL_20C, DENSITY_WATER_20C
from gaugebook.pipeline.engineering.extract import BALLING_EXTRACT_PER_ALCOHOL, specific_gravity_from_plato

SUGAR_PER_PCT_VOL_G_L = 16.83  # of a must: factor of the European rules of wine (from memory)
BRIX_OF_JUICE = (0.0, 40.0)  # as far as the table of degrees Plato is fitted


def juice_density_kg_m3(brix: ArrayLike) -> FloatOrArray:
    """Density at 20 °C of a juice or must, from its degrees Brix.

    Parameters
    ----------
    brix : float or array
        Soluble solids, grams per 100 g, 0 to 40 [°Brix]

    Returns
    -------
    float or array
        Density at 20 °C, in vacuo [kg/m3]

    Raises
    ------
    ValueError
        If the Brix lies outside 0 to 40: syrup and molasses are weighed.

    Source
    ------
    Degrees Brix and Plato are both the mass per cent of sucrose of the same density (the tables differ by less
    than 0.01): `specific_gravity_from_plato`, and the water of OIML R 22 (1975). Solids of a juice are not all
    sucrose; of the same Brix their density differs by some tenths of a per cent (common practice).

    Examples
    --------
    >>> round(juice_density_kg_m3(20.0), 1)
    1081.0
    """
    solids = in_range(brix, *BRIX_OF_JUICE, "Brix", "°Brix")
    return as_given(DENSITY_WATER_20C * specific_gravity_from_plato(solids))


def must_sugar_g_l(brix: ArrayLike, sugar_free_extract_g_l: ArrayLike) -> FloatOrArray:
    """Sugar in a litre of must or juice: what is dissolved in it less what is no sugar.

    Parameters
    ----------
    brix : float or array
        Soluble solids by density or refraction, grams per 100 g, 0 to 40 [°Brix]
    sugar_free_extract_g_l : float or array
        Acids, minerals and what else is dissolved and is no sugar [g/L]

    Returns
    -------
    float or array
        Sugar, grams in a litre at 20 °C [g/L]

    Raises
    ------
    ValueError
        If the Brix lies outside 0 to 40, or the sugar-free extract outside 0 to what is dissolved in all.

    Source
    ------
    Definition: grams per 100 g times the density, less the sugar-free extract (some 20 to 30 g/L in grape must:
    common practice).

    Examples
    --------
    >>> round(must_sugar_g_l(20.23, 24.0), 1)  # 84 °Oechsle
    194.9
    """
    dissolved_g_l = np.asarray(brix, dtype=float) / 100.0 * juice_density_kg_m3(brix)
    rest = in_range(sugar_free_extract_g_l, 0.0, dissolved_g_l, "sugar-free extract", "g/L")
    return as_given(dissolved_g_l - rest)


def sugar_of_potential_alcohol_g_l(potential_alcohol_pct_vol: ArrayLike) -> FloatOrArray:
    """Sugar in a litre of must, from the strength that it would give if all fermented.

    Parameters
    ----------
    potential_alcohol_pct_vol : float or array
        Potential alcoholic strength, 0 to 30 [% vol]

    Returns
    -------
    float or array
        Sugar, grams in a litre at 20 °C [g/L]

    Raises
    ------
    ValueError
        If the potential strength lies outside 0 to 30 % vol.

    Source
    ------
    16.83 g of sugar in a litre for each per cent: the factor of the European rules of wine (from memory).

    Examples
    --------
    >>> round(sugar_of_potential_alcohol_g_l(11.5), 1)
    193.5
    """
    strength = in_range(potential_alcohol_pct_vol, 0.0, 30.0, "potential alcohol", "% vol")
    return as_given(SUGAR_PER_PCT_VOL_G_L * strength)


def alcohol_of_extract_l(extract_kg: ArrayLike) -> FloatOrArray:
    """Litres of pure alcohol of a mass of extract that ferments, after what yeast and carbon dioxide took.

    Parameters
    ----------
    extract_kg : float or array
        Mass of extract or soluble solids that ferments [kg]

    Returns
    -------
    float or array
        Litres of pure alcohol at 20 °C [L]

    Raises
    ------
    ValueError
        If the mass is negative.

    Source
    ------
    Balling: 2.0665 g of extract give 1 g of alcohol; the ethanol of OIML R 22 (1975).

    Examples
    --------
    >>> round(alcohol_of_extract_l(100.0), 1)
    61.3
    """
    extract = in_range(extract_kg, 0.0, float("inf"), "extract", "kg")
    return as_given(extract / BALLING_EXTRACT_PER_ALCOHOL * 1000.0 / DENSITY_ETHANOL_20C)
