"""The curve of a run against equilibrium, plates, gauges and its own second sensors."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gaugebook.pipeline.derived.curves.records import (
    COUNTER,
    FLOW,
    NAN,
    PARROT,
    POT,
    PRESSURE,
    VAPOUR,
    Circumstances,
    RunCurve,
)
from gaugebook.pipeline.engineering.composition import mole_fraction_from_strength
from gaugebook.pipeline.engineering.run_curve import rate_at
from gaugebook.pipeline.engineering.vapour import bubble_temperature_c
from gaugebook.pipeline.engineering.vapour_check import (
    MODEL_U_C,
    WEATHER_U_KPA,
    Suspect,
    stages_available,
    stages_needed,
    suspects,
    vapour_temperature_for,
)
from gaugebook.pipeline.statistics.drift import drift
from gaugebook.pipeline.statistics.log_finding import Finding
from gaugebook.pipeline.statistics.sensor_faults import resolution

Array = NDArray[np.float64]

COVERAGE = 2.5  # standard uncertainties beyond which something does not fit
LEAST_RISE_C = 1.0  # of a pot that empties; less is the foot of a column that is fed
LEAST_DRIFT_C = 1.0  # of a thermometer against equilibrium, over the hearts
LEAST_DRIFT_PART = 0.03  # of a flow meter against a counter
WEAKEST_PCT_VOL = 15.0  # below it a parrot says too little about the vapour
U_PRESSURE_KPA = 0.3  # of a logged pressure; without a log the site's mean stands in for it
POT_PER_KPA = 0.27  # K by which what boils in the pot boils higher
STRONG_PCT_VOL = 90.0  # hearts so strong hardly change: their gauge stands in for a parrot
WORDS = {VAPOUR: "vapour thermometer", PARROT: "parrot", PRESSURE: "pressure gauge", POT: "pot thermometer"}
UNITS = {VAPOUR: "K", PARROT: "% vol", PRESSURE: "kPa", POT: "K"}


def physics(
    times_s: Array, values: Mapping[str, Array], strength: Array, u_strength: Array, curve: RunCurve,
    circumstances: Circumstances,
) -> tuple[dict[str, Any], list[Finding]]:  # fmt: skip
    """What the curve's fields about physics are, and what does not fit."""
    inside = _settled(times_s, curve)
    nothing = np.full(times_s.size, np.nan)
    logged = values.get(PRESSURE, nothing)
    pressure = np.where(np.isfinite(logged), logged, circumstances.site_pressure_kpa)
    u_pressure = np.where(np.isfinite(logged), U_PRESSURE_KPA, WEATHER_U_KPA)
    q, u_q = _strength_of_vapour(strength, u_strength, circumstances)
    q = np.where(inside & (q > WEAKEST_PCT_VOL), q, np.nan)
    expected, per_strength, per_kpa = vapour_temperature_for(q, np.clip(pressure, 51.0, 189.0))
    residual = values.get(VAPOUR, nothing) - expected
    u = np.sqrt(
        MODEL_U_C**2 + circumstances.u_temperature_c**2 + (per_strength * u_q) ** 2 + (per_kpa * u_pressure) ** 2
    )
    pot, pot_at = _pot_against_gauges(times_s, values.get(POT, nothing), pressure, curve, circumstances)
    verdict, findings = _off(times_s, residual, u, per_strength, per_kpa, pot, pot_at, pressure, values, circumstances)
    findings += _drifts(times_s, values, residual, np.abs(per_strength * u_q), curve)
    reached, more = _reached(times_s, strength, u_strength, inside, curve, circumstances)
    return {**verdict, **reached}, findings + more + _against_gauges(curve, circumstances) + _against_sheet(
        curve, circumstances
    )


def _settled(t: Array, curve: RunCurve) -> NDArray[np.bool_]:
    """The hearts, without the minutes in which the head still warms."""
    stop = curve.hearts_to.at_s if np.isfinite(curve.hearts_to.at_s) else curve.end_s
    return np.asarray((t > curve.first_drop_s + 300.0) & (t < stop - 60.0))


def _strength_of_vapour(strength: Array, u_strength: Array, circumstances: Circumstances) -> tuple[Array, Array]:
    hearts = circumstances.gauged.get("hearts")
    if np.isfinite(strength).any() or hearts is None or not hearts.strength_pct_vol > STRONG_PCT_VOL:
        return strength, u_strength
    return np.full(strength.size, hearts.strength_pct_vol), np.full(strength.size, 0.5)


