"""From dumped casks, rum and neutral spirit to bottles."""

from datetime import datetime, timedelta

import numpy as np

from . import alcohol, house
from .ledger import Place
from .measure import U_LABORATORY, noise, tank, to_step
from .production import add_gauge, add_run, water_lot
from .sim import PROCESSING, STORAGE, Sim, days
from .warehouse import dump_run, tell_composition


def batch(sim: Sim, when: datetime, item: dict) -> None:
    """Dump, and plan the blend, reduction and bottling that follow."""
    sources: list[tuple[str, float]] = []  # lot and wine gallons of it, nought for all
    if "casks" in item:
        sources.append((dump_run(sim, when, item), 0.0))
    if "tank" in item:
        sources.append((item["tank"], item.get("tank_gal", 0.0)))
    if "white" in item:
        sources.append((_white_lot(sim, item["white"]), 0.0))
    if len(sources) > 1:
        sim.later(when + days(1.1), _blend, item, sources)
    elif house.PRODUCTS[item["product"]]["proof"] is None and "proof" not in item:
        sim.later(when + days(3), _bottle, item, sources[0][0])
    else:
        sim.later(when + days(1.2), _reduce, item, sources[0][0])


def _white_lot(sim: Sim, kind: str) -> str:
    """The newest new make of a kind that is still in a tank."""
    made = [lot for lot, about in sim.lots.items() if lot.startswith("NM") and about.get("kind") == kind]
    return [lot for lot in made if sim.ledger[f"lot:{lot}"].ethanol > 1.0][-1]


def _draw_in(sim: Sim, run: str, when: datetime, lot: str, gal: float, how: str = "DM60") -> None:
    """A lot, or some gallons of it, into a run; spirit from storage changes its account."""
    place, about = sim.ledger[f"lot:{lot}"], sim.lots[lot]
    share = place.share_of_gallons(gal) if gal else 1.0
    drawn = Place(lot, place.ethanol * share, place.water * share)
    add_gauge(sim, run, "I", lot, about["spirit"], about["tank"], when, tank(sim.rng(f"{run} {lot}"), drawn, 65.0, how),
              {"ethanol_kg": drawn.ethanol})  # fmt: skip
    if about["account"] == STORAGE:
        sim.pass_on(when, STORAGE, PROCESSING, drawn.ethanol)
    sim.ledger.share(when, f"lot:{lot}", f"run:{run}", share, "draw")


def _lose(sim: Sim, run: str, when: datetime, share: float, why: str) -> None:
    lost = sim.ledger.share(when, f"run:{run}", "loss:process", share, why)
    sim.book(when, PROCESSING, "lost in process", -lost)


def _finish(sim: Sim, run: str, lot: str, vessel: str, end: datetime, item: dict, what: str, fault=None) -> None:
    place = sim.ledger[f"lot:{lot}"]
    sim.ledger.share(end, f"run:{run}", f"lot:{lot}", 1.0, what)
    sim.lots[lot] = {"tank": vessel, "spirit": what, "account": PROCESSING}
    add_gauge(sim, run, "O", lot, what, vessel, end, tank(sim.rng(lot), place, 66.0, "DM60"),
              {"ethanol_kg": place.ethanol, "proof": place.proof}, fault)  # fmt: skip
    sim.truth.tell("lot", lot, "produced", "PG", alcohol.proof_gallons(place.ethanol), end.date(), run)
    tell_composition(sim, "lot", lot, f"lot:{lot}", end)


def _blend(sim: Sim, when: datetime, item: dict, sources: list[tuple[str, float]]) -> None:
    run = sim.number("BL", when)
    add_run(sim, run, "BLEND", "BLD1", when, when + timedelta(hours=2), **{"For Product": item["product"]})
    for lot, gal in sources:
        _draw_in(sim, run, when, lot, gal, "HYD")
    end = when + timedelta(hours=2)
    _lose(sim, run, end, 0.0008, "blend")
    lot = f"BLD-{run[3:]}"
    _finish(sim, run, lot, "BLD1", end, item, "blended spirit")
    sim.later(when + days(1.1), _reduce, item, lot)


