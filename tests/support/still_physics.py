"""Ethanol and water for the simulated stills: equilibrium by van Laar, density by R 22; nothing of the program in it.

Van Laar's constants (1.6798 and 0.9227) and Antoine's (mmHg, °C) are those of the textbooks, from memory;
tests/support is held against the handbook's table by tests/pipeline/derived/test_seven_stills.py.
"""

from functools import cache

import numpy as np
import r22_formula
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

A12, A21 = 1.6798, 0.9227
ETHANOL, WATER = (8.20417, 1642.89, 230.300), (8.07131, 1730.63, 233.426)
MOLAR_ETHANOL, MOLAR_WATER = 46.069, 18.015  # g/mol
GLASS_PER_K = 25e-6  # volume expansion of the alcoholmeter, OIML R 22


def _vapour_pressure(antoine: tuple[float, float, float], celsius: ArrayLike) -> Array:
    a, b, c = antoine
    return np.asarray(10.0 ** (a - b / (c + np.asarray(celsius))) * 101.325 / 760.0)


@cache
def boiling(pressure_kpa: float) -> tuple[Array, Array, Array]:
    """Liquid mole fractions, the vapour's, and the temperature [°C], up to the azeotrope."""
    x = np.concatenate([np.geomspace(1e-7, 0.02, 300), np.linspace(0.0205, 0.999, 3000)])
    x = np.insert(x, 0, 0.0)
    whole = A12 * x + A21 * (1 - x)
    g1 = np.exp(A12 * (A21 * (1 - x) / whole) ** 2)
    g2 = np.exp(A21 * (A12 * x / whole) ** 2)
    low, high = np.full(x.size, 40.0), np.full(x.size, 130.0)
    for _ in range(50):
        t = (low + high) / 2
        above = x * g1 * _vapour_pressure(ETHANOL, t) + (1 - x) * g2 * _vapour_pressure(WATER, t) > pressure_kpa
        low, high = np.where(above, low, t), np.where(above, t, high)
    y = x * g1 * _vapour_pressure(ETHANOL, t) / pressure_kpa
    top = int(np.flatnonzero((y <= x) & (x > 0.5))[0])
    return x[:top], y[:top], t[:top]


@cache
def _strengths() -> tuple[Array, Array, Array]:
    """Mass fractions, strengths [% vol] and densities at 20 °C [kg/m3]."""
    p = np.linspace(0.0, 1.0, 2001)
    return (
        p,
        np.array([r22_formula.strength(fraction) for fraction in p]),
        np.array([r22_formula.density(fraction, 20.0) for fraction in p]),
    )


def mass_of_mole(x: ArrayLike) -> Array:
    """Mass fraction of a mole fraction."""
    x = np.asarray(x, dtype=np.float64)
    return np.asarray(x * MOLAR_ETHANOL / (x * MOLAR_ETHANOL + (1 - x) * MOLAR_WATER))


def mole_of_strength(q: ArrayLike) -> Array:
    """Mole fraction of a strength [% vol]."""
    p, strengths, _ = _strengths()
    mass = np.interp(q, strengths, p)
    return np.asarray(mass / MOLAR_ETHANOL / (mass / MOLAR_ETHANOL + (1 - mass) / MOLAR_WATER))


def strength_of_mole(x: ArrayLike) -> Array:
    """Strength [% vol] of a mole fraction."""
    p, strengths, _ = _strengths()
    return np.interp(mass_of_mole(x), p, strengths)


def moles_per_litre(q: ArrayLike) -> Array:
    """Moles of both in a litre at 20 °C of this strength."""
    p, strengths, density = _strengths()
    mass = np.interp(q, strengths, p)
    grams = np.interp(q, strengths, density)
    return np.asarray(grams * (mass / MOLAR_ETHANOL + (1 - mass) / MOLAR_WATER))


def alcoholmeter_reading(q: Array, celsius: Array) -> Array:
    """What an alcoholmeter graduated at 20 °C shows in a liquid of this strength at this temperature [% vol]."""
    p, strengths, density = _strengths()
    warm = np.linspace(5.0, 35.0, 16)
    table = np.array([[r22_formula.density(fraction, t) for t in warm] for fraction in p[::20]])
    mass = np.interp(q, strengths, p)
    column = np.clip((celsius - warm[0]) / (warm[1] - warm[0]), 0, warm.size - 1.001)
    row = np.clip(mass * (table.shape[0] - 1), 0, table.shape[0] - 1.001)
    i, j = row.astype(int), column.astype(int)
    a, b = row - i, column - j
    rho = (1 - a) * ((1 - b) * table[i, j] + b * table[i, j + 1]) + a * (
        (1 - b) * table[i + 1, j] + b * table[i + 1, j + 1]
    )
    shown = rho * (1 + GLASS_PER_K * (celsius - 20.0))
    order = np.argsort(density)
    return np.interp(shown, density[order], strengths[order])


def litre_mass(q: ArrayLike) -> Array:
    """Mass of a litre at 20 °C of this strength [kg]."""
    _, strengths, density = _strengths()
    return np.interp(q, strengths, density) / 1000.0


def mixed(mass_kg: float, alcohol_l: float) -> tuple[float, float]:
    """Volume at 20 °C [L] and strength [% vol] of so much liquid with so much pure alcohol in it."""
    p, strengths, density = _strengths()
    if not mass_kg > 0:
        return 0.0, 0.0
    part = alcohol_l * density[-1] / 1000.0 / mass_kg
    return mass_kg / float(np.interp(part, p, density)) * 1000.0, float(np.interp(part, p, strengths))