def _pot_against_gauges(
    t: Array, pot: Array, pressure: Array, curve: RunCurve, circumstances: Circumstances
) -> tuple[Array, Array]:
    """Pot temperature less the boiling point of the gauged charge at first drop, and of the gauged spent at the end."""
    if circumstances.is_continuous or _does_not_empty(t, pot, curve):
        return np.empty(0), np.empty(0)
    less, at = [], []
    for moment, strength, before, after in (
        (curve.first_drop_s, circumstances.charge_strength_pct_vol, 0.0, 420.0),
        (curve.end_s, circumstances.spent_strength_pct_vol, 600.0, 0.0),
    ):
        near = (t >= moment - before) & (t <= moment + after) & np.isfinite(pot)
        if near.sum() < 3 or not np.isfinite(strength):
            continue
        mole = mole_fraction_from_strength(float(np.clip(strength, 0.0, 99.0)))
        boils = bubble_temperature_c(mole, float(np.clip(np.median(pressure[near]), 51.0, 189.0)))
        less.append(float(np.median(pot[near])) - float(boils))
        at.append(moment)
    return np.array(less), np.array(at)


def _does_not_empty(t: Array, pot: Array, curve: RunCurve) -> bool:
    """Whether the pot stands at one temperature from the first drop to the end, as no pot does that is distilled off.

    A pot that is charged and distilled loses its alcohol, so its liquid boils higher and higher; the foot of a column
    that is fed holds next to none all through.
    """
    inside = (t > curve.first_drop_s + 600.0) & (t < curve.end_s - 60.0) & np.isfinite(pot)
    if inside.sum() < 10:
        return False
    low, high = np.quantile(pot[inside], [0.05, 0.95])
    return bool(high - low < LEAST_RISE_C)


def _off(
    t: Array, residual: Array, u: Array, per_strength: Array, per_kpa: Array, pot: Array, pot_at: Array,
    pressure: Array, values: Mapping[str, Array], circumstances: Circumstances,
) -> tuple[dict[str, Any], list[Finding]]:  # fmt: skip
    there = np.flatnonzero(np.isfinite(residual))
    logged = np.isfinite(values.get(PRESSURE, np.full(t.size, np.nan)))
    weather = float(np.median(pressure[logged])) - circumstances.site_pressure_kpa if logged.any() else NAN
    mean = float(np.mean(residual[there])) if there.size > 10 else NAN
    u_mean = float(np.mean(u[there])) if there.size > 10 else NAN
    digit = resolution(pot_c[np.isfinite(pot_c)]) if (pot_c := values.get(POT)) is not None else 0.0
    u_pot = float(np.linalg.norm([MODEL_U_C, circumstances.u_temperature_c, digit / np.sqrt(12.0)]))
    u_pot = u_pot if logged.any() else float(np.hypot(u_pot, POT_PER_KPA * WEATHER_U_KPA))
    vapour_off = abs(mean) > COVERAGE * u_mean
    pot_off = pot.size > 0 and float(np.min(np.abs(pot))) > COVERAGE * u_pot
    verdict = {"vapour_residual_c": mean, "u_vapour_residual_c": u_mean}
    if not (vapour_off or pot_off):
        return verdict, []
    blocks = [part for part in np.array_split(there, 12) if part.size]
    ranked = suspects(
        np.array([residual[part].mean() for part in blocks]),
        np.array([per_strength[part].mean() for part in blocks]),
        np.array([per_kpa[part].mean() for part in blocks]),
        np.full(len(blocks), MODEL_U_C), pot, POT_PER_KPA, weather,
    )  # fmt: skip
    first = float(t[there[0]]) if vapour_off else float(pot_at[0])
    last = float(t[there[-1]]) if vapour_off else float(pot_at[-1])
    what = [f"vapour {mean:+.1f} K"] if vapour_off else []
    what += [f"pot {float(np.mean(pot)):+.1f} K"] if pot_off else []
    words = f"{' and '.join(what)} from equilibrium; most likely the {_named(ranked)}"
    finding = Finding("off equilibrium", ranked[0].tag, first, last, mean if vapour_off else float(np.mean(pot)), words)
    return verdict | {"likely_wrong": ranked[0].tag}, [finding]


def _named(ranked: list[Suspect]) -> str:
    """The best explanation, and the next where it is as good."""
    alike = [suspect for suspect in ranked[:2] if suspect.misfit <= ranked[0].misfit + 0.3]
    return " or the ".join(f"{WORDS[sensor.tag]} ({sensor.error:+.1f} {UNITS[sensor.tag]})" for sensor in alike)


def _drifts(
    t: Array, values: Mapping[str, Array], residual: Array, u_by_strength: Array, curve: RunCurve
) -> list[Finding]:
    findings = []
    sure = np.where(u_by_strength < 0.35, residual, np.nan)
    moved = drift(t, sure)
    if moved is not None and moved.is_certain and abs(moved.change) > LEAST_DRIFT_C:
        there = t[np.isfinite(sure)]
        words = f"{moved.change:+.1f} K against the strength at the parrot, by equilibrium"
        findings.append(Finding("drift", VAPOUR, float(there[0]), float(there[-1]), moved.change, words))
    counter, flow = values.get(COUNTER), values.get(FLOW)
    if counter is not None and flow is not None:
        findings += _counter_drift(t, counter, flow, curve)
    return findings


