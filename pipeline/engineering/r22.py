"""The general formula of OIML R 22 as a polynomial, evaluated and inverted in bulk.

The formula is a polynomial in mass fraction whose twelve coefficients are themselves polynomials in
temperature. Collecting it that way lets an inversion at a given temperature compute the coefficients
once and then take Newton steps in the mass fraction alone, which is what makes long columns quick.

These functions take arrays of one dimension and judge nothing but whether a solution exists; call
`ethanol_water` and `strength`, which check their input.
"""

import csv
from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

# Blocks of this many elements keep every intermediate array in the processor's cache.
_BLOCK = 8192
_NEWTON_STEPS = 12
_CONVERGED = 1e-8  # of mass fraction: Newton being quadratic, what remains is below 1e-14

# Tables print densities to 0.01 kg/m3, so a density this far beyond water or ethanol is taken as theirs.
EDGE_KG_M3 = 0.01


def _read_coefficients() -> list[list[float]]:
    """Coefficients K[k][i] of w^k (t - 20 °C)^i, gathered from the A, B and C of the formula."""
    table = np.zeros((12, 7))
    with (Path(__file__).parent / "oiml_r22.csv").open(newline="", encoding="utf-8") as lines:
        for row in csv.DictReader(lines):
            k, value = int(row["k"]), float(row["value"])
            if row["coefficient"] == "A":
                table[k - 1, 0] = value
            elif row["coefficient"] == "B":
                table[0, k] = value
            else:
                table[k, int(row["i"])] = value
    return [np.trim_zeros(row, "b").tolist() for row in table]


_K = _read_coefficients()
_AT_20C = [row[0] for row in _K]


def _horner(coefficients: Sequence[float | Array], x: Array) -> Array:
    """Value of a polynomial whose coefficients are given from the lowest power up."""
    total = np.empty_like(x)
    total[...] = coefficients[-1]
    for c in coefficients[-2::-1]:
        total *= x
        total += c
    return total


def _horner_with_slope(coefficients: Sequence[float | Array], x: Array) -> tuple[Array, Array]:
    """Value and first derivative of the same polynomial."""
    total, slope = np.empty_like(x), np.zeros_like(x)
    total[...] = coefficients[-1]
    for c in coefficients[-2::-1]:
        slope *= x
        slope += total
        total *= x
        total += c
    return total, slope


def _at_temperature(temperature_c: Array) -> list[Array]:
    """The twelve coefficients of the powers of the mass fraction at a temperature."""
    from_20 = temperature_c - 20.0
    return [_horner(row, from_20) for row in _K]


def _newton(start: Array, step: Callable[[Array], Array]) -> Array:
    """Repeat Newton steps until one is so small that what remains is rounding."""
    w = start
    for _ in range(_NEWTON_STEPS):
        change = step(w)
        w = w - change
        if not np.nanmax(np.abs(change), initial=0.0) > _CONVERGED:
            break
    return w


def in_blocks(function: Callable[..., Array], *arguments: ArrayLike) -> Array:
    """Apply a function of flat arrays block by block and give the result the arguments' common shape.

    Parameters
    ----------
    function : callable
        Takes arrays of one dimension and returns one as long [-]
    *arguments : float or array
        Its arguments, broadcast against each other [-]

    Returns
    -------
    array
        The results, in the common shape [-]

    Source
    ------
    House convention; no published source.

    Examples
    --------
    >>> in_blocks(lambda a, b: a + b, [1.0, 2.0], 3.0)
    array([4., 5.])
    """
    shaped = np.broadcast_arrays(*arguments)
    flat = [np.ascontiguousarray(a, dtype=float).ravel() for a in shaped]
    out = np.empty(flat[0].size)
    with np.errstate(invalid="ignore"):  # a NaN stands for an element already refused
        for first in range(0, out.size, _BLOCK):
            part = slice(first, first + _BLOCK)
            out[part] = function(*(a[part] for a in flat))
    return out.reshape(shaped[0].shape)


def density(mass_fraction: Array, temperature_c: Array) -> Array:
    """Density of a mixture by the general formula, unchecked.

    Parameters
    ----------
    mass_fraction : array
        Mass of ethanol over mass of mixture [kg/kg]
    temperature_c : array
        Temperature [°C]

    Returns
    -------
    array
        Density in vacuo [kg/m3]

    Source
    ------
    OIML R 22 (1975), general formula; the same in the annex of Directive 76/766/EEC.

    Examples
    --------
    >>> density(np.array([0.5]), np.array([20.0])).round(2)  # Table I prints 913.77
    array([913.77])
    """
    return _horner(_at_temperature(temperature_c), mass_fraction)


