"""What the house holds when its book begins: casks filled years before, tanks, cased goods."""

from datetime import date, timedelta

from . import alcohol, house
from .ledger import Parcel, age
from .measure import ethanol_by_weight, strength, tank, temperature, to_step, weigh_cask
from .sim import PROCESSING, STORAGE, Sim, at


def open_book(sim: Sim) -> None:
    for group in sim.plan["opening_casks"]:
        _casks(sim, group)
    for item in sim.plan.get("opening_tanks", []):
        _tank(sim, item)
    for item in sim.plan.get("opening_cased", []):
        _cased(sim, item)


def _casks(sim: Sim, group: dict) -> None:
    filled = at(group["filled"], "10:30")
    for index in range(group["count"]):
        cask = sim.new_cask(group["group"], group.get("size", 53), group, filled - timedelta(days=12))
        sim.register(cask, "cooperage_opening", group.get("register_fault"))
        cask.filled, cask.lot, cask.spirit, cask.at = filled, group["lot"], group["spirit"], filled
        rng = sim.rng(f"opening {cask.number}")
        p = alcohol.fraction_of_proof(group["entry_proof"] + float(rng.normal()) * 0.02)
        mass = cask.capacity_kg(p) * float(rng.uniform(0.965, 0.99))
        _lie_before_the_book(sim, cask, mass * p, mass * (1.0 - p), rng, index < group.get("regauged", 0), group)


def _lie_before_the_book(sim: Sim, cask, ethanol: float, water: float, rng, regauged: bool, group: dict) -> None:
    place = sim.ledger[cask.place]
    place.ethanol, place.water = ethanol, water
    cask.fill_ethanol = ethanol
    cells = {"Cask No": cask.number, "Fill Date": None if group.get("no_fill_date") else cask.filled,
             "Lot No": cask.lot, "Spirit": cask.spirit.upper(),
             "Entry Proof": to_step(alcohol.proof(place.p), 0.1),
             "Orig Gross Lb": weigh_cask(rng, cask.tare_true, place, 68.0),
             "Orig Tare Lb": cask.tare_register}  # fmt: skip
    original = ethanol_by_weight(cells["Orig Gross Lb"] - cask.tare_register, {"Proof": cells["Entry Proof"]})
    cells["Orig PG"] = to_step(alcohol.proof_gallons(original), 0.1)
    gauged = at(date(sim.begin.year - 1, 12, 30), "9:00") + timedelta(minutes=int(cask.number[2:]) * 4)
    now = cask.state(place, gauged if regauged else sim.begin)
    measured = ""
    if regauged:
        place.ethanol, place.water = now[0], now[1]
        temp = temperature(rng, sim.room_f(gauged, 52.0))
        how = strength(rng, place.p, 60.0, "DM60")
        gross = weigh_cask(rng, cask.tare_true, place, temp)
        measured = alcohol.proof_gallons(ethanol_by_weight(gross - cask.tare_register, how))
        cells |= {"Regauged": gauged, "Gross Lb": gross, "Proof": how["Proof"], "Temp F": temp,
                  "PG": to_step(measured, 0.1)}  # fmt: skip
        cask.at = gauged
        now = cask.state(place, sim.begin)
    cask.book_ethanol = place.ethanol if regauged else ethanol
    cells |= {"Bldg": cask.building, "Row": cask.row, "Tier": cask.tier, "Counted By": "PW"}
    row = sim.records.add("opening_casks", sim.begin, cells, group.get("fault"))
    row.truth = {"ethanol_kg": cask.book_ethanol, "proof": place.proof, "ethanol_fill_kg": ethanol}
    place.ethanol = place.water = 0.0
    sim.ledger.move(sim.begin, "source:opening", cask.place, now[0], now[1], "opening stock")
    sim.ledger.as_one(cask.place, Parcel("", cask.number, cask.filled.date().isoformat(), ""))
    cask.at = sim.begin
    sim.book(sim.begin, STORAGE, "opening", cask.book_ethanol)
    sim.truth.tell("cask", cask.number, "filled", "PG", alcohol.proof_gallons(ethanol), cask.filled.date(),
                   cask.lot, alcohol.proof_gallons(original))  # fmt: skip
    sim.truth.tell("cask", cask.number, "opening", "PG", alcohol.proof_gallons(cask.book_ethanol), sim.begin.date(),
                   cask.lot, measured or alcohol.proof_gallons(original))  # fmt: skip


def _tank(sim: Sim, item: dict) -> None:
    place = f"lot:{item['lot']}"
    p = alcohol.fraction_of_proof(item["proof"])
    mass = alcohol.mass_of_gallons(item["gal"], p, alcohol.T60)
    sim.ledger.move(sim.begin, "source:opening", place, mass * p, mass * (1.0 - p), "opening stock")
    aged = ""
    if "filled" in item:
        filled, dumped = date.fromisoformat(item["filled"]), date.fromisoformat(item["dumped"])
        sim.ledger.as_one(place, Parcel(item["cask"], item["cask"], item["filled"], item["dumped"]))
        aged = "{}-{:02d}-{:02d}".format(*age(filled, dumped))
    sim.lots[item["lot"]] = {"tank": item["tank"], "spirit": item["spirit"], "account": item["account"]}
    row = sim.records.add("opening_tanks", sim.begin, {
        "Tank": item["tank"], "Lot No": item["lot"], "Spirit": item["spirit"].upper(),
        "Account": item["account"].upper(),
        **tank(sim.rng("opening " + item["lot"]), sim.ledger[place], 58.0, "HYD"),
        "Age Youngest Y-M-D": aged or None, "Counted By": "PW",
    })  # fmt: skip
    row.truth = {"ethanol_kg": sim.ledger[place].ethanol}
    sim.book(sim.begin, item["account"], "opening", sim.ledger[place].ethanol)
    sim.truth.tell("lot", item["lot"], "opening", "PG", alcohol.proof_gallons(sim.ledger[place].ethanol),
                   sim.begin.date())  # fmt: skip


def _cased(sim: Sim, item: dict) -> None:
    product = house.PRODUCTS[item["product"]]
    batch, count = item["batch"], item["bottles"]
    p = alcohol.fraction_of_proof(product["proof"])
    mass = alcohol.mass_of_gallons(count * product["ml"] / 1000.0 / alcohol.GAL_L, p, alcohol.T60)
    place = f"batch:{batch}"
    sim.ledger.move(sim.begin, "source:opening", place, mass * p, mass * (1.0 - p), "opening stock")
    if "filled" in item:
        sim.ledger.as_one(place, Parcel(item["cask"], item["cask"], item["filled"], item["dumped"]))
    sim.bottles[batch] = {"product": item["product"], "left": count, "filled": count, "proof": product["proof"],
                          "bottled": at(item["bottled"]), "opening": True}  # fmt: skip
    sim.records.add("opening_cased", sim.begin, {
        "Product": item["product"], "Batch": batch, "Bottled": at(item["bottled"]), "Size mL": product["ml"],
        "Proof": product["proof"], "Cases": count // house.CASE, "Loose": count % house.CASE, "Bottles": count,
        "Counted By": "VC",
    })  # fmt: skip
    sim.book(sim.begin, PROCESSING, "opening", sim.ledger[place].ethanol)
    sim.truth.tell("batch", batch, "opening bottles", "bottles", count, sim.begin.date(), measured=count, u=0)
