"""What leaves the house, what comes back, and what is counted."""

from datetime import datetime, timedelta

from . import alcohol, house
from .measure import tank, to_step
from .production import VENDORS
from .sim import PROCESSING, STORAGE, Sim, days

STATUS_LINE = {"TD": "dispatched tax determined", "EX": "dispatched export", "IB": "dispatched in bond"}


def take_bottles(sim: Sim, when: datetime, batch: str, count: int, target: str, why: str) -> float:
    """So many bottles of a batch to a place; kg of ethanol."""
    about = sim.bottles[batch]
    assert 0 < count <= about["left"], (batch, count, about["left"])
    moved = sim.ledger.share(when, f"batch:{batch}", target, count / about["left"], why)
    about["left"] -= count
    return moved


def plan_dispatches(sim: Sim, when: datetime, batch: str) -> None:
    """Orders over the months after bottling; some of each batch stays."""
    rng = sim.rng(f"orders {batch}")
    orders = int(rng.integers(6, 12))
    moment = when + days(float(rng.uniform(5, 12)))
    for n in range(orders):
        clock = moment.replace(hour=8 + moment.hour // 3, minute=5 * (moment.minute // 5), second=0, microsecond=0)
        sim.later(clock, _order, batch, n, orders)
        moment += days(float(rng.uniform(4, 28)))


def _order(sim: Sim, when: datetime, batch: str, n: int, orders: int) -> None:
    rng, about = sim.rng(f"order {batch} {n}"), sim.bottles[batch]
    count = int(about["filled"] * 0.8 / orders * float(rng.uniform(0.5, 1.3))) // house.CASE * house.CASE
    if count < house.CASE or count > about["left"] - 2 * house.CASE:
        return
    customer = list(house.CUSTOMERS)[int(rng.integers(len(house.CUSTOMERS)))]
    ship(sim, when, {"batch": batch, "bottles": count, "customer": customer})


def ship(sim: Sim, when: datetime, item: dict) -> None:
    """Cased goods out: one document, one batch a line."""
    batch, count = item["batch"], item["bottles"]
    about, status = sim.bottles[batch], item.get("status", house.CUSTOMERS[item["customer"]])
    document = item.get("document") or sim.number("SH", when)
    gone = take_bottles(sim, when, batch, count, f"out:{document}", "dispatch")
    sim.book(when, PROCESSING, STATUS_LINE[status], -gone)
    sim.records.add("shipping", when, {
        "Ship Date": when, "Doc No": document, "Customer": item["customer"], "Status": status,
        "Product": about["product"], "Batch": batch, "Cases": count // house.CASE, "Bottles": count,
        "Size mL": house.PRODUCTS[about["product"]]["ml"], "Proof": about["proof"],
        "PG": to_step(alcohol.proof_gallons(gone), 0.1), "By": "VC"}, item.get("fault")).truth = {
            "ethanol_kg": gone, "bottles": count}  # fmt: skip
    about.setdefault("out", []).append((document, count, item["customer"]))
    sim.truth.tell("batch", batch, "dispatched", "bottles", count, when.date(), document, count, 0)


def ship_tank(sim: Sim, when: datetime, item: dict) -> None:
    """Bulk from a tank, in bond."""
    lot = item["lot"]
    place = sim.ledger[f"lot:{lot}"]
    share = place.share_of_gallons(item["gal"])
    held = type(place)(lot, place.ethanol * share, place.water * share)
    read = tank(sim.rng(item["document"]), held, 64.0, "DM60")
    account = sim.lots[lot]["account"]
    gone = sim.ledger.share(when, f"lot:{lot}", f"out:{item['document']}", share, "bulk out")
    sim.book(when, account, "dispatched in bond", -gone)
    sim.records.add("shipping", when, {
        "Ship Date": when, "Doc No": item["document"], "Customer": item["customer"], "Status": "IB",
        "Bulk Lot/Cask": lot, "Gal": read["Gal"], "Temp F": read["Temp F"], "Proof": read["Proof"],
        "PG": to_step(alcohol.proof_gallons(gone), 0.1), "By": "VC"}, item.get("fault")).truth = {
            "ethanol_kg": gone}  # fmt: skip
    sim.truth.tell("dispatch", item["document"], "bulk", "PG", alcohol.proof_gallons(gone), when.date(), lot)


def receive_spirit(sim: Sim, when: datetime, item: dict) -> None:
    """A lot of neutral spirit bought in bond."""
    p = alcohol.fraction_of_proof(item["proof"])
    mass = alcohol.mass_of_gallons(item["gal"], p, alcohol.T60)
    place = f"lot:{item['lot']}"
    sim.ledger.move(when, "source:supplier", place, mass * p, mass * (1.0 - p), "received in bond")
    sim.lots[item["lot"]] = {"tank": "GNS1", "spirit": "neutral spirit", "account": STORAGE}
    sim.book(when, STORAGE, "received in bond", mass * p)
    read = tank(sim.rng(item["lot"]), sim.ledger[place], 62.0, "DM60")
    sim.records.add("receiving", when, {
        "Rec Date": when, "Lot No": item["lot"], "Item": "neutral spirit", "Class": "spirit",
        "Vendor": VENDORS["spirit"], "Gal": read["Gal"], "Temp F": read["Temp F"], "Proof": read["Proof"],
        "Cert No": "TB-77120", "Rec By": "VC", "Remarks": "in bond"}).truth = {"ethanol_kg": mass * p}  # fmt: skip
    sim.truth.tell("lot", item["lot"], "received", "PG", alcohol.proof_gallons(mass * p), when.date())


def give_back(sim: Sim, when: datetime, item: dict) -> None:
    """Bottles that a customer sends back, into stock again or kept apart for destruction."""
    batch, count = item["batch"], item["bottles"]
    document, sold, customer = sim.bottles[batch]["out"][item.get("order", 0)]
    count = min(count, sold)
    place = sim.ledger[f"out:{document}"]
    target = f"batch:{batch}"
    moved = sim.ledger.share(when, f"out:{document}", target, count / sold, "return")
    assert place.ethanol >= -1e-9
    sim.bottles[batch]["left"] += count
    sim.book(when, PROCESSING, "returned", moved)
    sim.records.add("returns", when, {
        "Return Date": when, "Return No": sim.number("RT", when), "Orig Doc No": item.get("named", document),
        "Customer": customer, "Batch": batch, "Bottles": count, "Condition": item["condition"],
        "Restocked": item.get("restocked", "Y"), "By": "VC"}, item.get("fault")).truth = {
            "ethanol_kg": moved, "bottles": count}  # fmt: skip
    sim.truth.tell("batch", batch, "returned", "bottles", count, when.date(), document, count, 0)


def sample_bottles(sim: Sim, when: datetime, item: dict) -> None:
    batch, count = item["batch"], item["bottles"]
    taken = take_bottles(sim, when, batch, count, f"sample:{batch}", "sample")
    sim.book(when, PROCESSING, "sampled", -taken)
    size = house.PRODUCTS[sim.bottles[batch]["product"]]["ml"]
    sim.records.add("samples", when, {
        "Date": when, "Account": "PROCESSING", "Batch/Lot": batch, "Kind": "CASED", "Qty": count, "Size mL": size,
        "Purpose": item["purpose"], "Recipient": item["recipient"], "By": "HN"}, item.get("fault")).truth = {
            "ethanol_kg": taken, "bottles": count}  # fmt: skip
    sim.truth.tell("batch", batch, "sampled", "bottles", count, when.date(), item["purpose"], count, 0)


def destroy_bottles(sim: Sim, when: datetime, item: dict) -> None:
    batch, count = item["batch"], item["bottles"]
    gone = take_bottles(sim, when, batch, count, f"destroyed:{batch}", "destroyed")
    sim.book(when, PROCESSING, "destroyed", -gone)
    sim.records.add("destructions", when, {
        "When": when, "Batch/Lot/Cask": batch, "Bottles": count, "Proof": sim.bottles[batch]["proof"],
        "Reason": item["reason"], "Witness": item.get("witness"), "By": "VC"}, item.get("fault")).truth = {
            "ethanol_kg": gone, "bottles": count}  # fmt: skip
    sim.truth.tell("batch", batch, "destroyed", "bottles", count, when.date(), item["reason"], count, 0)


def go_missing(sim: Sim, when: datetime, item: dict) -> None:
    """Bottles that nobody wrote down; the next count is short by them."""
    gone = take_bottles(sim, when, item["batch"], item["bottles"], "unexplained", "missing")
    sim.book(when, PROCESSING, "unexplained", -gone)
    sim.bottles[item["batch"]]["missing"] = item["bottles"]
    sim.bottles[item["batch"]]["missing_fault"] = item["fault"]
    sim.truth.tell("batch", item["batch"], "unaccounted", "bottles", item["bottles"], when.date(), "", "", 0)


def count_month(sim: Sim, when: datetime) -> None:
    """Month's end: cased goods and tanks, each quarter the casks too."""
    by = {"Counted By": "VC", "Second": "HN"}
    for batch, about in sorted(sim.bottles.items()):
        if about["left"] or about["bottled"].month == when.month:
            row = sim.records.add("counts", when, {
                "Counted": when, "Type": "CASED", "Item": batch, "Location": "FG1",
                "Cases": about["left"] // house.CASE, "Bottles": about["left"], **by})  # fmt: skip
            row.truth = {"bottles": about["left"], "ethanol_kg": sim.ledger[f"batch:{batch}"].ethanol}
            if about.get("missing_fault"):
                row.faults.append(about.pop("missing_fault"))
    for lot, about in sorted(sim.lots.items()):
        place = sim.ledger.places.get(f"lot:{lot}")
        if place and "account" in about and place.ethanol > 0.01:
            sim.records.add("counts", when + timedelta(minutes=40), {
                "Counted": when + timedelta(minutes=40), "Type": "TANK", "Item": lot, "Location": about["tank"],
                **tank(sim.rng(f"count {lot} {when}"), place, 62.0, "HYD"), "Counted By": "PW", "Second": "VC",
            }).truth = {"ethanol_kg": place.ethanol}  # fmt: skip
    for key, about in sorted(sim.lots.items()):
        if key.startswith("FNT-") and sim.ledger[f"lot:{about.get('lot')}"].ethanol > 0.01:
            held = sim.ledger[f"lot:{about['lot']}"]
            sim.records.add("counts", when + timedelta(minutes=40), {
                "Counted": when + timedelta(minutes=40), "Type": "TANK", "Item": about["lot"],
                "Location": about["tank"], **tank(sim.rng(f"count {key} {when}"), held, 62.0, "HYD"),
                "Counted By": "PW", "Second": "VC"}).truth = {"ethanol_kg": held.ethanol}  # fmt: skip
    if when.month % 3 == 0:
        for number, cask in sorted(sim.casks.items()):
            if sim.ledger[cask.place].ethanol > 0.0:
                moment = when.replace(hour=9, minute=0)
                sim.records.add("counts", moment, {"Counted": moment, "Type": "CASK", "Item": number,
                                "Location": cask.location, "Counted By": "PW", "Second": "LB"})  # fmt: skip


def calibrations(sim: Sim, when: datetime) -> None:
    """The quarter's checks of the instruments against their references."""
    rng = sim.rng(f"calibration {when:%Y-%m}")
    checks = (("SC-2", "lb", 500.0, 0.25), ("SC-1", "lb", 1000.0, 0.4), ("PH-1", "proof", 80.0, 0.1),
              ("PH-2", "proof", 120.0, 0.1), ("DM-5", "proof", 100.0, 0.03), ("TH-3", "F", 60.0, 0.2))  # fmt: skip
    for n, (code, unit, reference, sd) in enumerate(checks):
        moment = when + timedelta(minutes=20 * n)
        step = 0.5 if unit == "lb" else 0.1
        sim.records.add("calibrations", moment, {"Checked": moment, "Inst": code, "Reference": reference,
                        "Reading": to_step(reference + sd * float(rng.normal()), step), "Unit": unit,
                        "By": "SD"})  # fmt: skip
