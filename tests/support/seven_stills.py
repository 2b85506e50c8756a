"""Seven styles of still runs with known truth, from physics of their own: stepwise distillation, sensors, gauges.

Each run draws the errors of its instruments once from their stated standard uncertainties (a log's flow meter is wrong
by one factor all through), noise and rounding row by row, and the hand's moments: heat turned up where no cut is, a
receiver changed some seconds beside the valve. Nothing here comes from the program but the records that it takes.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from still_physics import (
    alcoholmeter_reading,
    boiling,
    litre_mass,
    mixed,
    mole_of_strength,
    moles_per_litre,
    strength_of_mole,
)

from gaugebook.pipeline.derived.curves.records import Circumstances, Gauged

Array = NDArray[np.float64]

U_FLOW, U_STRENGTH, U_TEMPERATURE, U_VOLUME = 0.010, 0.15, 0.3, 0.003
SITE_KPA, WEATHER_KPA = 99.3, 0.8
KPA_K = 0.27  # change of a boiling point with the pressure
STEP_S = 5.0  # of the distillation
PARTS = ("heads", "hearts", "tails")
TAG = {
    "pot": "pot_temperature_c", "vapour": "vapour_temperature_c", "pressure": "pressure_kpa",
    "flow": "distillate_flow_l_h", "parrot": "parrot_strength_pct_vol", "parrot_t": "parrot_temperature_c",
    "counter": "collected_volume_l",
}  # fmt: skip


@dataclass(frozen=True)
class Still:
    """How one run is worked; times in seconds after the first drop."""

    charge_l: float
    charge_pct_vol: float
    stages: float  # above the pot, as they work with the reflux of the hearts
    plates: int
    litres_h: float
    heads_part: float  # of the flow of the hearts that runs while heads are taken
    heads_s: float
    hearts_until_pct_vol: float
    until_pct_vol: float
    tails_part: float = 1.0  # of the flow, once the reflux is shut
    tails_stages: float = 0.0
    heat_turned: tuple[tuple[float, float], ...] = ()  # moments and factors
    lag_s: float = 40.0  # of the flow behind the valve
    feed_h: float = 0.0  # of a continuous column: hours that it is fed
    tails_s: float = 0.0  # of a continuous column: what runs off weaker and weaker when the feed ends
    has_parrot: bool = True
    meter: str = "flow"  # flow, counter, both or none
    every_s: float = 60.0
    gauges_spent: bool = True


@dataclass(frozen=True)
class Distilled:
    """What ran off, every few seconds after the first drop, with the true cuts."""

    t: Array
    flow_l_h: Array
    strength: Array
    pot_c: Array
    heads_to_s: float
    hearts_to_s: float
    end_s: float
    spent_pct_vol: float


@dataclass(frozen=True)
class SevenRun:
    """A log as its device writes it, what is known around it, and the truth."""

    style: str
    times_s: Array
    values: dict[str, Array]
    circumstances: Circumstances
    cuts_s: tuple[float, float]
    first_drop_s: float
    end_s: float
    volume_l: dict[str, float]
    alcohol_l: dict[str, float]
    is_continuous: bool


def simulated(style: str, number: int) -> SevenRun:
    """One run of a style; the same number is the same run."""
    rng = np.random.default_rng([sum(map(ord, style)), number])
    still = STYLES[style](rng, number)
    return _logged(style, rng, still, _continuous(rng, still) if still.feed_h else _batch(rng, still))


# --- the seven styles


def _short_heads(rng: np.random.Generator, number: int) -> Still:
    """A small still with plates that gives two to eight minutes of heads."""
    return Still(
        charge_l=rng.uniform(250, 900), charge_pct_vol=rng.uniform(25, 40), stages=rng.uniform(1.0, 2.2), plates=4,
        litres_h=rng.uniform(18, 60), heads_part=rng.uniform(0.5, 0.95), heads_s=rng.uniform(120, 480),
        hearts_until_pct_vol=rng.uniform(58, 66), until_pct_vol=rng.uniform(20, 35),
        tails_part=rng.choice([1.0, rng.uniform(1.1, 1.4)]), tails_stages=0.5,
    )  # fmt: skip


def _pot_double(rng: np.random.Generator, number: int) -> Still:
    """Low wines in a plain pot: nothing changes at the cuts, and the heat is turned where none is."""
    turned = tuple((rng.uniform(1200, 15000), rng.uniform(0.8, 1.2)) for _ in range(rng.integers(0, 3)))
    return Still(
        charge_l=rng.uniform(900, 4000), charge_pct_vol=rng.uniform(23, 30), stages=0.25, plates=1,
        litres_h=rng.uniform(120, 320), heads_part=1.0, heads_s=rng.uniform(600, 2100),
        hearts_until_pct_vol=rng.uniform(58, 64), until_pct_vol=rng.uniform(4, 12), heat_turned=turned,
    )  # fmt: skip


def _continuous_column(rng: np.random.Generator, number: int) -> Still:
    """Fed with wash for ten hours to two days; the stillage is gauged in every second run; two of three run tails."""
    return Still(
        charge_l=0.0, charge_pct_vol=rng.uniform(7, 11), stages=8.0, plates=30, litres_h=rng.uniform(40, 150),
        heads_part=rng.uniform(0.4, 1.0), heads_s=rng.uniform(600, 2400), hearts_until_pct_vol=0.0, until_pct_vol=0.0,
        feed_h=rng.uniform(10, 46), tails_s=rng.uniform(1200, 3600) if number % 3 else 0.0,
        gauges_spent=bool(number % 2), every_s=60.0 if number % 2 else 120.0,
    )  # fmt: skip


def _either(rng: np.random.Generator, number: int) -> Still:
    return (
        _pot_double(rng, number) if number % 2 else replace(_short_heads(rng, number), heads_s=rng.uniform(300, 1500))
    )


def _five_minutes(rng: np.random.Generator, number: int) -> Still:
    return replace(_either(rng, number), every_s=300.0)


def _one_second(rng: np.random.Generator, number: int) -> Still:
    still = _either(rng, number)
    return replace(still, every_s=1.0, charge_l=still.charge_l * 0.4)


def _no_parrot(rng: np.random.Generator, number: int) -> Still:
    return replace(_either(rng, number), has_parrot=False)


def _no_flow(rng: np.random.Generator, number: int) -> Still:
    """No flow sensor: a counter of the receiver in two of three runs, nothing in the third."""
    return replace(_either(rng, number), meter="counter" if number % 3 else "none")


STYLES: dict[str, Callable[[np.random.Generator, int], Still]] = {
    "short heads": _short_heads, "pot double distillation": _pot_double, "continuous column": _continuous_column,
    "five-minute log": _five_minutes, "one-second log": _one_second, "no parrot": _no_parrot, "no flow": _no_flow,
}  # fmt: skip


# --- what runs off


def _enriched(x: Array, stages: float) -> Array:
    """Mole fraction of the distillate over a liquid: whole stages, and a part of one."""
    liquid, vapour, _ = boiling(SITE_KPA)
    y = np.interp(x, liquid, vapour)
    while stages > 0:
        y = y + min(stages, 1.0) * (np.interp(y, liquid, vapour) - y)
        stages -= 1.0
    return y


def _batch(rng: np.random.Generator, still: Still) -> Distilled:
    grid = np.concatenate([[0.0], np.geomspace(1e-6, 0.35, 1500)])
    over = {stages: _enriched(grid, stages) for stages in (still.stages, still.tails_stages)}
    strong = {stages: strength_of_mole(y) for stages, y in over.items()}
    litre_moles = {stages: moles_per_litre(q) for stages, q in strong.items()}
    x = float(mole_of_strength(still.charge_pct_vol))
    n = float(still.charge_l * moles_per_litre(still.charge_pct_vol))
    stages, t, flow, target = still.stages, 0.0, 0.0, still.litres_h * still.heads_part
    hearts_to, rows = np.nan, []
    turned, heat, has_hearts = sorted(still.heat_turned), 1.0, False
    valve = still.heads_s + rng.normal(0.0, 10.0)
    tails_valve = np.inf
    while True:
        if not has_hearts and t >= valve:
            has_hearts, target = True, still.litres_h
        if turned and t >= turned[0][0]:
            heat *= turned.pop(0)[1]
        q = float(np.interp(x, grid, strong[stages]))
        if np.isnan(hearts_to) and t > still.heads_s and q < still.hearts_until_pct_vol:
            hearts_to, tails_valve = t, t + max(0.0, rng.normal(0.0, 10.0))
        if t >= tails_valve and still.tails_part != 1.0:
            stages, target, tails_valve = still.tails_stages, still.litres_h * still.tails_part, np.inf
        flow += (target * heat - flow) * STEP_S / still.lag_s
        rows.append((t, flow, q, x))
        if q < still.until_pct_vol and t > hearts_to + 900:
            break
        gone = flow / 3600 * STEP_S * float(np.interp(x, grid, litre_moles[stages]))
        y = float(np.interp(x, grid, over[stages]))
        x, n, t = (n * x - gone * y) / (n - gone), n - gone, t + STEP_S
    at, flows, strengths, liquid = np.array(rows).T
    xs, _, boils = boiling(SITE_KPA)
    return Distilled(at, flows, strengths, np.interp(liquid, xs, boils), still.heads_s, hearts_to, t,
                     float(strength_of_mole(x)))  # fmt: skip


def _continuous(rng: np.random.Generator, still: Still) -> Distilled:
    end = still.feed_h * 3600 + still.tails_s
    t = np.arange(0.0, end, STEP_S)
    target = np.where(t < still.heads_s + rng.normal(0.0, 10.0), still.heads_part, 1.0) * still.litres_h
    flow = np.zeros(t.size)
    for row in range(1, t.size):
        flow[row] = flow[row - 1] + (target[row] - flow[row - 1]) * STEP_S / still.lag_s
    flow *= 1.0 + 0.01 * np.sin(t / rng.uniform(5000, 9000))
    hearts_to = still.feed_h * 3600
    strength = rng.uniform(91.5, 94.0) + 0.25 * np.sin(t / rng.uniform(6000, 12000))
    away = np.clip((t - hearts_to) / max(still.tails_s, 1.0), 0.0, 1.0)
    strength -= 55.0 * away
    flow *= 1.0 - 0.4 * away
    base = boiling(SITE_KPA)[2][0] + rng.uniform(0.5, 3.5)  # the foot of the column, under the plates' pressure
    return Distilled(t, flow, strength, np.full(t.size, base), still.heads_s, hearts_to, end, rng.uniform(0.02, 0.08))


# --- what is logged and gauged


def _logged(style: str, rng: np.random.Generator, still: Still, run: Distilled) -> SevenRun:
    start = rng.uniform(45, 75) * 60.0
    t = rng.uniform(0, still.every_s) + np.arange(0.0, start + run.end_s + rng.uniform(600, 1200), still.every_s)
    t = np.round(t)
    drop, end = start, start + run.end_s
    pressure = SITE_KPA + rng.normal(0.0, WEATHER_KPA)
    true = _true_series(rng, t, start, run, pressure)
    values = _read(rng, still, t, true)
    origin = t[0]
    cuts = np.array([run.heads_to_s, run.hearts_to_s]) + start - origin
    volume, alcohol, mixing = _by_part(run)
    has_tails = volume["tails"] > 0
    circumstances = Circumstances(
        plates=still.plates, site_pressure_kpa=SITE_KPA, u_strength_pct_vol=U_STRENGTH, u_temperature_c=U_TEMPERATURE,
        u_flow_part=U_FLOW, charge_strength_pct_vol=still.charge_pct_vol + rng.normal(0.0, U_STRENGTH),
        spent_strength_pct_vol=run.spent_pct_vol if still.gauges_spent else np.nan,
        gauged=_gauged(rng, volume, mixing),
        hearts_from_s=cuts[0] + rng.normal(0.0, 60.0),
        hearts_to_s=cuts[1] + rng.normal(0.0, 60.0) if has_tails else np.nan,
    )  # fmt: skip
    return SevenRun(style, t - origin, values, circumstances, (float(cuts[0]), float(cuts[1]) if has_tails else np.nan),
                    drop - origin, end - origin, volume, alcohol, bool(still.feed_h))  # fmt: skip


def _true_series(
    rng: np.random.Generator, t: Array, start: float, run: Distilled, pressure: float
) -> dict[str, Array]:  # fmt: skip
    since = t - start
    runs = (since >= 0) & (since < run.end_s)
    shift = KPA_K * (pressure - SITE_KPA)
    strength = np.interp(since, run.t, run.strength)
    xs, ys, boils = boiling(SITE_KPA)
    dew = np.interp(np.interp(mole_of_strength(strength), ys, xs), xs, boils) + shift
    hot = np.interp(since, run.t, run.pot_c) + shift
    cold, room = rng.uniform(14, 24), rng.uniform(18, 26)
    warm = np.clip(t / start, 0.0, 1.0)
    cooling = np.exp(-np.maximum(since - run.end_s, 0.0) / 3000.0)
    pot = np.where(since < 0, cold + (hot - cold) * warm, room + (hot - room) * cooling)
    at_head = np.clip((since + 480.0) / 420.0, 0.0, 1.0)  # vapour reaches the head a minute before the first drop
    vapour = np.where(since < 0, room + (dew - room) * at_head, room + (dew - room) * cooling)
    counted = np.concatenate([[0.0], np.cumsum(run.flow_l_h[:-1] / 3600 * np.diff(run.t))])
    # (the parrot is taken as filled with the first drop: its hold-up is left out)
    return {
        "pot": pot, "vapour": vapour, "pressure": np.full(t.size, pressure),
        "flow": np.where(runs, np.interp(since, run.t, run.flow_l_h), 0.0),
        "parrot": np.where(runs, strength, 0.0),
        "parrot_t": rng.uniform(14, 22) + 1.5 * np.sin(t / 7000.0),
        "counter": np.interp(since, run.t, counted),
    }  # fmt: skip


def _read(rng: np.random.Generator, still: Still, t: Array, true: dict[str, Array]) -> dict[str, Array]:
    """Each sensor's own error, its noise and its last digit; a quarter of the houses logs in °F."""
    tags = ["pot", "vapour", *(["pressure"] if rng.random() < 0.5 else [])]
    tags += ["parrot", "parrot_t"] if still.has_parrot else []
    tags += {"flow": ["flow"], "counter": ["counter"], "both": ["flow", "counter"], "none": []}[still.meter]
    fahrenheit = rng.choice([0.0, 0.0, 0.0, 0.1])
    fahrenheit = 1.0 if fahrenheit and rng.random() < 0.5 else fahrenheit
    resting = true["flow"] == 0.0
    if "parrot" in tags:
        shown = alcoholmeter_reading(true["parrot"], true["parrot_t"])
        true = true | {"parrot": np.where(resting, 0.0, shown)}
    values = {}
    for tag in tags:
        noise = rng.normal(0.0, 1.0, t.size)
        series = true[tag]
        if tag == "flow":
            series = series * (1 + rng.normal(0.0, U_FLOW)) * (1 + 0.012 * noise)
            series = np.where(resting, 0.0, np.round(series, 1))
        elif tag == "counter":
            series = np.floor(series * (1 + rng.normal(0.0, U_FLOW)) * 10) / 10
        elif tag == "parrot":
            series = np.where(resting, 0.0, np.round(series + rng.normal(0.0, U_STRENGTH) + 0.06 * noise, 1))
        elif tag == "pressure":
            series = np.round(series + rng.normal(0.0, 0.2) + 0.05 * noise, 2)
        else:
            off = np.clip(rng.normal(0.0, U_TEMPERATURE), -2.5 * U_TEMPERATURE, 2.5 * U_TEMPERATURE)
            series = series + off + 0.08 * noise  # a thermometer further off than stated is a fault, not a clean run
            if fahrenheit:
                series = (np.round((series * 1.8 + 32) / fahrenheit) * fahrenheit - 32) / 1.8
            series = np.round(series, 4 if fahrenheit else 1)
        values[TAG[tag]] = series
    return values


