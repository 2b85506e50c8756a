"""How the NRTL parameters of pipeline/engineering/vapour.py were found; run it to find them again.

Least squares on the handbook's table at 101.325 kPa and on the azeotropes at three pressures. Deviations
are raised to the power 1.7, so that no point of the table strays far. The temperature slopes B are held
near those of the published set (Gmehling and Onken, DECHEMA: A -0.8009 and 3.4578, B 246.18 and
-586.0809 K, alpha 0.3), which keeps other pressures sound where the table has nothing to say; the test
against an independent equation of state confirms that.
"""

import csv
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

HERE = Path(__file__).parent
Array = NDArray[np.float64]

PUBLISHED_B_K = np.array([246.18, -586.0809])
START = [-0.5175, 3.1627, 246.0, -586.0, 0.435]

# What a deviation of 1 means in each kind of residual.
TEMPERATURE_C, VAPOUR_FRACTION, AZEOTROPE_FRACTION, SLOPE_K = 0.3, 0.007, 1e-4, 200.0


def columns(name: str) -> list[Array]:
    """Columns of a table of published values."""
    with (HERE / name).open(encoding="utf-8") as lines:
        rows = list(csv.reader(line for line in lines if not line.startswith("#")))
    return list(np.array(rows[1:], dtype=float).T)


def partial_pressures(parameters: Array, x: Array, t: Array) -> tuple[Array, Array]:
    """Partial pressures of ethanol and water [kPa] by NRTL and Antoine, written out once more."""
    a12, a21, b12, b21, alpha = parameters
    tau12, tau21 = a12 + b12 / (t + 273.15), a21 + b21 / (t + 273.15)
    g12, g21 = np.exp(-alpha * tau12), np.exp(-alpha * tau21)
    x2 = 1.0 - x
    ln1 = x2**2 * (tau21 * (g21 / (x + x2 * g21)) ** 2 + tau12 * g12 / (x2 + x * g12) ** 2)
    ln2 = x**2 * (tau12 * (g12 / (x2 + x * g12)) ** 2 + tau21 * g21 / (x + x2 * g21) ** 2)
    ethanol = 10.0 ** (8.1122 - 1592.864 / (226.184 + t)) * 101.325 / 760.0
    water = 10.0 ** (8.07131 - 1730.63 / (233.426 + t)) * 101.325 / 760.0
    return x * np.exp(ln1) * ethanol, x2 * np.exp(ln2) * water


def boiling(parameters: Array, x: Array, pressure_kpa: Array) -> tuple[Array, Array]:
    """Boiling temperature [°C] and vapour mole fraction."""
    t = np.full_like(x, 85.0)
    for _ in range(40):
        here, warmer = sum(partial_pressures(parameters, x, t)), sum(partial_pressures(parameters, x, t + 1e-3))
        t = t - np.log(here / pressure_kpa) / (np.log(warmer / here) / 1e-3)
    ethanol, water = partial_pressures(parameters, x, t)
    return t, ethanol / (ethanol + water)


def residuals(parameters: Array) -> Array:
    """Deviations from the table, from the azeotropes, and from the published temperature slopes."""
    t, x, y = (column[:-1] for column in columns("vapour_liquid_101kpa.csv"))
    found_t, found_y = boiling(parameters, x, np.full_like(x, 101.325))
    table = np.concatenate([(found_t - t) / TEMPERATURE_C, (found_y - y) / VAPOUR_FRACTION])
    mmhg, mass_pct, _ = columns("azeotropes.csv")
    azeotrope_x = mass_pct / 46.068 / (mass_pct / 46.068 + (100.0 - mass_pct) / 18.015)
    azeotrope_y = boiling(parameters, azeotrope_x, mmhg * 101.325 / 760.0)[1]
    return np.concatenate(
        [
            np.sign(table) * np.abs(table) ** 1.7,
            (azeotrope_y - azeotrope_x) / AZEOTROPE_FRACTION,
            (parameters[2:4] - PUBLISHED_B_K) / SLOPE_K,
        ]
    )


if __name__ == "__main__":
    found = least_squares(residuals, START, x_scale=[0.1, 0.1, 30.0, 30.0, 0.05], max_nfev=400).x
    print("A {:.4f} {:.4f}  B {:.2f} {:.2f} K  alpha {:.4f}".format(*found))
