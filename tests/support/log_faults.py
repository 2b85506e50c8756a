"""ParseErrors put into a simulated log, one of each kind that the cleaning and the physics are to find."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from random import Random

import numpy as np
from numpy.typing import NDArray
from simulated_runs import SimulatedRun

Array = NDArray[np.float64]

TEMPERATURES = ("pot_temperature_c", "vapour_temperature_c", "column_temperature_c")
SPIKY = (*TEMPERATURES, "pressure_kpa", "distillate_flow_l_h", "parrot_strength_pct_vol", "parrot_temperature_c")


@dataclass(frozen=True)
class Planted:
    """A log with a fault: what must be found, of which sensor (None: any), and where."""

    run: SimulatedRun
    kind: str
    tag: str | None
    first_s: float
    last_s: float


def _span(run: SimulatedRun, rng: Random, least_min: int, most_min: int) -> tuple[int, int]:
    """First and last row of a stretch while distillate runs."""
    length = rng.randint(least_min, most_min)
    first = int(run.first_drop_s / 60) + 10
    last = int(run.end_s / 60) - length - 10
    start = rng.randint(first, last)
    return start, start + length


def _with(run: SimulatedRun, times: Array | None = None, **values: Array) -> SimulatedRun:
    return replace(run, times_s=run.times_s if times is None else times, values=run.values | values)


def _rows(run: SimulatedRun, rows: NDArray[np.int64], times: Array | None = None) -> SimulatedRun:
    times = run.times_s[rows] if times is None else times
    return replace(run, times_s=times, values={tag: series[rows] for tag, series in run.values.items()})


def irregular(run: SimulatedRun, rng: Random) -> Planted:
    """Rows that come up to two fifths of the interval early or late, all through."""
    noise = np.array([rng.uniform(-24.0, 24.0) for _ in run.times_s])
    return Planted(_with(run, run.times_s + noise), "irregular sampling", None, 0.0, run.times_s[-1])


def gap(run: SimulatedRun, rng: Random) -> Planted:
    """A quarter of an hour to an hour without rows."""
    first, last = _span(run, rng, 15, 60)
    keep = np.r_[0 : first + 1, last : run.times_s.size]
    return Planted(_rows(run, keep), "gap", None, 60.0 * first, 60.0 * last)


def duplicate(run: SimulatedRun, rng: Random) -> Planted:
    """A few rows written twice."""
    first, last = _span(run, rng, 1, 5)
    twice = np.sort(np.r_[0 : run.times_s.size, first:last])
    return Planted(_rows(run, twice), "duplicate", None, 60.0 * first, 60.0 * last)


def clock_step(run: SimulatedRun, rng: Random) -> Planted:
    """A clock that is set half an hour to an hour forward or back while distillate runs."""
    row, _ = _span(run, rng, 1, 2)
    step = 60.0 * rng.choice([-60, -45, -30, 30, 45, 60])
    return Planted(_with(run, run.times_s + np.where(np.arange(run.times_s.size) > row, step, 0.0)), "clock step", None,
                   60.0 * row, 60.0 * row)  # fmt: skip


def spike(run: SimulatedRun, rng: Random) -> Planted:
    """One wild value: 3 to 20 K, % vol or kPa off, a flow off by 20 to 80 %."""
    tag = rng.choice([tag for tag in SPIKY if tag in run.values])
    row, _ = _span(run, rng, 1, 2)
    series = run.values[tag].copy()
    size = series[row] * rng.uniform(0.2, 0.8) if tag == "distillate_flow_l_h" else rng.uniform(3.0, 20.0)
    series[row] += rng.choice([-1, 1]) * size
    return Planted(_with(run, **{tag: series}), "spike", tag, 60.0 * row, 60.0 * row)


def stuck(run: SimulatedRun, rng: Random) -> Planted:
    """Half an hour to an hour and a half with one value."""
    tag = rng.choice([tag for tag in SPIKY if tag in run.values])
    first, last = _span(run, rng, 30, 90)
    series = run.values[tag].copy()
    series[first : last + 1] = series[first]
    return Planted(_with(run, **{tag: series}), "stuck", tag, 60.0 * first, 60.0 * last)


def saturated(run: SimulatedRun, rng: Random) -> Planted:
    """A pot thermometer whose scale ends 1 to 4 K too soon."""
    tag = "pot_temperature_c"
    top = round(float(run.values[tag].max()) - rng.uniform(1.0, 4.0), 1)
    row = int(np.argmax(run.values[tag] > top))
    return Planted(_with(run, **{tag: np.minimum(run.values[tag], top)}), "saturated", tag, 60.0 * row, run.end_s)


def drift(run: SimulatedRun, rng: Random) -> Planted:
    """A vapour thermometer that moves 2 to 5 K off over the run."""
    tag = "vapour_temperature_c"
    moved = rng.choice([-1, 1]) * rng.uniform(2.0, 5.0)
    away = np.clip((run.times_s - run.first_drop_s) / (run.end_s - run.first_drop_s), 0.0, 1.0)
    return Planted(_with(run, **{tag: np.round(run.values[tag] + moved * away, 1)}), "drift", tag, run.first_drop_s,
                   run.end_s)  # fmt: skip


def off_equilibrium(run: SimulatedRun, rng: Random) -> Planted:
    """A thermometer 2 to 5 K off, or a pressure gauge 8 to 15 kPa."""
    tag = rng.choice(["vapour_temperature_c", "pot_temperature_c", "pressure_kpa"])
    size = rng.choice([-1, 1]) * (rng.uniform(8.0, 15.0) if tag == "pressure_kpa" else rng.uniform(2.0, 5.0))
    return Planted(_with(run, **{tag: np.round(run.values[tag] + size, 2)}), "off equilibrium", tag, run.first_drop_s,
                   run.end_s)  # fmt: skip


FAULTS: dict[str, Callable[[SimulatedRun, Random], Planted]] = {
    "irregular sampling": irregular, "gap": gap, "duplicate": duplicate, "clock step": clock_step, "spike": spike,
    "stuck": stuck, "saturated": saturated, "drift": drift, "off equilibrium": off_equilibrium,
}  # fmt: skip
SECOND_SENSOR = ("strip", "botanical", "fruit")  # kinds of run whose log has a parrot to hold the vapour against