def _by_part(run: Distilled) -> tuple[dict[str, float], dict[str, float], dict[str, tuple[float, float]]]:
    """Litres at 20 °C and of pure alcohol that passed, by part; and volume and strength of these mixed."""
    edges = [0.0, run.heads_to_s, run.hearts_to_s, run.end_s]
    hours = STEP_S / 3600
    volume, alcohol, mixing = {}, {}, {}
    mass = litre_mass(run.strength)
    for part, low, high in zip(PARTS, edges[:-1], edges[1:], strict=True):
        inside = np.clip(np.minimum(run.t + STEP_S, high) - np.maximum(run.t, low), 0.0, STEP_S) / STEP_S
        volume[part] = float((inside * run.flow_l_h).sum() * hours)
        alcohol[part] = float((inside * run.flow_l_h * run.strength).sum() * hours / 100)
        mixing[part] = mixed(float((inside * run.flow_l_h * mass).sum() * hours), alcohol[part])
    return volume, alcohol, mixing


def _gauged(
    rng: np.random.Generator, volume: dict[str, float], mixing: dict[str, tuple[float, float]]
) -> dict[str, Gauged]:
    """Receivers gauged by one alcoholmeter; up to 1.5 % of all is lost as vapour, a little of each its own way."""
    common, lost = rng.normal(0.0, U_STRENGTH), rng.uniform(0.0, 0.015)
    gauged = {}
    for part in PARTS:
        if not volume[part] > 0:
            continue
        kept = (1 - lost) * (1 + rng.normal(0.0, 0.001))
        mixed, true_strength = mixing[part]
        litres = mixed * kept * (1 + rng.normal(0.0, U_VOLUME))
        strength = true_strength + common
        u = float(np.hypot(U_VOLUME * strength, U_STRENGTH)) * litres / 100
        gauged[part] = Gauged(litres, U_VOLUME * litres, litres * strength / 100, u, strength)
    return gauged
