"""The oracle house gauged by hand: every line of its files brought to litres at 20 °C, % vol and litres of alcohol,
with the uncertainties that its profile states (GUM, JCGM 100:2008, 5.1.2: each input moved by its own standard
uncertainty).

Nothing of the program is used; physics stands in by_hand_r22.py. What the profile states is typed here once more.
"""

import csv
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from math import sqrt
from pathlib import Path
from zoneinfo import ZoneInfo

from tests.oracle import by_hand_r22 as r22

HOUSE = Path(__file__).parent / "house"
ZONE = ZoneInfo("Europe/Copenhagen")

# house.toml, [uncertainty]; "scatter" 0.6 is the single reading's part, so the instrument's own is sqrt(1 - 0.6^2) =
# 0.8.
SINGLE, SHARED = 0.6, 0.8
VOLUME_PCT, MASS_PCT, TEMPERATURE_K, ANY_STRENGTH = 0.5, 0.2, 0.4, 0.12
VESSELS = {"F1": 0.4, "H1": 0.3, "N1": 0.25, "N2": 0.35, "D1": 0.2, "P1": 0.45, "C1": 1.1}  # u of a volume [%]
STEEL = {"F1", "H1", "N1", "N2", "D1", "P1"}
STEEL_PER_K = 51e-6  # cubic expansion of austenitic steel [1/K]: three times 17e-6 (handbook value, from memory)
METERS = {"HYD-1": 0.16, "DM-1": 0.22, "DM-2": 0.06}  # u in % vol, kg/m3, kg/m3
BAL_1_KG = 0.003
AMENDED = {("gauges.csv", 22): {"S": "36.3"}}  # BOT-1-T: written 63.3, digits changed over; see conftest.py


def utc(text: str, form: str = "%Y-%m-%d %H:%M") -> datetime:
    """A local time of the files in UTC, without its zone, as the book keeps it."""
    return datetime.strptime(text, form).replace(tzinfo=ZONE).astimezone(UTC).replace(tzinfo=None)


def read(name: str, separator: str = ",") -> list[dict[str, str]]:
    """Rows of a file of the house, with file and line, as amended."""
    with (HOUSE / name).open(newline="", encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines, delimiter=separator))
    return [
        {**row, "file": name, "line": str(line), **AMENDED.get((name, line), {})}
        for line, row in enumerate(rows, start=2)
    ]


@dataclass
class Gauge:
    """What one line tells, and what a standard uncertainty of each error gives to its volume and alcohol, signed."""

    place: str  # file:line
    volume: float | None = None  # [L at 20 °C]
    strength: float | None = None  # [% vol]
    u_strength: float | None = None
    alcohol: float | None = None  # [LPA]
    mass: float | None = None  # [kg in air]
    errors: dict[str, tuple[float, float]] = field(default_factory=dict)
    mass_errors: dict[str, float] = field(default_factory=dict)  # of what carries no alcohol: effect on its mass

    @property
    def u_volume(self) -> float | None:
        """Errors of different names are independent: their squares add up."""
        return None if self.volume is None else sqrt(sum(v**2 for v, _ in self.errors.values()))

    @property
    def u_alcohol(self) -> float | None:
        """The same of alcohol."""
        return None if self.alcohol is None else sqrt(sum(a**2 for _, a in self.errors.values()))


@dataclass
class Input:
    """A reading, its standard uncertainty, and the name of what shares that with other gauges (none: all its own)."""

    value: float
    u: float
    shared_as: str | None = None


