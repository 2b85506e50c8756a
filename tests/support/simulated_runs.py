"""Still runs with known truth: the sample generator's distillation, read by sensors with stated errors.

The stills are the tests' own, of figures that are common practice: a strip of about 250 L at 90 % vol in six hours
under eight plates, sixty plates for neutral spirit. The sample house has others.
"""

import sys
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from random import Random

import numpy as np
from numpy.typing import NDArray

from gaugebook.pipeline.derived.curves.records import Circumstances, Gauged

sys.path.insert(0, str(Path(__file__).parents[2]))  # the generator lies beside the packages

from sample_logs.generator.chance import bounded
from sample_logs.generator.equilibrium import SITE_PRESSURE_KPA
from sample_logs.generator.logs import Setting, still_log
from sample_logs.generator.mixing import Liquid
from sample_logs.generator.still import Course, Policy, distil

Array = NDArray[np.float64]

DECIMALS = {
    "pot_temperature_c": 1, "column_temperature_c": 1, "vapour_temperature_c": 1, "pressure_kpa": 2,
    "distillate_flow_l_h": 1, "reflux_ratio": 2, "parrot_strength_pct_vol": 1, "parrot_temperature_c": 1,
    "collected_volume_l": 2,
}  # fmt: skip
KINDS = ("strip", "rectify", "botanical", "fruit")
_NOT_LOGGED = {
    "strip": ("collected_volume_l", "reflux_ratio"),
    "rectify": ("parrot_strength_pct_vol", "parrot_temperature_c", "collected_volume_l"),
    "botanical": ("column_temperature_c", "reflux_ratio"),
    "fruit": ("column_temperature_c", "reflux_ratio"),
}
_PLATES = {"strip": 8, "rectify": 60, "botanical": 3, "fruit": 3}
U_FLOW_PART, U_STRENGTH, U_TEMPERATURE = 0.010, 0.15, 0.3


@dataclass(frozen=True)
class SimulatedRun:
    """A log as its device writes it, what is known around it, and the truth."""

    kind: str
    times_s: Array
    values: dict[str, Array]
    circumstances: Circumstances
    hearts_from_s: float
    hearts_to_s: float
    first_drop_s: float
    end_s: float
    alcohol_l: dict[str, float]  # that passed the parrot, by part
    volume_l: dict[str, float]


def simulated_run(seed: int, kind: str | None = None, *, errors: bool = True) -> SimulatedRun:
    """One run; with `errors` flow meter, parrot and thermometers are off by draws from their stated uncertainties."""
    rng = Random(f"curve-{seed}")
    kind = kind or KINDS[seed % len(KINDS)]
    charge, policy = _working(rng, kind)
    course = distil(charge, policy)
    setting = Setting("RUN", "X", datetime(2026, 1, 1), rng.randint(50, 62), rng.gauss(SITE_PRESSURE_KPA, 0.8))
    shown = still_log(rng, setting, course).values
    factor = {
        "distillate_flow_l_h": 1.0 + rng.gauss(0.0, U_FLOW_PART),
        "collected_volume_l": 1.0 + rng.gauss(0.0, 0.005),
    }
    offset = {
        "parrot_strength_pct_vol": rng.gauss(0.0, U_STRENGTH), "parrot_temperature_c": rng.gauss(0.0, U_TEMPERATURE),
        "pot_temperature_c": rng.gauss(0.0, U_TEMPERATURE), "vapour_temperature_c": rng.gauss(0.0, U_TEMPERATURE),
        "column_temperature_c": rng.gauss(0.0, U_TEMPERATURE), "pressure_kpa": rng.gauss(0.0, 0.2),
    }  # fmt: skip
    values = {}
    for tag, series in shown.items():
        if tag in _NOT_LOGGED[kind]:
            continue
        if errors:
            resting = series == 0.0
            series = np.where(resting, 0.0, series * factor.get(tag, 1.0) + offset.get(tag, 0.0))
        values[tag] = np.round(series, DECIMALS[tag])
    minutes = values["pot_temperature_c"].size
    start = setting.warm_up_min * 60.0
    lost = 1.0 - policy.lost
    parts = {"heads": course.heads, "hearts": course.hearts, "tails": course.tails}
    circumstances = Circumstances(
        plates=_PLATES[kind], site_pressure_kpa=SITE_PRESSURE_KPA, u_strength_pct_vol=U_STRENGTH,
        u_temperature_c=U_TEMPERATURE, u_flow_part=U_FLOW_PART, charge_strength_pct_vol=charge.strength_pct_vol,
        spent_strength_pct_vol=_strength(course.spent),
        gauged={part: _gauged(rng, liquid) for part, liquid in parts.items()},
        hearts_from_s=start + 60.0 * course.hearts_from_min, hearts_to_s=start + 60.0 * course.hearts_to_min,
    )  # fmt: skip
    return SimulatedRun(
        kind, 60.0 * np.arange(minutes), values, circumstances, start + 60.0 * course.hearts_from_min,
        start + 60.0 * course.hearts_to_min, start, start + 60.0 * course.minutes,
        {part: liquid.alcohol_l / lost for part, liquid in parts.items()}, _passed(course, setting.warm_up_min, rng),
    )  # fmt: skip


