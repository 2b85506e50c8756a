"""The plan put on the calendar."""

from datetime import timedelta
from pathlib import Path

from . import edits, finishing, logs, opening, outbound, production, truth, warehouse
from .sim import Sim, at, days

EVENTS = {  # table of the plan: what is done, and the usual hour
    "neutral": (outbound.receive_spirit, "10:30"),
    "regauges": (warehouse.regauges, "9:00"),
    "toppings": (warehouse.top, "13:30"),
    "transfers": (warehouse.transfer, "10:00"),
    "moves": (warehouse.move, "14:00"),
    "leak_notes": (warehouse.note_leak, "11:00"),
    "cask_dispatches": (warehouse.ship_casks, "9:30"),
    "tank_dispatches": (None, "9:00"),
    "ruined": (warehouse.ruin, "10:00"),
    "batches": (finishing.batch, "7:30"),
    "returns": (outbound.give_back, "15:00"),
    "bottle_samples": (outbound.sample_bottles, "16:10"),
    "bottle_destructions": (outbound.destroy_bottles, "11:00"),
    "missing": (outbound.go_missing, "18:00"),
}


def _ship_tank(sim: Sim, when, item: dict) -> None:
    if item["lot"].startswith("newest "):
        item = item | {"lot": finishing._white_lot(sim, item["lot"].split()[1])}
    outbound.ship_tank(sim, when, item)


def simulate(plan: Path) -> Sim:
    """The house from its opening stock to the end of the plan, with its slips of the pen."""
    sim = Sim(plan)
    opening.open_book(sim)
    production.other_receipts(sim)
    for item in sim.plan.get("campaigns", []):
        production.campaign(sim, item)
    for item in sim.plan.get("leaks", []):
        sim.later(sim.begin if at(item["from"]) < sim.begin else at(item["from"]), _leak, item)
    for table, (action, clock) in EVENTS.items():
        for item in sim.plan.get(table, []):
            sim.later(at(item["date"], item.get("clock", clock)), action or _ship_tank, item)
    for batch in list(sim.bottles):
        outbound.plan_dispatches(sim, sim.begin + days(6.4), batch)
    _monthly(sim)
    sim.run()
    truth.casks(sim)
    truth.months(sim)
    truth.batches(sim)
    truth.gauges(sim)
    logs.write(sim)
    edits.make(sim)
    return sim


def _leak(sim: Sim, when, item: dict) -> None:
    (cask,) = sim.select(item["cask"])
    sim.leak(cask, item)


def _monthly(sim: Sim) -> None:
    month = sim.begin
    while month < sim.end:
        after = (month + days(32)).replace(day=1)
        sim.later(after - timedelta(hours=7), outbound.count_month)  # 5 PM of the last day
        sim.later(after - timedelta(minutes=1), truth.held)
        if month.month % 3 == 2:
            sim.later(month + days(10) + timedelta(hours=13), warehouse.sampling)
            sim.later(month + days(2) + timedelta(hours=9), outbound.calibrations)
        if month.month % 3 == 0:
            sim.later(month + days(9) + timedelta(hours=13), warehouse.sampling)
        month = after
