"""Short still logs: one run of each still a month, a row every two minutes."""

from datetime import timedelta

import numpy as np

from . import alcohol
from .records import Row
from .sim import Sim

# Boiling point of ethanol and water at 101.325 kPa against the mole fraction x, with y: Perry's handbook, 4th
# edition, p. 13-5. The site lies high: 5.1 K less for water, 4.5 K less for ethanol (Antoine, 84.3 kPa).
X = [0.0, 0.019, 0.0721, 0.0966, 0.1238, 0.1661, 0.2337, 0.2608, 0.3273, 0.3965, 0.5079, 0.5198, 0.5732, 0.6763,
     0.7472, 0.8943]  # fmt: skip
Y = [0.0, 0.17, 0.3891, 0.4375, 0.4704, 0.5089, 0.5445, 0.558, 0.5826, 0.6122, 0.6564, 0.6599, 0.6841, 0.7385,
     0.7815, 0.8943]  # fmt: skip
T = [100.0, 95.5, 89.0, 86.7, 85.3, 84.1, 82.7, 82.3, 81.5, 80.7, 79.8, 79.7, 79.3, 78.74, 78.41, 78.15]
BARO_IN_HG = 24.9


def _mole_fraction(proof: float) -> float:
    p = alcohol.fraction_of_proof(proof)
    return (p / 46.069) / (p / 46.069 + (1.0 - p) / 18.015)


def boiling_f(proof: float) -> float:
    x = _mole_fraction(proof)
    return alcohol.fahrenheit(float(np.interp(x, X, T)) - 5.1 + 0.6 * x)


def dew_f(proof: float) -> float:
    """Temperature of vapour whose condensate has the proof."""
    y = _mole_fraction(proof)
    return alcohol.fahrenheit(float(np.interp(y, Y, T)) - 5.1 + 0.6 * y)


def write(sim: Sim) -> None:
    logged: set[tuple[str, str]] = set()
    for run in sorted(sim.records.kinds["runs"], key=lambda row: row.when):
        kind = {"SPIRIT": "potstill", "COLUMN": "column"}.get(run["Step"])
        if kind and (kind, f"{run.when:%Y-%m}") not in logged:
            logged.add((kind, f"{run.when:%Y-%m}"))
            (_pot if kind == "potstill" else _column)(sim, run)


def _out(sim: Sim, run: Row, what: str) -> float:
    """Gallons at 60 °F that a run truly gave into a lot."""
    lot = next(g["Lot No"] for g in sim.records.kinds["gauges"]
               if g["Run No"] == run["Run No"] and g["I/O"] == "O" and g["What"] == what)  # fmt: skip
    target = f"lot:{lot}"
    ethanol = sum(m.ethanol for m in sim.ledger.movements if m.target == target and m.why == "distillate")
    water = sum(m.water for m in sim.ledger.movements if m.target == target and m.why == "distillate")
    return alcohol.gallons(ethanol + water, ethanol / (ethanol + water), alcohol.T60)


def _times(run: Row):
    moment = run["Started"].replace(second=0, microsecond=0)
    while moment <= run["Finished"]:
        yield moment
        moment += timedelta(minutes=2)


def _pot(sim: Sim, run: Row) -> None:
    """A spirit run: heating, heads, hearts at a falling proof, tails."""
    rng = sim.rng(f"log {run['Run No']}")
    hearts, feints = _out(sim, run, "new make"), _out(sim, run, "feints")
    on, off, end = run["Cut On"], run["Cut Off"], run["Finished"]
    flowing = run["Started"] + timedelta(minutes=52)
    hearts_gph = hearts / ((off - on).total_seconds() / 3600.0)
    heads_gph = 0.084 * feints / ((on - flowing).total_seconds() / 3600.0)
    tails_gph = 0.916 * feints / ((end - off).total_seconds() / 3600.0)
    for moment in _times(run):
        if moment < flowing:
            warm = max(0.0, (moment - run["Started"]) / (flowing - run["Started"]))
            head, pot, flow, proof = 62.0 + 20.0 * warm, 66.0 + 116.0 * warm**0.9, 0.0, 0.0
        else:
            done = (moment - flowing) / (end - flowing)
            in_hearts = (moment - on) / (off - on)
            proof = 154.0 if moment < on else 149.5 - 22.0 * in_hearts if moment <= off else (
                127.5 - 97.0 * (moment - off) / (end - off))  # fmt: skip
            flow = heads_gph if moment < on else hearts_gph if moment <= off else tails_gph
            head, pot = dew_f(proof), boiling_f(max(2.0, 66.0 - 66.0 * min(1.0, done * 1.05)))
        seen = rng.normal(size=6)
        sim.records.add("potstill", moment, {
            "When": moment, "Run": run["Run No"], "Pot F": round(pot + 0.3 * seen[0], 1),
            "Head F": round(head + 0.2 * seen[1], 1), "Cond Out F": round(63.0 + 0.5 * seen[2], 1),
            "Flow gph": round(max(0.0, flow * (1.0 + 0.015 * seen[3])), 1),
            "Parrot Proof": round(proof + 0.25 * seen[4], 1) if flow else None,
            "Parrot F": 60.0 if flow else None, "Steam psig": round(5.2 + 0.15 * seen[5], 2)})  # fmt: skip


def _column(sim: Sim, run: Row) -> None:
    """A column run at one rate: steady but for its start."""
    rng = sim.rng(f"log {run['Run No']}")
    hours = (run["Finished"] - run["Started"]).total_seconds() / 3600.0
    made = _out(sim, run, "new make")
    begin = run["Started"] + timedelta(minutes=48)
    gph = made / (hours - 0.8)
    for moment in _times(run):
        seen = rng.normal(size=6)
        running = moment >= begin
        warm = min(1.0, (moment - run["Started"]) / timedelta(minutes=48))
        proof = 134.0 + 0.4 * seen[4]
        sim.records.add("column", moment, {
            "When": moment, "Run": run["Run No"],
            "Feed gpm": round((8400.0 / (hours - 0.8) / 60.0) * (1.0 + 0.01 * seen[0]), 2) if running else 0.0,
            "Base F": round(70.0 + (202.6 - 70.0) * warm + 0.3 * seen[1], 1),
            "Top F": round(66.0 + (dew_f(134.0) - 66.0) * warm + 0.25 * seen[2], 1),
            "Flow gph": round(gph * (1.0 + 0.012 * seen[3]), 1) if running else 0.0,
            "Proof 60F": round(proof, 1) if running else None,
            "Baro inHg": round(BARO_IN_HG + 0.03 * seen[5], 2)})  # fmt: skip
