"""The general formula of OIML R 22 written term by term, and its inversion by bisection: slow and plain.

Tests hold the fast module against it. It shares nothing with the module but the file of coefficients.
"""

import csv
from collections.abc import Callable
from pathlib import Path

_CSV = Path(__file__).parents[2] / "gaugebook" / "pipeline" / "engineering" / "oiml_r22.csv"
with _CSV.open(newline="", encoding="utf-8") as _lines:
    _ROWS = list(csv.DictReader(_lines))


def density(p: float, t: float) -> float:
    """Density in vacuo [kg/m3] at mass fraction p and temperature t [°C]."""
    total = 0.0
    for row in _ROWS:
        k, value = int(row["k"]), float(row["value"])
        if row["coefficient"] == "A":
            total += value * p ** (k - 1)
        elif row["coefficient"] == "B":
            total += value * (t - 20.0) ** k
        else:
            total += value * p**k * (t - 20.0) ** int(row["i"])
    return total


def strength(p: float) -> float:
    """Strength by volume at 20 °C [% vol] at mass fraction p."""
    return 100.0 * p * density(p, 20.0) / density(1.0, 20.0)


def solve(rising: Callable[[float], float]) -> float:
    """Root between 0 and 1 of a function that rises through 0."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (middle, high) if rising(middle) < 0.0 else (low, middle)
    return (low + high) / 2.0


def mass_fraction_of_density(rho: float, t: float) -> float:
    """Mass fraction of the mixture with density rho [kg/m3] at t [°C]."""
    return solve(lambda p: rho - density(p, t))


def mass_fraction_of_strength(q: float) -> float:
    """Mass fraction of the mixture of strength q [% vol]."""
    return solve(lambda p: strength(p) - q)
