"""Ethanol and water by the formula of OIML R 22 (1975), in the units of the house.

This generator has formulas of its own, so that the program that reads the files is tried by another hand's sums.
"""

import csv
from collections import defaultdict
from functools import lru_cache
from pathlib import Path

GAL_L = 3.785411784  # US gallon of 231 cubic inches [L]
LB_KG = 0.45359237
T60 = (60.0 - 32.0) / 1.8  # 60 °F [°C]
AIR, WEIGHTS = 1.2, 8000.0  # density of air and of the weights of a balance [kg/m3]
GLASS = 25e-6  # cubic expansion of a glass hydrometer [1/K]


def _coefficients() -> tuple[list[float], list[float], dict[int, list[float]]]:
    a, b, c = [], [], defaultdict(list)
    with (Path(__file__).parent / "oiml_r22.csv").open(encoding="utf-8") as lines:
        for row in csv.DictReader(lines):
            value = float(row["value"])
            {"A": a, "B": b}.get(row["coefficient"], c[int(row["i"] or 0)]).append(value)
    return a, b, c


_A, _B, _C = _coefficients()


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


def fahrenheit(celsius_: float) -> float:
    return celsius_ * 1.8 + 32.0


@lru_cache(maxsize=200_000)
def density(p: float, t: float) -> float:
    """Density in vacuo [kg/m3] of a mixture with the mass fraction p of ethanol at t °C."""
    d = t - 20.0
    rho = sum(a * p**k for k, a in enumerate(_A)) + sum(b * d ** (k + 1) for k, b in enumerate(_B))
    for i in range(1, 6):
        rho += d**i * sum(c * p ** (k + 1) for k, c in enumerate(_C[i]))
    return rho


ETHANOL_20C = density(1.0, 20.0)
# A proof gallon is a US gallon at 60 °F that holds half its volume of ethanol (27 CFR 30.11) [kg of ethanol].
PROOF_GALLON_KG = 0.5 * GAL_L * density(1.0, T60) / 1000.0


def lpa(ethanol_kg: float) -> float:
    """Litres of pure alcohol at 20 °C."""
    return ethanol_kg / ETHANOL_20C * 1000.0


def proof_gallons(ethanol_kg: float) -> float:
    return ethanol_kg / PROOF_GALLON_KG


def proof(p: float) -> float:
    """Proof: twice the per cent by volume, both volumes at 60 °F."""
    return 200.0 * p * density(p, T60) / density(1.0, T60)


def pct_vol_20c(p: float) -> float:
    return 100.0 * p * density(p, 20.0) / ETHANOL_20C


def _solve(function, target: float, low: float = 0.0, high: float = 1.0) -> float:
    """The p at which a monotone function takes the target, by bisection with the regula falsi (Illinois)."""
    f_low, f_high = function(low) - target, function(high) - target
    side = 0
    for _ in range(200):
        p = (low * f_high - high * f_low) / (f_high - f_low)
        f = function(p) - target
        if abs(f) < 1e-10 or high - low < 1e-14:
            return p
        if f * f_high > 0.0:
            high, f_high = p, f
            f_low = f_low / 2.0 if side == 1 else f_low
            side = 1
        else:
            low, f_low = p, f
            f_high = f_high / 2.0 if side == -1 else f_high
            side = -1
    return p


def fraction_of_proof(value: float) -> float:
    """Mass fraction of ethanol of a proof."""
    return 0.0 if value <= 0.0 else _solve(proof, value)


def hydrometer_proof(p: float, t: float) -> float:
    """What a glass proof hydrometer, right at 60 °F, shows in a mixture at t °C."""
    shown = density(p, t) / (1.0 - GLASS * (t - T60))
    if shown >= density(0.0, T60):
        return 0.0
    return proof(_solve(lambda x: density(x, T60), shown))


def fraction_of_hydrometer(shown: float, t: float) -> float:
    """Mass fraction of ethanol from a hydrometer's reading [proof] at t °C."""
    rho = density(fraction_of_proof(shown), T60) * (1.0 - GLASS * (t - T60))
    return _solve(lambda x: density(x, t), rho)


def weight_lb(mass_kg: float, p: float, t: float = 20.0) -> float:
    """Pounds that a balance shows in air for liquid of the mass in vacuo."""
    return mass_kg * (1.0 - AIR / density(p, t)) / (1.0 - AIR / WEIGHTS) / LB_KG


def mass_kg(weight: float, p: float, t: float = 20.0) -> float:
    """Mass in vacuo [kg] of liquid that weighs so many pounds in air."""
    return weight * LB_KG * (1.0 - AIR / WEIGHTS) / (1.0 - AIR / density(p, t))


def gallons(mass: float, p: float, t: float) -> float:
    return mass / density(p, t) * 1000.0 / GAL_L


def mass_of_gallons(gal: float, p: float, t: float) -> float:
    return gal * GAL_L * density(p, t) / 1000.0