def _reduce(sim: Sim, when: datetime, item: dict, source: str) -> None:
    run = sim.number("R", when)
    rng = sim.rng(run)
    vessel = "PRF1" if sim.counter["reduced"] % 2 == 0 else "PRF2"
    sim.counter["reduced"] += 1
    add_run(sim, run, "REDUCE", vessel, when, when + timedelta(hours=4), **{"For Product": item["product"]})
    _draw_in(sim, run, when, source, 0.0)
    place = sim.ledger[f"run:{run}"]
    label = item.get("proof", house.PRODUCTS[item["product"]]["proof"])
    p = alcohol.fraction_of_proof(label + 0.06 * float(np.clip(rng.normal(), -2, 2)))
    needed = place.ethanol * (1.0 - p) / p - place.water
    gal = alcohol.gallons(needed, 0.0, alcohol.T60)
    add_gauge(sim, run, "I", water_lot(when), "water", vessel, when + timedelta(hours=1),
              {"Gal": to_step(gal * (1 + noise(rng, 0.3) / 100), 0.1), "Temp F": 60.0})  # fmt: skip
    sim.ledger.move(when, "source:water", f"run:{run}", 0.0, needed, "reduce")
    end = when + timedelta(hours=4)
    _lose(sim, run, end, 0.001, "reduce")
    lot = f"PRF-{run[2:]}"
    _finish(sim, run, lot, vessel, end, item, "proofed spirit", item.get("proof_fault"))
    sim.later(when.replace(hour=7, minute=30) + days(3), _bottle, item, lot)


