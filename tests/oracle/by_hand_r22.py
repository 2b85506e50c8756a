"""Strength and volume by OIML R 22 (1975), worked out apart from the program: the formula summed term by term, its
inverse by bisection, and effects of small errors by differences.

It shares with the program the 54 printed coefficients and nothing else.
"""

import csv
from collections.abc import Callable
from functools import cache
from pathlib import Path

SODA_LIME_PER_K = 25e-6  # cubic expansion of an alcoholmeter's glass [1/K], as ISO 1768 takes it
AIR, WEIGHTS = 1.2, 8000.0  # densities of air and of the weights [kg/m3], OIML R 22, Table XII

_CSV = Path(__file__).parents[2] / "gaugebook" / "pipeline" / "engineering" / "oiml_r22.csv"
with _CSV.open(newline="", encoding="utf-8") as lines:
    _TERMS = [
        (row["coefficient"], int(row["k"]), int(row["i"] or 0), float(row["value"])) for row in csv.DictReader(lines)
    ]


@cache
def density(p: float, t: float) -> float:
    """Density in vacuo [kg/m3] of a mixture with mass fraction p of ethanol at t [°C]."""
    total = 0.0
    for kind, k, i, value in _TERMS:
        if kind == "A":
            total += value * p ** (k - 1)
        elif kind == "B":
            total += value * (t - 20.0) ** k
        else:
            total += value * p**k * (t - 20.0) ** i
    return total


def strength_of(p: float) -> float:
    """Strength [% vol] at 20 °C: q = 100 p rho(p, 20) / rho(1, 20)."""
    return 100.0 * p * density(p, 20.0) / density(1.0, 20.0)


@cache
def fraction_of(strength: float) -> float:
    """Mass fraction of a strength [% vol]."""
    return _root(lambda p: strength_of(p) - strength)


def _root(rising: Callable[[float], float]) -> float:
    low, high = 0.0, 1.0
    for _ in range(52):
        middle = (low + high) / 2.0
        low, high = (middle, high) if rising(middle) < 0.0 else (low, middle)
    return (low + high) / 2.0


def fraction_read(kind: str, reading: float, t: float = 20.0) -> float:
    """Mass fraction from a reading: a density at t, a strength at 20 °C, or a glass alcoholmeter read at t.

    The glass is right at 20 °C; at t it is larger, so that the reading tells of a liquid less dense by 25e-6 a kelvin.
    """
    if kind == "pct_vol_20c":
        return fraction_of(reading)
    if kind == "density":
        return _root(lambda p: reading - density(p, t))
    rho = density(fraction_of(reading), 20.0) * (1.0 - SODA_LIME_PER_K * (t - 20.0))
    return _root(lambda p: rho - density(p, t))


def volume_at_20(volume: float, t: float, p: float) -> float:
    """A volume read at t [°C], as litres at 20 °C: its mass stays, its density changes."""
    return volume * density(p, t) / density(p, 20.0)


def in_air(volume: float, p: float) -> float:
    """What a balance shows [kg] of a volume [L] at 20 °C: less the air it displaces, by weights that displace some."""
    rho = density(p, 20.0)
    return volume * rho / 1000.0 * (1.0 - AIR / rho) / (1.0 - AIR / WEIGHTS)


def volume_weighed(mass: float, p: float) -> float:
    """Litres at 20 °C of a mass [kg] weighed in air."""
    return mass / in_air(1.0, p)