def _counter_drift(t: Array, counter: Array, flow: Array, curve: RunCurve) -> list[Finding]:
    inside = (t > curve.first_drop_s + 150.0) & (t < curve.end_s - 150.0) & np.isfinite(counter) & (flow > 0)
    if inside.sum() < 30:
        return []
    at, known = t[inside], np.isfinite(counter)
    part = rate_at(t[known], counter[known], at) * 3600.0 / _smooth(t, flow, at) - 1.0
    moved = drift(at, part)
    if moved is None or not moved.is_certain or abs(moved.change) <= LEAST_DRIFT_PART:
        return []
    words = f"{100 * moved.change:+.1f} % against the flow meter"
    return [Finding("drift", COUNTER, float(at[0]), float(at[-1]), moved.change, words)]


def _smooth(t: Array, flow: Array, at: Array) -> Array:
    """Mean flow over the same five minutes that a rate is taken over."""
    known = np.isfinite(flow)
    tk, fk = t[known], flow[known]
    running = np.concatenate([[0.0], np.cumsum(np.diff(tk) * (fk[1:] + fk[:-1]) / 2)])
    return np.asarray(rate_at(tk, running, at))


def _reached(
    t: Array,
    strength: Array,
    u_strength: Array,
    inside: NDArray[np.bool_],
    curve: RunCurve,
    circumstances: Circumstances,
) -> tuple[dict[str, Any], list[Finding]]:
    known = inside & np.isfinite(strength)
    available = stages_available(circumstances.plates)
    if known.sum() < 10 or not np.isfinite(circumstances.charge_strength_pct_vol):
        return {"stages_available": available}, []
    reached = float(np.quantile(strength[known], 0.95))
    surely = max(reached - 2.0 * float(np.median(u_strength[known])), 0.0)
    needed = stages_needed(
        float(np.clip(circumstances.charge_strength_pct_vol, 0.01, 99.0)), surely, circumstances.site_pressure_kpa
    )
    fields = {"reached_pct_vol": reached, "stages_needed": needed, "stages_available": available}
    if needed <= available:
        return fields, []
    words = (
        f"{reached:.1f} % vol needs {needed:.1f} ideal stages, {available:.1f} are there; most likely the parrot"
        if np.isfinite(needed)
        else f"{reached:.1f} % vol is at or above the azeotrope; most likely the parrot"
    )
    times = t[known]
    return fields | {"likely_wrong": PARROT}, [
        Finding("beyond the plates", PARROT, float(times[0]), float(times[-1]), reached, words)
    ]


def _against_gauges(curve: RunCurve, circumstances: Circumstances) -> list[Finding]:
    """Alcohol, else volume, of hearts by the log against the receivers, what a run may lose on the way allowed for."""
    hearts, gauged = next((p for p in curve.parts if p.part == "hearts"), None), circumstances.gauged.get("hearts")
    if hearts is None or gauged is None:
        return []
    by_alcohol = np.isfinite(hearts.alcohol_l) and np.isfinite(gauged.alcohol_l)
    logged, u_logged, held, u_held, unit = (
        (hearts.alcohol_l, hearts.u_alcohol_l, gauged.alcohol_l, gauged.u_alcohol_l, "LPA")
        if by_alcohol
        else (hearts.volume_l, hearts.u_volume_l, gauged.volume_l, gauged.u_volume_l, "L")
    )
    difference, u = logged - held, float(np.hypot(u_logged, u_held))
    if not abs(difference - 0.01 * held) > 3.0 * u + 0.01 * held:  # up to 2 % goes as vapour and hold-up
        return []
    words = f"{logged:.1f} {unit} by the log, {held:.1f} {unit} in the receiver: {difference:+.1f} (u {u:.1f})"
    return [Finding("log against gauges", FLOW, hearts.from_s, hearts.to_s, difference, words)]


def _against_sheet(curve: RunCurve, circumstances: Circumstances) -> list[Finding]:
    findings = []
    for cut, sheet, name in (
        (curve.hearts_from, circumstances.hearts_from_s, "to hearts"),
        (curve.hearts_to, circumstances.hearts_to_s, "to tails"),
    ):
        apart = cut.at_s - sheet
        if abs(apart) > max(300.0, 3.0 * cut.u_s):
            words = f"cut {name} {apart / 60:+.0f} min after the run sheet's by {cut.by} (u {cut.u_s / 60:.1f} min)"
            findings.append(
                Finding("cut against sheet", None, min(cut.at_s, sheet), max(cut.at_s, sheet), apart, words)
            )
    return findings
