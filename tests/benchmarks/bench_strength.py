"""Glass-alcoholmeter corrections: one array call against a scalar root-finder loop, in the same run.

Run as a script; it prints corrections per second of both and their ratio, and ends with status 1 if the
array call makes fewer than 1,000,000 a second or fewer than 200 times the loop.

The loop is what one would write straight from the standard: the general formula in plain Python, inverted
by scipy's Brent method, for the reading's density and again for the strength at the temperature.
"""

import csv
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy.optimize import brentq

from gaugebook.pipeline.engineering.strength import strength_from_alcoholmeter

ROWS = 1_000_000
LOOP_ROWS = 1_500
REPEATS = 5

_CSV = Path(__file__).parents[2] / "gaugebook" / "pipeline" / "engineering" / "oiml_r22.csv"
with _CSV.open(newline="", encoding="utf-8") as _lines:
    _ROWS = list(csv.DictReader(_lines))
_A = [float(row["value"]) for row in _ROWS if row["coefficient"] == "A"]
_B = [float(row["value"]) for row in _ROWS if row["coefficient"] == "B"]
_C = [(int(row["i"]), int(row["k"]), float(row["value"])) for row in _ROWS if row["coefficient"] == "C"]


def naive_density(p: float, t: float) -> float:
    """The general formula of OIML R 22 (1975), term by term as it is printed."""
    at_20c = sum(a * p**k for k, a in enumerate(_A))
    water = sum(b * (t - 20.0) ** (k + 1) for k, b in enumerate(_B))
    mixed = sum(c * p**k * (t - 20.0) ** i for i, k, c in _C)
    return at_20c + water + mixed


def naive_strength(reading_pct_vol: float, temperature_c: float) -> float:
    """Table VIIIb of OIML R 22 for one reading, by two root searches."""
    ethanol = naive_density(1.0, 20.0)
    p_read = brentq(lambda p: 100.0 * p * naive_density(p, 20.0) / ethanol - reading_pct_vol, 0.0, 1.0)
    rho = naive_density(p_read, 20.0) * (1.0 - 25e-6 * (temperature_c - 20.0))
    p_true = brentq(lambda p: naive_density(p, temperature_c) - rho, 0.0, 1.0)
    return 100.0 * p_true * naive_density(p_true, 20.0) / ethanol


def _fastest(run: Callable[[], object]) -> float:
    """Least of several times [s]: what the machine can do when it is not disturbed."""
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return min(times)


def measure() -> tuple[float, float, float]:
    """Corrections per second of the array call and of the loop, and their largest difference [% vol]."""
    rng = np.random.default_rng(20)
    readings, temperatures = rng.uniform(5.0, 95.0, ROWS), rng.uniform(2.0, 35.0, ROWS)
    few = list(zip(readings[:LOOP_ROWS].tolist(), temperatures[:LOOP_ROWS].tolist(), strict=True))
    strengths = np.asarray(strength_from_alcoholmeter(readings, temperatures))
    by_loop = np.array([naive_strength(q, t) for q, t in few])
    difference = float(np.max(np.abs(strengths[:LOOP_ROWS] - by_loop)))
    array_s = _fastest(lambda: strength_from_alcoholmeter(readings, temperatures))
    loop_s = _fastest(lambda: [naive_strength(q, t) for q, t in few])
    return ROWS / array_s, LOOP_ROWS / loop_s, difference


def main() -> int:
    """Print the table and answer whether both yardsticks are met."""
    array_rate, loop_rate, difference = measure()
    met = array_rate >= 1e6 and array_rate >= 200.0 * loop_rate
    print(f"{'glass-alcoholmeter corrections':<40}{'a second':>14}{'ratio':>10}")
    print(f"{'scalar root-finder loop':<40}{loop_rate:>14,.0f}{1:>10}")
    print(f"{f'one array call of {ROWS:,}':<40}{array_rate:>14,.0f}{array_rate / loop_rate:>10,.0f}")
    print(f"largest difference of the two: {difference:.1e} % vol")
    print(f"at least 1,000,000 a second and 200 times the loop: {'met' if met else 'NOT met'}")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