def finer(run: SimulatedRun, every_s: float, seed: int) -> SimulatedRun:
    """The same run logged more often: values between the minutes, with the noise of each sensor anew."""
    rng = np.random.default_rng(seed)
    t = np.arange(0.0, run.times_s[-1] + every_s / 2, every_s)
    values = {}
    for tag, series in run.values.items():
        between = np.interp(t, run.times_s, series)
        sd = 0.012 * between if tag in ("distillate_flow_l_h", "reflux_ratio") else 0.08
        noisy = (
            between
            if tag == "collected_volume_l"
            else np.where(between == 0.0, 0.0, between + rng.normal(0, sd, t.size))
        )
        values[tag] = np.round(noisy, DECIMALS[tag])
    return replace(run, times_s=t, values=values)


def _working(rng: Random, kind: str) -> tuple[Liquid, Policy]:
    def near(mean: float, sd: float) -> float:
        return bounded(rng, mean, sd)

    if kind == "strip":
        liquid = _liquid(near(2580.0, 60.0), near(9.4, 0.25))
        return liquid, Policy(6, 9.6, near(93.4, 0.15), 2.0, 18.0, 3.0, near(0.008, 0.001), near(0.955, 0.006),
                              near(0.013, 0.0015), 0.004)  # fmt: skip
    if kind == "rectify":
        liquid = _liquid(near(2500.0, 100.0), near(50.0, 0.5))
        return liquid, Policy(25, 13.2, near(96.42, 0.05), 2.5, 9.0, 1.5, near(0.03, 0.002), near(0.88, 0.009),
                              near(0.0145, 0.003), 0.012)  # fmt: skip
    if kind == "fruit":
        liquid = _liquid(near(420.0, 30.0), near(34.0, 2.0))
        return liquid, Policy(1, 2.0, near(80.0, 0.4), 0.3, 3.0, 0.6, near(0.03, 0.003), near(0.88, 0.008),
                              near(0.0145, 0.003), 0.012)  # fmt: skip
    liquid = _liquid(near(1100.0, 60.0), near(28.5, 0.8))
    return liquid, Policy(0, 2.6, 95.0, 0.0, 0.0, 0.0, near(0.014, 0.003), near(0.855, 0.01), near(0.0145, 0.003), 0.04)


def _liquid(volume_l: float, strength_pct_vol: float) -> Liquid:
    ethanol = volume_l * strength_pct_vol / 100.0 * 0.78924
    liquid = Liquid(ethanol, 1.0)
    water = 1.0  # by halving: mixing shrinks, so the water of a volume is not what is left of it
    low, high = 0.0, volume_l
    while high - low > 1e-3:
        water = (low + high) / 2
        liquid = Liquid(ethanol, water)
        low, high = (water, high) if liquid.volume_l < volume_l else (low, water)
    return liquid


def _strength(liquid: Liquid) -> float:
    return liquid.strength_pct_vol if liquid.volume_l > 0 else 0.0


def _gauged(rng: Random, liquid: Liquid) -> Gauged:
    """A receiver gauged with 0.3 % of its volume and 0.15 % vol of its strength."""
    volume = liquid.volume_l * (1.0 + rng.gauss(0.0, 0.003))
    strength = liquid.strength_pct_vol + rng.gauss(0.0, U_STRENGTH)
    u = float(np.hypot(0.003 * strength, U_STRENGTH)) * volume / 100.0
    return Gauged(volume, 0.003 * volume, volume * strength / 100.0, u, strength)


def _passed(course: Course, warm_up_min: int, rng: Random) -> dict[str, float]:
    """Volume at 20 °C that passed the meter, by part: the sum of the minutes' own volumes."""
    flow = still_log(Random(0), Setting("RUN", "X", datetime(2026, 1, 1), warm_up_min, SITE_PRESSURE_KPA), course)
    counted = flow.values["collected_volume_l"][warm_up_min : warm_up_min + course.minutes]
    edges = [0, course.hearts_from_min, course.hearts_to_min, course.minutes]
    total = np.concatenate([[0.0], counted])
    parts = zip(("heads", "hearts", "tails"), edges[:-1], edges[1:], strict=True)
    return {part: float(total[stop] - total[start]) for part, start, stop in parts}