def _receive_glass(sim: Sim, when: datetime, ml: int, count: int) -> str:
    lot = sim.number(f"GL{ml}", when)
    sim.records.add("receiving", when - days(6), {
        "Rec Date": when - days(6), "Lot No": lot, "Item": f"bottle {ml} mL", "Class": "packaging", "Vendor": "V-51",
        "Pcs": int(count * 1.04) // 12 * 12 + 12, "Rec By": "LB"})  # fmt: skip
    return lot


def _bottle(sim: Sim, when: datetime, item: dict, source: str) -> None:
    run, name = sim.number("BT", when), item["batch"]
    rng, product = sim.rng(run), house.PRODUCTS[item["product"]]
    place = sim.ledger[f"lot:{source}"]
    ml = product["ml"]
    mean_ml = ml * (1.0 + item.get("fill_error", 0.0022 + 0.0004 * float(rng.normal())))
    ready = place.gallons() * alcohol.GAL_L * (1.0 - 0.0025 - 0.001 * float(rng.uniform()))
    filled = int(ready * 1000.0 / mean_ml)
    share = filled * mean_ml / 1000.0 / alcohol.GAL_L / place.gallons()
    broken = int(rng.integers(0, 4))
    end = when + timedelta(minutes=60 + filled * 0.22)
    label = item.get("label_proof", product["proof"]) or to_step(place.proof, 0.1)
    glass = _receive_glass(sim, when, ml, filled)
    add_run(sim, run, "BOTTLE", "BL1", when, end, item.get("fault"), **{"For Product": item["product"]})
    add_gauge(sim, run, "I", source, "spirit", sim.lots[source]["tank"], when, tank(rng, place, 67.0, "DM60"),
              {"ethanol_kg": place.ethanol, "proof": place.proof})  # fmt: skip
    add_gauge(sim, run, "I", glass, f"bottle {ml} mL", "BL1", when, {"Pcs": filled + 4})
    _laboratory(sim, when - days(1), item, source, name, place)
    sim.ledger.share(when, f"lot:{source}", f"batch:{name}", share * (filled - broken) / filled, "bottle")
    held = sim.ledger[f"batch:{name}"]
    lost = sim.ledger.share(end, f"lot:{source}", "loss:process", 1.0, "bottle")
    sim.book(end, PROCESSING, "lost in process", -lost)
    sim.book(end, PROCESSING, "bottled (memo)", held.ethanol)
    count = filled - broken
    sim.bottles[name] = {"product": item["product"], "left": count, "filled": count, "proof": label, "bottled": end}
    sim.records.add("bottling", end, {
        "Batch": name, "Run No": run, "Product": item["product"], "Date": end, "Size mL": ml,
        "Label Proof": label, "Label Age": item.get("label_age", product["age"]) or None,
        "Bottles Filled": filled, "Breakage": broken, "Cases": count // house.CASE, "Loose": count % house.CASE,
        "Opr": "RM"}, item.get("fault")).truth = {"ethanol_kg": held.ethanol}  # fmt: skip
    _fill_checks(sim, when, name, mean_ml, rng, item.get("fill_fault"))
    sim.truth.tell("batch", name, "bottled", "bottles", count, end.date(), run, count, 0)
    sim.truth.tell("batch", name, "bottled", "PG", alcohol.proof_gallons(held.ethanol), end.date(), run)
    sim.truth.tell("batch", name, "strength", "proof", held.proof, end.date())
    tell_composition(sim, "batch", name, f"batch:{name}", end)
    from .outbound import plan_dispatches

    plan_dispatches(sim, end, name)


def _fill_checks(sim: Sim, when: datetime, name: str, mean_ml: float, rng, fault: str | None) -> None:
    for number in range(1, 25):
        moment = when + timedelta(minutes=30 + 6 * number)
        sim.records.add("fillcheck", moment, {"Batch": name, "Bottle No": number, "Checked": moment,
                        "Net mL @60F": to_step(mean_ml + 0.0022 * mean_ml * float(np.clip(rng.normal(), -2.5, 2.5)),
                                               0.1), "Opr": "RM"}, fault)  # fmt: skip


def _laboratory(sim: Sim, when: datetime, item: dict, source: str, name: str, place: Place) -> None:
    """Strength twice, and the chromatograph's congeners, of the liquid that is bottled."""
    rng = sim.rng(f"lab {name}")
    for repeat in (1, 2):
        moment = when + timedelta(hours=2, minutes=20 * repeat)
        value = place.proof + noise(rng, U_LABORATORY)
        sim.records.add("lab", moment, {"Lot/Batch": source, "Analyzed": moment, "Rep": repeat,
                        "Density g/mL @60F": round(alcohol.density(alcohol.fraction_of_proof(value), alcohol.T60)
                                                   / 1000.0, 5),
                        "Proof": to_step(value, 0.01), "Analyst": "SD"}).truth = {"proof": place.proof}  # fmt: skip
    rum = item["product"] in ("VRM", "VWR")
    neutral = 0.25 if item["product"] == "VBL" else 1.0
    level = {"methanol": 6.0, "acetaldehyde": 9.0, "ethyl acetate": 38.0, "n-propanol": 18.0, "isobutanol": 55.0,
             "isoamyl alcohol": 140.0, "furfural": 1.2}  # fmt: skip
    if rum:
        level |= {"methanol": 2.5, "ethyl acetate": 60.0, "isobutanol": 22.0, "isoamyl alcohol": 48.0, "furfural": 0.6}
    cells = {"Lot/Batch": source, "Injected": when + timedelta(hours=5), "Analyst": "SD"}
    for name_, value in level.items():
        cells[f"{name_} g/100L AA"] = round(value * neutral * (1.0 + 0.12 * float(rng.normal())), 2)
    carbamate = item.get("carbamate", 62.0 if not rum else 88.0) * (1.0 + 0.06 * float(rng.normal()))
    cells["ethyl carbamate ug/kg"] = round(carbamate, 0) if item["product"] != "VWR" else "<10"
    sim.records.add("gc", when, cells, item.get("carbamate_fault"))
