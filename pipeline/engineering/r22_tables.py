"""The tables of OIML R 22, kind by kind, as functions of what stands at their margins.

Tables a go by mass, tables b by volume. The kinds I to IX, XI and XII rest on formulas that were
compared with printed cells; that Table X is for borosilicate glass is from memory.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given
from gaugebook.pipeline.engineering.ethanol_water import density
from gaugebook.pipeline.engineering.gauging import STEEL_EXPANSION_PER_K, alcohol_from_mass, volume_at_20c
from gaugebook.pipeline.engineering.pure_alcohol import litres_of_pure_alcohol
from gaugebook.pipeline.engineering.strength import (
    mass_fraction_from_density,
    mass_fraction_from_volume_strength,
    strength_from_alcoholmeter,
    strength_from_density,
    strength_from_hydrometer_density,
    volume_strength_from_mass_fraction,
)


@dataclass(frozen=True)
class Table:
    """One kind of table: what its cells hold, its margins, and to how many decimals it is printed."""

    gives: str
    margins: tuple[str, ...]
    decimals: int
    cell: Callable[..., FloatOrArray]


def _fraction(mass_pct: ArrayLike) -> NDArray[np.float64]:
    return np.asarray(mass_pct, dtype=float) / 100.0


def _mass_pct(strength_pct_vol: ArrayLike) -> FloatOrArray:
    return as_given(100.0 * np.asarray(mass_fraction_from_volume_strength(strength_pct_vol)))


def _pct_vol(mass_pct: ArrayLike) -> FloatOrArray:
    return volume_strength_from_mass_fraction(_fraction(mass_pct))


def _density_of_strength(strength_pct_vol: ArrayLike, temperature_c: ArrayLike = 20.0) -> FloatOrArray:
    return density(mass_fraction_from_volume_strength(strength_pct_vol), temperature_c)


def _mass_pct_of_density(density_kg_m3: ArrayLike, temperature_c: ArrayLike = 20.0) -> FloatOrArray:
    return as_given(100.0 * np.asarray(mass_fraction_from_density(density_kg_m3, temperature_c)))


def _alcohol_in_100_l(strength_pct_vol: ArrayLike, temperature_c: ArrayLike) -> FloatOrArray:
    """Ethanol at 20 °C in 100 L measured at a temperature with a measure of steel."""
    volume = volume_at_20c(100.0, temperature_c, strength_pct_vol, STEEL_EXPANSION_PER_K)
    return litres_of_pure_alcohol(volume, strength_pct_vol)


_MASS, _VOLUME, _T = "strength, % mass", "strength, % vol", "temperature, °C"
_DENSITY, _DENSITY_20C = "density, kg/m3", "density at 20 °C, kg/m3"
_ALCOHOL = "ethanol at 20 °C, dm3"
_READING_MASS, _READING_VOLUME = "alcoholmeter reading, % mass", "alcoholmeter reading, % vol"
_READING_DENSITY = "hydrometer reading, kg/m3"

R22_TABLES: dict[str, Table] = {
    "I": Table(_DENSITY, (_MASS, _T), 2, lambda p, t: density(_fraction(p), t)),
    "II": Table(_DENSITY, (_VOLUME, _T), 2, _density_of_strength),
    "IIIa": Table(_DENSITY_20C, (_MASS,), 2, lambda p: density(_fraction(p), 20.0)),
    "IIIb": Table(_VOLUME, (_MASS,), 2, _pct_vol),
    "IVa": Table(_DENSITY_20C, (_VOLUME,), 2, _density_of_strength),
    "IVb": Table(_MASS, (_VOLUME,), 2, _mass_pct),
    "Va": Table(_MASS, (_DENSITY_20C,), 2, _mass_pct_of_density),
    "Vb": Table(_VOLUME, (_DENSITY_20C,), 2, lambda rho: strength_from_density(rho, 20.0)),
    "VI": Table(_MASS, (_DENSITY, _T), 2, _mass_pct_of_density),
    "VII": Table(_VOLUME, (_DENSITY, _T), 2, strength_from_density),
    "VIIIa": Table(_MASS, (_READING_MASS, _T), 1, lambda p, t: _mass_pct(strength_from_alcoholmeter(_pct_vol(p), t))),
    "VIIIb": Table(_VOLUME, (_READING_VOLUME, _T), 1, strength_from_alcoholmeter),
    "IXa": Table(_MASS, (_READING_DENSITY, _T), 2, lambda r, t: _mass_pct(strength_from_hydrometer_density(r, t))),
    "IXb": Table(_VOLUME, (_READING_DENSITY, _T), 2, strength_from_hydrometer_density),
    "Xa": Table(
        _MASS,
        (_READING_DENSITY, _T),
        2,
        lambda r, t: _mass_pct(strength_from_hydrometer_density(r, t, "borosilicate")),
    ),
    "Xb": Table(
        _VOLUME,
        (_READING_DENSITY, _T),
        2,
        lambda r, t: strength_from_hydrometer_density(r, t, "borosilicate"),
    ),
    "XIa": Table(_ALCOHOL, (_MASS, _T), 2, lambda p, t: _alcohol_in_100_l(_pct_vol(p), t)),
    "XIb": Table(_ALCOHOL, (_VOLUME, _T), 2, _alcohol_in_100_l),
    "XIIa": Table(_ALCOHOL, (_MASS, _T), 2, lambda p, t: alcohol_from_mass(100.0, _pct_vol(p), t)),
    "XIIb": Table(_ALCOHOL, (_VOLUME, _T), 2, lambda q, t: alcohol_from_mass(100.0, q, t)),
}


def r22_cells(kind: str, rows: ArrayLike, columns: ArrayLike | None = None) -> NDArray[np.float64]:
    """Cells of a table of OIML R 22, rounded as it prints them.

    Parameters
    ----------
    kind : str
        Number of the table, a key of `R22_TABLES` [-]
    rows : array
        Values at the left margin, in the unit that the table's first margin names [-]
    columns : array, optional
        Values at the head, in the unit that its second margin names; none for a table of one margin [-]

    Returns
    -------
    array
        Cells, rows by columns, NaN where no liquid mixture answers to the margins [-]

    Raises
    ------
    ValueError
        If there is no such kind, or columns are missing or given where the table has none.

    Source
    ------
    OIML R 22 (1975), Tables I to XII.

    Examples
    --------
    >>> r22_cells("I", [30.0, 50.0], [20.0, 30.0])
    array([[953.78, 947.37],
           [913.77, 905.71]])
    """
    if kind not in R22_TABLES:
        raise ValueError(f"there is no table {kind!r}; expected one of {', '.join(R22_TABLES)}")
    table = R22_TABLES[kind]
    if (columns is None) != (len(table.margins) == 1):
        raise ValueError(f"table {kind} has the margins {' and '.join(table.margins)}; give values for each")
    left = np.atleast_1d(np.asarray(rows, dtype=float))
    if columns is None:
        return np.round(table.cell(left), table.decimals)
    head = np.atleast_1d(np.asarray(columns, dtype=float))
    return np.round(table.cell(left[:, np.newaxis], head[np.newaxis, :]), table.decimals)