def density_slopes(mass_fraction: Array, temperature_c: Array) -> tuple[Array, Array]:
    """First derivatives of the density in mass fraction and in temperature, unchecked.

    Parameters
    ----------
    mass_fraction : array
        Mass of ethanol over mass of mixture [kg/kg]
    temperature_c : array
        Temperature [°C]

    Returns
    -------
    tuple of array
        Slope in mass fraction [kg/m3] and in temperature [kg/(m3 K)]

    Source
    ------
    OIML R 22 (1975), general formula, differentiated.

    Examples
    --------
    >>> in_w, in_t = density_slopes(np.array([0.5]), np.array([20.0]))
    >>> in_w.round(1), in_t.round(3)
    (array([-221.8]), array([-0.794]))
    """
    from_20 = temperature_c - 20.0
    in_mass_fraction = _horner_with_slope(_at_temperature(temperature_c), mass_fraction)[1]
    in_temperature = _horner([_horner_with_slope(row, from_20)[1] for row in _K], mass_fraction)
    return in_mass_fraction, in_temperature


@cache
def _starts() -> tuple[Array, Array, Array]:
    """Mass fraction against temperature and reduced density, to start Newton from.

    The reduced density runs from 0 for water to 1 for ethanol of the same temperature.
    """
    temperatures = np.linspace(-20.0, 40.0, 13)
    reduced = np.linspace(0.0, 1.0, 257)
    w = np.linspace(0.0, 1.0, 1025)
    rows = []
    for t in temperatures:
        rho = density(w, np.full_like(w, t))
        rows.append(np.interp(reduced, (rho[0] - rho) / (rho[0] - rho[-1]), w))
    return temperatures, reduced, np.array(rows)


def _start(reduced_density: Array, t: Array) -> Array:
    """Bilinear look-up in the table of starts."""
    temperatures, reduced, table = _starts()
    at_t = np.clip(np.nan_to_num((t + 20.0) / 5.0), 0.0, temperatures.size - 1 - 1e-9)
    at_r = np.nan_to_num(reduced_density) * ((reduced.size - 1) * (1.0 - 1e-12))
    i, j = at_t.astype(np.intp), at_r.astype(np.intp)
    u, v = at_t - i, at_r - j
    corner, flat = i * reduced.size + j, table.ravel()
    colder = flat[corner] * (1 - v) + flat[corner + 1] * v
    corner += reduced.size
    warmer = flat[corner] * (1 - v) + flat[corner + 1] * v
    return colder * (1 - u) + warmer * u


def mass_fraction(density_kg_m3: Array, temperature_c: Array) -> Array:
    """Mass fraction of the mixture that has a density at a temperature; NaN where none has.

    Parameters
    ----------
    density_kg_m3 : array
        Density in vacuo [kg/m3]
    temperature_c : array
        Temperature [°C]

    Returns
    -------
    array
        Mass of ethanol over mass of mixture [kg/kg]

    Source
    ------
    OIML R 22 (1975), general formula, inverted by Newton's method.

    Examples
    --------
    >>> mass_fraction(np.array([913.77, 1050.0]), np.array([20.0, 20.0])).round(4)
    array([0.5, nan])
    """
    coefficients = _at_temperature(temperature_c)
    water, ethanol = coefficients[0], sum(coefficients[1:], coefficients[0])
    has_one = (density_kg_m3 <= water + EDGE_KG_M3) & (density_kg_m3 >= ethanol - EDGE_KG_M3)
    rho = np.where(has_one, np.clip(density_kg_m3, ethanol, water), np.nan)

    def step(w: Array) -> Array:
        value, slope = _horner_with_slope(coefficients, w)
        return (value - rho) / slope

    return np.clip(_newton(_start((water - rho) / (water - ethanol), temperature_c), step), 0.0, 1.0)


@cache
def _concentration_starts() -> tuple[Array, Array]:
    w = np.linspace(0.0, 1.0, 1025)
    return w * _horner(_AT_20C, w), w


def mass_fraction_of_concentration(ethanol_kg_m3: Array) -> Array:
    """Mass fraction of the mixture that holds a mass of ethanol per volume at 20 °C.

    Parameters
    ----------
    ethanol_kg_m3 : array
        Mass of ethanol per volume of mixture at 20 °C [kg/m3]

    Returns
    -------
    array
        Mass of ethanol over mass of mixture [kg/kg]

    Source
    ------
    OIML R 22 (1975), general formula at 20 °C, inverted by Newton's method.

    Examples
    --------
    >>> mass_fraction_of_concentration(np.array([456.885])).round(4)
    array([0.5])
    """

    def step(w: Array) -> Array:
        value, slope = _horner_with_slope(_AT_20C, w)
        return (w * value - ethanol_kg_m3) / (value + w * slope)

    start = np.interp(ethanol_kg_m3, *_concentration_starts())
    return np.clip(_newton(start, step), 0.0, 1.0)


def density_at_20c(mass_fraction: Array) -> Array:
    """Density at 20 °C, where the formula is a polynomial in the mass fraction alone, unchecked.

    Parameters
    ----------
    mass_fraction : array
        Mass of ethanol over mass of mixture [kg/kg]

    Returns
    -------
    array
        Density in vacuo at 20 °C [kg/m3]

    Source
    ------
    OIML R 22 (1975), general formula, coefficients A.

    Examples
    --------
    >>> density_at_20c(np.array([0.0, 1.0])).round(2)
    array([998.2 , 789.24])
    """
    return _horner(_AT_20C, mass_fraction)