def worked_out(
    place: str, alone: str, fraction_and_volume: Callable[..., tuple[float, float]], **inputs: Input
) -> Gauge:
    """A gauge from its readings: each moved by its own uncertainty, up and down, gives the effects (JCGM 100, 5.1.3).

    Of each input 0.6 is the single reading's, added up under the gauge's own name by squares; 0.8 is the instrument's,
    added up under the instrument's name with its sign: one thermometer reads both temperatures.
    """

    def result(**values: float) -> tuple[float, float, float, float]:
        p, volume = fraction_and_volume(**values)
        strength = r22.strength_of(p)
        return volume, strength, volume * strength / 100.0, r22.in_air(volume, p)

    values = {name: one.value for name, one in inputs.items()}
    volume, strength, alcohol, mass = result(**values)
    gauge = Gauge(place, volume, strength, None, alcohol, mass)
    own, of_strength = [0.0, 0.0], 0.0
    for name, one in inputs.items():
        up, down = (result(**{**values, name: one.value + sign * one.u}) for sign in (1.0, -1.0))
        by_volume, by_strength, by_alcohol = ((up[i] - down[i]) / 2.0 for i in range(3))
        part = SINGLE if one.shared_as else 1.0
        own = [own[0] + (part * by_volume) ** 2, own[1] + (part * by_alcohol) ** 2]
        of_strength += by_strength**2
        if one.shared_as:
            before = gauge.errors.get(one.shared_as, (0.0, 0.0))
            gauge.errors[one.shared_as] = (before[0] + SHARED * by_volume, before[1] + SHARED * by_alcohol)
    gauge.u_strength = sqrt(of_strength)
    gauge.errors[alone] = (sqrt(own[0]), sqrt(own[1]))
    return gauge


def _of_volume(kind: str | None, steel: bool) -> Callable[..., tuple[float, float]]:
    def at_20(volume: float, t: float, reading: float = 0.0, t_reading: float = 20.0) -> tuple[float, float]:
        p = r22.fraction_read(kind, reading, t_reading) if kind else 0.0
        return p, r22.volume_at_20(volume, t, p) * (1.0 + STEEL_PER_K * (t - 20.0) if steel else 1.0)

    return at_20


def _number(text: str | None) -> float | None:
    return float(text) if text else None


def gauge_of(row: dict[str, str], alone: str, volume: float | None, kind: str | None) -> Gauge:
    """The gauge of a line with columns L (or kg), tV, S, "read as", tS, meter and vessel.

    DIST-1 into BLE-1: 199.0 L at 18.0 °C in steel, glass 75.9 at 18.5 °C. Density of 75.9 % vol at 20 °C, times
    1 - 25e-6 x (18.5 - 20), is that of 76.364 % vol at 18.5 °C. 199.0 L x rho(18) / rho(20) = 199.387 L, times
    1 + 51e-6 x (18 - 20) = 199.367 L. 199.367 L x 76.364 / 100 = 152.245 LPA.
    NS-1 out of REC-1: 182.6 kg in air at 96.217 % vol; 182.6 kg / 0.80546 kg/L = 226.70 L; 218.13 LPA.
    """
    place, vessel = f"{row['file']}:{row['line']}", row.get("vessel", "")
    inputs: dict[str, Input] = {}
    if kind:
        meter = row.get("meter", "")
        shared = f"instrument {meter}" if meter else f"any {kind}"
        inputs["reading"] = Input(float(row["S"]), METERS.get(meter, ANY_STRENGTH), shared)
        if kind != "pct_vol_20c":
            inputs["t_reading"] = Input(float(row["tS"]), TEMPERATURE_K, "thermometer")
    if volume is None:
        mass = float(row["kg"])

        def of_mass(kg: float, reading: float, t_reading: float = 20.0) -> tuple[float, float]:
            p = r22.fraction_read(str(kind), reading, t_reading)
            return p, r22.volume_weighed(kg, p)

        return worked_out(place, alone, of_mass, kg=Input(mass, mass * MASS_PCT / 100.0, "balance"), **inputs)
    u = volume * VESSELS.get(vessel, VOLUME_PCT) / 100.0
    inputs["volume"] = Input(volume, u, f"vessel {vessel}" if vessel in VESSELS else None)
    inputs["t"] = Input(float(row.get("tV") or 20.0), TEMPERATURE_K, "thermometer")
    gauge = worked_out(place, alone, _of_volume(kind, vessel in STEEL), **inputs)
    if kind is None:
        gauge.strength, gauge.u_strength = None, None
    return gauge
