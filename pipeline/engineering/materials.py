"""What a material of sugar or starch can give: theory as the most that is possible, and what good practice gets.

Molasses, juices, musts, fruit, agave, whey and honey are bought by their sugar, grain by its extract. Theory
is Gay-Lussac's; what yeast makes of itself and of glycerol is left out of the prediction.

Fermenting material gives off carbon dioxide, which gathers in vessels and low places and suffocates without
warning: follow local codes and confined-space practice.
"""

from numpy.typing import ArrayLike

from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given, in_range
from gaugebook.pipeline.engineering.ethanol_water import DENSITY_ETHANOL_20C, DENSITY_WATER_20C
from gaugebook.pipeline.engineering.extract import Sugar, specific_gravity_from_plato, theoretical_alcohol_l

BALLING_EXTRACT_PER_ALCOHOL = 2.0665  # g of extract that give 1 g of alcohol
BRIX_OF_JUICE = (0.0, 40.0)  # as far as the table of degrees Plato is fitted

# Share of Gay-Lussac's alcohol that good practice gets. Of sugar: Pasteur (1860) got 48.4 g of ethanol of 100 g
# of hexose, of 51.14 by theory (from memory; the remaining 5 to 7 % are glycerol, succinic acid and yeast: Huxley,
# Yeast, 1871). Of starch and fructan, which must be converted first: as of malt, 6.06 L per tonne and per cent of
# fermentable extract, 88.8 % of theory (Bringhurst et al., J. Inst. Brew. 102 (1996) 433).
_ATTAINABLE: dict[str, float] = {
    "hexose": 0.947, "maltose": 0.947, "sucrose": 0.947, "lactose": 0.947, "starch": 0.888, "fructan": 0.888,
}  # fmt: skip


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
    1080.9
    """
    solids = in_range(brix, *BRIX_OF_JUICE, "Brix", "°Brix")
    return as_given(DENSITY_WATER_20C * specific_gravity_from_plato(solids))


def attainable_alcohol_l(sugar_kg: ArrayLike, sugar: Sugar) -> FloatOrArray:
    """Litres of pure alcohol that a good ferment makes of a mass of sugar, starch or fructan.

    Parameters
    ----------
    sugar_kg : float or array
        Mass of fermentable matter [kg]
    sugar : str
        What it is, one of `extract.ETHANOL_PER_GRAM`; invert sugar is "hexose" [-]

    Returns
    -------
    float or array
        Litres of pure alcohol at 20 °C [L]

    Raises
    ------
    ValueError
        As `theoretical_alcohol_l`.

    Source
    ------
    Of sugars 94.7 % of theory: Pasteur (1860), 48.4 g of ethanol of 100 g of hexose (from memory). Of starch and
    fructan 88.8 % of theory: Bringhurst et al., J. Inst. Brew. 102 (1996) 433.

    Examples
    --------
    >>> round(attainable_alcohol_l(100.0, "hexose"), 1)
    61.4
    """
    return as_given(_ATTAINABLE.get(sugar, 1.0) * theoretical_alcohol_l(sugar_kg, sugar))


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
