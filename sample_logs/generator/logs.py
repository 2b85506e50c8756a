"""What the sensors of a still show, minute by minute, from the course of its distillation."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from random import Random

import numpy as np
from numpy.typing import NDArray

from gaugebook.pipeline.engineering.ethanol_water import density
from gaugebook.pipeline.engineering.strength import alcoholmeter_reading
from gaugebook.pipeline.engineering.vapour import mass_from_mole_fraction, strength_from_mole_fraction

from .equilibrium import (
    ETHANOL_KG_PER_KMOL,
    KELVIN_PER_KPA,
    SITE_PRESSURE_KPA,
    WATER_KG_PER_KMOL,
    boiling_c,
    dew_c,
)
from .records import Log
from .still import Course

Array = NDArray[np.float64]

COOLING_MIN = 8
VAPOUR_RISES_MIN = 7  # before the first distillate


@dataclass(frozen=True)
class Setting:
    """When a log begins and how the still stands that day."""

    run: str
    still: str
    started: datetime
    warm_up_min: int
    pressure_kpa: float
    cooling_min: int = COOLING_MIN
    clock_error_min: int = 0
    stuck: tuple[str, int] | None = None  # tag and minutes


def still_log(rng: Random, setting: Setting, course: Course) -> Log:
    """The values of all tags of a run."""
    pot, distillate, flow = (np.array(v) for v in (course.pot, course.distillate, course.kmol_h))
    shift = KELVIN_PER_KPA * (setting.pressure_kpa - SITE_PRESSURE_KPA)
    pot_c, head_c = boiling_c(pot) + shift, dew_c(distillate) + shift
    middle_c = head_c + 0.18 * (pot_c - head_c)
    volume_l_h = flow * _litres_per_kmol(distillate)
    parrot_c = 18.0 + rng.uniform(-1.0, 2.0) + 2.5 * np.linspace(0.0, 1.0, pot.size)
    values = {
        "pot_temperature_c": _framed(setting, _ramp(setting, pot_c[0]), pot_c, pot_c[-1], 0.25),
        "column_temperature_c": _framed(setting, _late(setting, head_c[0]), middle_c, middle_c[-1], 0.6),
        "vapour_temperature_c": _framed(setting, _late(setting, head_c[0]), head_c, head_c[-1], 0.8),
        "pressure_kpa": np.full(_length(setting, pot.size), setting.pressure_kpa),
        "distillate_flow_l_h": _during(setting, volume_l_h, 0.0),
        "reflux_ratio": _during(setting, np.array(course.reflux), 0.0),
        "parrot_strength_pct_vol": _during(setting, _parrot(distillate, parrot_c), np.nan),
        "parrot_temperature_c": _during(setting, parrot_c, parrot_c[0]),
        "collected_volume_l": _counted(setting, np.cumsum(volume_l_h) / 60.0),
    }  # fmt: skip
    empty = np.isnan(values["parrot_strength_pct_vol"])
    for tag, sd in _NOISE.items():
        values[tag] = values[tag] + np.array([rng.gauss(0.0, sd) for _ in range(values[tag].size)])
    for tag in ("distillate_flow_l_h", "reflux_ratio"):
        values[tag] = values[tag] * np.array([1.0 + rng.gauss(0.0, 0.012) for _ in range(values[tag].size)])
    values["parrot_strength_pct_vol"][empty] = 0.0  # the float lies on the bottom of an empty parrot
    if setting.stuck:
        tag, minutes = setting.stuck
        first = setting.warm_up_min + course.hearts_from_min + 90
        values[tag][first : first + minutes] = values[tag][first]
    return Log(setting.run, setting.still, setting.started, values, setting.clock_error_min)


# Standard deviation of what a sensor shows about the truth.
_NOISE = {
    "pot_temperature_c": 0.10,
    "column_temperature_c": 0.10,
    "vapour_temperature_c": 0.09,
    "pressure_kpa": 0.06,
    "parrot_strength_pct_vol": 0.10,
    "parrot_temperature_c": 0.12,
}


def _counted(setting: Setting, during: Array) -> Array:
    """A counter: nought before, its last value after."""
    return np.concatenate([np.zeros(setting.warm_up_min), during, np.full(setting.cooling_min, during[-1])])


def minute(log: Log, number: int) -> datetime:
    """What the logger's clock shows at a minute of the log."""
    return log.started + timedelta(minutes=number + log.clock_error_min)


def _length(setting: Setting, minutes: int) -> int:
    return setting.warm_up_min + minutes + setting.cooling_min


def _ramp(setting: Setting, end_c: float) -> Array:
    return np.linspace(21.0, end_c, setting.warm_up_min)


def _late(setting: Setting, end_c: float) -> Array:
    """Cold until the vapour arrives."""
    before = setting.warm_up_min - VAPOUR_RISES_MIN
    return np.concatenate([np.linspace(20.0, 23.0, before), np.linspace(30.0, end_c, VAPOUR_RISES_MIN)])


def _framed(setting: Setting, before: Array, during: Array, last_c: float, fall_per_min: float) -> Array:
    after = last_c - fall_per_min * np.arange(1, setting.cooling_min + 1)
    return np.concatenate([before, during, after])


def _during(setting: Setting, during: Array, outside: float) -> Array:
    return np.concatenate([np.full(setting.warm_up_min, outside), during, np.full(setting.cooling_min, outside)])


def _litres_per_kmol(mole_fraction: Array) -> Array:
    mass = mole_fraction * ETHANOL_KG_PER_KMOL + (1.0 - mole_fraction) * WATER_KG_PER_KMOL
    return mass / np.asarray(density(mass_from_mole_fraction(mole_fraction), 20.0)) * 1000.0


def _parrot(mole_fraction: Array, temperature_c: Array) -> Array:
    """What the alcoholmeter in the parrot shows, uncorrected."""
    strength = np.maximum(np.asarray(strength_from_mole_fraction(mole_fraction)), 2.0)
    return np.asarray(alcoholmeter_reading(strength, temperature_c))
