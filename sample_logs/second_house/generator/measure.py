"""How the house reads a true state: noise within the stated uncertainty, then the instrument's resolution.

Noise is drawn at seven tenths of the standard uncertainty and cut off at twice the drawn deviation.
"""

import zlib

import numpy as np

from . import alcohol
from .ledger import Place

# Standard uncertainties, as README.md states them.
U_DIP_PCT = 0.3  # gauge rod or meter of a tank
U_METER_PCT = 0.3  # flow meter of casks
U_HYDROMETER = 0.25  # proof
U_DENSITY_METER = 0.08  # proof
U_LABORATORY = 0.05  # proof
U_LAB_ABV = 0.06  # % vol of beer and stillage
U_TEMP_F = 0.4
U_CASK_LB = 0.5  # cask scale
U_FLOOR_PCT = 0.1  # floor scale
IN_HAND = 0.7


class Chance:
    """Random numbers that belong to a name: the same ones whatever else was drawn."""

    def __init__(self, seed: int) -> None:
        self.seed = seed

    def of(self, name: str) -> np.random.Generator:
        return np.random.default_rng([self.seed, zlib.crc32(name.encode())])


def noise(rng: np.random.Generator, u: float) -> float:
    return float(np.clip(rng.normal(), -2.0, 2.0)) * u * IN_HAND


def to_step(value: float, step: float) -> float:
    return round(round(value / step) * step, 6)


def temperature(rng: np.random.Generator, temp_f: float) -> float:
    return to_step(temp_f + noise(rng, U_TEMP_F), 0.5)


def strength(rng: np.random.Generator, p: float, temp_f: float, how: str) -> dict[str, object]:
    """Proof by hydrometer as read (HYD), by density meter at 60 °F (DM60), or % vol by laboratory (ABV LAB)."""
    if how == "HYD":
        shown = alcohol.hydrometer_proof(p, alcohol.celsius(temp_f))
        return {"Proof": max(0.0, to_step(shown + noise(rng, U_HYDROMETER), 0.2)), "Proof Type": "HYD",
                "Proof Temp F": temperature(rng, temp_f), "Inst": "PH-2" if shown > 100.0 else "PH-1"}  # fmt: skip
    if how == "DM60":
        return {"Proof": to_step(alcohol.proof(p) + noise(rng, U_DENSITY_METER), 0.1), "Proof Type": "DM60",
                "Inst": "DM-5"}  # fmt: skip
    shown = alcohol.proof(p) / 2.0 + noise(rng, U_LAB_ABV)
    return {"Proof": max(0.0, to_step(shown, 0.01)), "Proof Type": "ABV LAB", "Inst": "DM-6"}


def tank(rng: np.random.Generator, held: Place, temp_f: float, how: str, solids_gal: float = 0.0) -> dict[str, object]:
    """A tank's wine gallons as dipped at its temperature, and its strength."""
    gal = (held.gallons(temp_f) + solids_gal) * (1.0 + noise(rng, U_DIP_PCT) / 100.0)
    step = 0.1 if gal < 100.0 else 0.5 if gal < 1000.0 else 1.0
    read = {"Gal": to_step(gal, step), "Temp F": temperature(rng, temp_f), **strength(rng, held.p, temp_f, how)}
    if solids_gal:  # the laboratory distils the beer as it is: its % vol is of the whole, solids too
        whole = read["Proof"] * held.gallons() / (held.gallons() + solids_gal)
        read["Proof"] = to_step(whole, 0.01)
    return read


def weigh_cask(rng: np.random.Generator, tare_true: float, held: Place, temp_f: float) -> float:
    lb = tare_true + (alcohol.weight_lb(held.mass, held.p, alcohol.celsius(temp_f)) if held.mass > 0.0 else 0.0)
    return to_step(lb + noise(rng, U_CASK_LB), 0.5)


def fraction_read(row: dict) -> float:
    """Mass fraction of ethanol from what a row says of strength."""
    value = float(row["Proof"])
    if row.get("Proof Type") == "HYD":
        return alcohol.fraction_of_hydrometer(value, alcohol.celsius(float(row["Proof Temp F"])))
    return alcohol.fraction_of_proof(2.0 * value if row.get("Proof Type") == "ABV LAB" else value)


def ethanol_by_weight(net_lb: float, row: dict) -> float:
    """kg of ethanol from net pounds in air and the strength of a row."""
    p = fraction_read(row)
    return alcohol.mass_kg(net_lb, p) * p


def ethanol_by_volume(row: dict, gal: str = "Gal", temp: str = "Temp F") -> float:
    """kg of ethanol from gallons at their temperature and the strength of a row."""
    p = fraction_read(row)
    return alcohol.mass_of_gallons(float(row[gal]), p, alcohol.celsius(float(row[temp]))) * p


def u_of_weighed(net_lb: float, row: dict) -> float:
    """Standard uncertainty [kg of ethanol] of a weighed cask: scale, tare and strength."""
    scale = U_CASK_LB * 2.0**0.5
    by_lb = (ethanol_by_weight(net_lb + scale, row) - ethanol_by_weight(net_lb, row)) ** 2
    return (by_lb + _u_strength(row, lambda changed: ethanol_by_weight(net_lb, changed))) ** 0.5


def u_of_volume(row: dict, u_pct: float = U_DIP_PCT, gal: str = "Gal", temp: str = "Temp F") -> float:
    """Standard uncertainty [kg of ethanol] of gallons with their strength and temperature."""
    value = ethanol_by_volume(row, gal, temp)
    warmer = ethanol_by_volume(row | {temp: float(row[temp]) + U_TEMP_F}, gal, temp)
    of_strength = _u_strength(row, lambda changed: ethanol_by_volume(changed, gal, temp))
    return ((value * u_pct / 100.0) ** 2 + (warmer - value) ** 2 + of_strength) ** 0.5


def _u_strength(row: dict, ethanol) -> float:
    """Square of what the strength's own uncertainty makes of the ethanol, its resolution with it."""
    how = row.get("Proof Type")
    u, step = {"HYD": (U_HYDROMETER, 0.2), "ABV LAB": (U_LAB_ABV, 0.01)}.get(how, (U_DENSITY_METER, 0.1))
    u = (u**2 + step**2 / 12.0) ** 0.5
    value, total = ethanol(row), 0.0
    total += (ethanol(row | {"Proof": float(row["Proof"]) + u}) - value) ** 2
    if how == "HYD":
        total += (ethanol(row | {"Proof Temp F": float(row["Proof Temp F"]) + U_TEMP_F}) - value) ** 2
    return total
