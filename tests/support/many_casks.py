"""Two thousand invented casks over eight years: filled in fifty runs, gauged again each year by weight, some leaking.

What they hold follows a rate of their own; the readings scatter as the profile of `cask_house` says. Nothing is shared
with the book but the names of the fields.
"""

import csv
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
from cask_house import HOUSE
from r22_formula import density, mass_fraction_of_strength

YEAR = timedelta(days=365.2425)
TARE_KG, FILLED_L, FILLED_PCT_VOL = 50.0, 195.0, 62.5
U_MASS_PCT, U_STRENGTH_PCT_VOL, SCATTER = 0.1, 0.1, 0.8  # of the profile
AIR = 0.99895  # what the air's lift leaves of a weight in liquids of some 900 kg/m3, the same in each weighing

MAP = """
describes = "{kind} (invented)"
files = ["{kind}_*.csv"]
[read]
format = "csv"
[[records]]
kind = "{kind}"
header = ["{first}"]
[records.columns]
"""
FIELDS = {
    "casks": {"cask": None, "tare_kg": "kg", "nominal_l": "L", "wood": None, "location": None},
    "cask_events": {
        "cask": None, "event": None, "happened_at": None, "run": None, "lot": None, "gross_kg": "kg",
        "strength_reading": "pct_vol", "reading_kind": None,
    },
    "opening_stock": {
        "lot": None, "material": None, "kind": None, "vessel": None, "counted_at": None, "volume_at_t_l": "L",
        "strength_reading": "pct_vol", "reading_kind": None,
    },
}  # fmt: skip


@dataclass(frozen=True)
class ManyCasks:
    """A house of casks on disk; its true rates of evaporation, and which casks leak from their fourth year on."""

    site: Path
    true_per_year: dict[str, float]
    leaking: frozenset[str]

    def regauges(self, year: int) -> Path:
        return self.site / f"cask_events_{year}.csv"


def many_casks(site: Path, casks: int = 2000, leaks: int = 10, years: int = 8, seed: int = 7) -> ManyCasks:
    """Write profile, maps and files of so many casks."""
    random = np.random.default_rng(seed)
    names = [f"C{number:04}" for number in range(1, casks + 1)]
    rates = random.normal(0.045, 0.006, casks)
    leaking = np.zeros(casks, bool)
    leaking[random.choice(casks, leaks, replace=False)] = True
    leak_rates = np.where(leaking, random.uniform(0.05, 0.15, casks), 0.0)
    began = datetime(2016, 1, 4)
    filled_at = [began + timedelta(days=7 * (number // 40), minutes=5 * (number % 40)) for number in range(casks)]

    (site / "maps").mkdir(parents=True)
    (site / "house.toml").write_text(HOUSE, encoding="utf-8")
    for kind, fields in FIELDS.items():
        lines = [
            f'{name} = {{ column = "{name}", unit = "{unit}" }}' if unit else f'{name} = "{name}"'
            for name, unit in fields.items()
        ]
        (site / "maps" / f"{kind}.toml").write_text(
            MAP.format(kind=kind, first=next(iter(fields))) + "\n".join(lines) + "\n"
        )
    opening = [["NM", "new make", "spirit", "T1", began, 1.05 * FILLED_L * casks, FILLED_PCT_VOL, "pct_vol_20c"]]
    _write(site / "opening_stock_1.csv", "opening_stock", opening)
    _write(site / "casks_1.csv", "casks", [[name, TARE_KG, 200, "american oak", "W1"] for name in names])

    def gauged(number: int, age: float) -> list[object]:
        left = np.exp(-rates[number] * age - leak_rates[number] * max(age - 4.0, 0.0))
        strength = FILLED_PCT_VOL + 0.3 * age
        litres = FILLED_L * FILLED_PCT_VOL * left / strength
        kg = litres * density(mass_fraction_of_strength(strength), 20.0) / 1000.0 * AIR
        kg *= 1 + SCATTER * U_MASS_PCT / 100 * random.standard_normal()
        read = strength + SCATTER * U_STRENGTH_PCT_VOL * random.standard_normal()
        return [f"{TARE_KG + kg:.4f}", f"{read:.4f}", "pct_vol_20c"]

    fills = [
        [name, "filled", filled_at[n], f"FILL-{n // 40:02}", "NM", *gauged(n, 0.0)] for n, name in enumerate(names)
    ]
    _write(site / "cask_events_0.csv", "cask_events", fills)
    for year in range(1, years + 1):
        again = [
            [name, "regauged", filled_at[n] + year * YEAR, "", "", *gauged(n, float(year))]
            for n, name in enumerate(names)
        ]
        _write(site / f"cask_events_{year}.csv", "cask_events", again)
    true = {name: float(1 - np.exp(-rate)) for name, rate in zip(names, rates, strict=True)}
    return ManyCasks(site, true, frozenset(name for name, leaks_ in zip(names, leaking, strict=True) if leaks_))


def _write(path: Path, kind: str, rows: list[list[object]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(FIELDS[kind])
        writer.writerows(
            [f"{cell:%Y-%m-%d %H:%M:%S}" if isinstance(cell, datetime) else cell for cell in row] for row in rows
        )
