"""From grain, molasses and juice to new make in a tank."""

from datetime import datetime, timedelta

from . import alcohol, house
from .measure import U_FLOOR_PCT, noise, tank, temperature, to_step
from .sim import PRODUCTION, STORAGE, Sim, at, days

CODES = {"corn": "CRN", "rye": "RYE", "malted barley": "MBR", "wheat": "WHT", "molasses": "MOL", "cane juice": "CJU"}
VENDORS = {"corn": "V-11", "rye": "V-11", "malted barley": "V-14", "wheat": "V-12", "molasses": "V-21",
           "cane juice": "V-22", "yeast": "V-31", "spirit": "V-41"}  # fmt: skip
OPERATORS = ("JT", "OK", "RM")


def campaign(sim: Sim, item: dict) -> None:
    """Plan the runs of one campaign: mashes, ferments, stills; its reduction and fill follow of themselves."""
    item = dict(item)
    start, count = at(item["start"], "6:30"), item["mashes"]
    bill = item.get("bill") or house.MASH_BILLS[item["kind"]]
    item["beers"], item["bill"] = [], bill
    sim.later(start - days(4), _receive, item)
    fermenters = ("F1", "F2", "F3", "F4")
    column = item["route"] == "column"
    gap = 10 if column else 0
    for n in range(count):
        day = n + (gap - 4 if column and n >= 4 else 0)
        sim.later(start + days(day), mash, item, fermenters[n % 4])
    if column:
        for turn in range(count // 4):
            sim.later(start + days(8 + turn * gap), column_run, item)
    else:
        for n in range(count):
            sim.later(start + days(5.04 + n), strip, item)
        sim.later(start + days(5.06 + count), spirit_run, item)


def _basis(item: dict) -> str:
    return {"RMM": "molasses", "RMC": "cane juice"}.get(item["kind"], "grain")


def operator(sim: Sim, run: str) -> str:
    return OPERATORS[int(sim.rng(f"who {run}").integers(len(OPERATORS)))]


def _receive(sim: Sim, when: datetime, item: dict) -> None:
    """The campaign's own lots of grain or sugar, with their certificates."""
    total = house.MASH_LB[_basis(item)] * item["mashes"]
    item["lots"] = {}
    for material, share in item["bill"].items():
        lot = sim.number(CODES[material], when)
        rng = sim.rng(lot)
        item["lots"][material] = lot
        cells = {"Rec Date": when + timedelta(minutes=int(rng.integers(600))), "Lot No": lot, "Item": material,
                 "Class": "sugar" if material in house.BRIX else "grain", "Vendor": VENDORS[material],
                 "Net Lb": float(round(total * share * (1.03 + 0.05 * float(rng.uniform())), -1)),
                 "Cert No": f"CA-{int(rng.integers(10000, 99999))}", "Rec By": "LB"}  # fmt: skip
        if material in house.BRIX:
            cells["Brix"] = to_step(house.BRIX[material] + float(rng.uniform(-0.6, 0.6)), 0.1)
        else:
            cells["Moisture %"] = to_step(house.MOISTURE_PCT[material] + float(rng.uniform(-0.5, 0.5)), 0.1)
            cells["Extract % DM"] = to_step(house.EXTRACT_PCT_DM[material] + float(rng.uniform(-0.6, 0.6)), 0.1)
        sim.records.add("receiving", when, cells)
        item.setdefault("certificates", {})[material] = cells


def other_receipts(sim: Sim) -> None:
    """Water by the month, yeast by the quarter."""
    month = sim.begin
    while month < sim.end:
        lot = f"WTR-{month:%y}-{month:%m}"
        sim.records.add("receiving", month, {"Rec Date": month + timedelta(minutes=5), "Lot No": lot, "Item": "water",
                        "Class": "water", "Vendor": "V-01", "Gal": 60000.0, "Rec By": "LB",
                        "Remarks": "meter, month"})  # fmt: skip
        if month.month % 3 == 1:
            sim.records.add("receiving", month + days(0.4), {
                "Rec Date": month + days(0.4), "Lot No": f"YST-{month:%y}-{month:%m}", "Item": "yeast",
                "Class": "yeast", "Vendor": VENDORS["yeast"], "Net Lb": 220.0, "Cert No": f"CA-{month:%y%m}7",
                "Rec By": "LB"})  # fmt: skip
        month = (month + days(32)).replace(day=1)


def water_lot(when: datetime) -> str:
    return f"WTR-{when:%y}-{when:%m}"


def add_run(sim: Sim, run: str, step: str, vessel: str, start: datetime, end: datetime, fault=None, **cells) -> None:
    sim.records.add("runs", start, {"Run No": run, "Step": step, "Vessel": vessel, "Started": start, "Finished": end,
                    "Opr": operator(sim, run)} | cells, fault)  # fmt: skip


def add_gauge(sim: Sim, run: str, way: str, lot: str, what: str, vessel: str, when: datetime, read: dict, truth=None,
              fault: str | None = None):  # fmt: skip
    row = sim.records.add("gauges", when, {"Run No": run, "I/O": way, "Lot No": lot, "What": what, "Vessel": vessel,
                          "Date/Time": when} | read, fault)  # fmt: skip
    row.truth = truth or {}
    return row


def mash(sim: Sim, when: datetime, item: dict, fermenter: str) -> None:
    run = sim.number("M", when)
    rng = sim.rng(run)
    total, basis = house.MASH_LB[_basis(item)], _basis(item)
    lot, beer = f"MSH-{run[2:]}", f"BEER-{run[2:]}"
    add_run(sim, run, "MASH", "MC1", when, when + timedelta(hours=5.2), item.get("mash_fault"), Recipe=item["kind"])
    extract_kg = dry_kg = water_kg = 0.0
    for material, share in item["bill"].items():
        pounds = total * share * (1.0 + noise(rng, 0.3) / 100.0)
        certificate = item["certificates"][material]
        kg = pounds * alcohol.LB_KG
        wet = 1.0 - certificate["Brix"] / 100.0 if material in house.BRIX else certificate["Moisture %"] / 100.0
        dry = kg * (1.0 - wet)
        extract_kg += dry * (1.0 if material in house.BRIX else certificate["Extract % DM"] / 100.0)
        dry_kg, water_kg = dry_kg + dry, water_kg + kg - dry
        seen = pounds * (1.0 + noise(rng, U_FLOOR_PCT) / 100.0)
        add_gauge(sim, run, "I", item["lots"][material], material, "MC1", when,
                  {"Net Lb": to_step(seen, 0.5), "Inst": "SC-1"}, {"lb": pounds}, item.get("mash_fault"))  # fmt: skip
    gal = house.BEER_WATER_GAL[basis] * (1.0 + float(rng.normal()) * 0.004)
    add_gauge(sim, run, "I", water_lot(when), "water", "MC1", when,
              {"Gal": to_step(gal * (1 + noise(rng, 0.3) / 100), 1.0), "Temp F": temperature(rng, 56.0)})  # fmt: skip
    water_kg += alcohol.mass_of_gallons(gal, 0.0, alcohol.celsius(56.0))
    sim.ledger.move(when, "source:water", f"lot:{lot}", 0.0, water_kg, "mash")
    fermentable = house.FERMENTABLE[basis] * (1.0 + float(rng.normal()) * 0.006)
    ethanol = extract_kg * fermentable / 2.0665  # Balling: 2.0665 g of extract give 1 g of alcohol
    solids_kg = dry_kg - extract_kg * fermentable
    mash_l = water_kg / 0.998 + extract_kg * 0.617 + (dry_kg - extract_kg) * 0.65
    sim.lots[beer] = {"solids_gal": (solids_kg * 0.63) / alcohol.GAL_L, "kind": item["kind"]}
    end = when + timedelta(hours=5.2)
    brix = 100.0 * extract_kg / (extract_kg + water_kg)
    read = {"Gal": to_step(mash_l / alcohol.GAL_L * (1 + noise(rng, 0.3) / 100), 1.0),
            "Temp F": temperature(rng, 78.0), "Brix": to_step(brix + noise(rng, 0.15), 0.1),
            "Inst": "RF-1"}  # fmt: skip
    item.setdefault("mashed", {})[lot] = read
    add_gauge(sim, run, "O", lot, "mash", fermenter, end, read, {"brix": brix})
    sim.later(end + timedelta(minutes=20), ferment, item, run, fermenter, ethanol)


def ferment(sim: Sim, when: datetime, item: dict, mash_run: str, fermenter: str, ethanol: float) -> None:
    run = sim.number("F", when)
    rng = sim.rng(run)
    lot, beer = f"MSH-{mash_run[2:]}", f"BEER-{mash_run[2:]}"
    end = when + days(4.0) + timedelta(minutes=int(rng.integers(-180, 180)))
    add_run(sim, run, "FERMENT", fermenter, when, end, Recipe=item["kind"])
    add_gauge(sim, run, "I", lot, "mash", fermenter, when, item["mashed"].pop(lot))
    yeast = f"YST-{when:%y}-{(when.month - 1) // 3 * 3 + 1:02d}"
    add_gauge(sim, run, "I", yeast, "yeast", fermenter, when, {"Net Lb": 8.5, "Inst": "SC-1"})
    sim.ledger.share(when, f"lot:{lot}", f"lot:{beer}", 1.0, "ferment")
    sim.ledger.move(end, "source:fermentation", f"lot:{beer}", ethanol, 0.0, "fermentation")
    place = sim.ledger[f"lot:{beer}"]
    add_gauge(sim, run, "O", beer, "beer", fermenter, end, {
        **tank(rng, place, 84.0, "ABV LAB", sim.lots[beer]["solids_gal"]),
        "Brix": to_step(float(rng.uniform(0.1, 0.9)) + (6.0 if item["kind"] == "RMM" else 0.0), 0.1)},
        {"ethanol_kg": place.ethanol})  # fmt: skip
    sim.truth.tell("lot", beer, "produced", "PG", alcohol.proof_gallons(place.ethanol), end.date(), run)
    item["beers"].append((beer, fermenter))


def _beer_in(sim: Sim, run: str, when: datetime, beer: str, vessel: str) -> None:
    place, rng = sim.ledger[f"lot:{beer}"], sim.rng(f"{run} {beer}")
    add_gauge(sim, run, "I", beer, "beer", vessel, when,
              tank(rng, place, 80.0, "ABV LAB", sim.lots[beer]["solids_gal"]),
              {"ethanol_kg": place.ethanol})  # fmt: skip
    sim.ledger.share(when, f"lot:{beer}", f"run:{run}", 1.0, "charge")


def _stillage(sim: Sim, run: str, end: datetime, solids_gal: float) -> None:
    place = sim.ledger[f"run:{run}"]
    rng = sim.rng(f"{run} stillage")
    read = tank(rng, place, 150.0 if solids_gal else 120.0, "ABV LAB", solids_gal)
    add_gauge(sim, run, "O", f"STL-{run}", "stillage", "SLG1", end, read, {"ethanol_kg": place.ethanol})
    sim.ledger.share(end, f"run:{run}", "loss:stillage", 1.0, "stillage")


def _draw(sim: Sim, run: str, when: datetime, lot: str, ethanol: float, proof: float) -> None:
    """Distillate of a proof from a run's charge into a lot."""
    p = alcohol.fraction_of_proof(proof)
    sim.ledger.move(when, f"run:{run}", f"lot:{lot}", ethanol, ethanol * (1.0 - p) / p, "distillate")


def _vapour(sim: Sim, run: str, when: datetime, share: float) -> None:
    ethanol = sim.ledger[f"run:{run}"].ethanol * share
    sim.ledger.move(when, f"run:{run}", "loss:still", ethanol, 0.0, "vapour")


def strip(sim: Sim, when: datetime, item: dict) -> None:
    run = sim.number("S", when)
    rng = sim.rng(run)
    beer, fermenter = item["beers"].pop(0)
    lot = f"LW-{run[2:]}"
    end = when + timedelta(hours=7.6 + float(rng.uniform(-0.4, 0.6)))
    add_run(sim, run, "STRIP", "PS1", when, end, Recipe=item["kind"])
    _beer_in(sim, run, when, beer, fermenter)
    charged = sim.ledger[f"run:{run}"].ethanol
    _vapour(sim, run, end, 0.004)
    _draw(sim, run, end, lot, charged * (0.983 + 0.003 * float(rng.normal())), 62.0 + float(rng.normal()) * 1.2)
    vessel = "LW1" if len(item.setdefault("low_wines", [])) % 2 == 0 else "LW2"
    item["low_wines"].append((lot, vessel))
    place = sim.ledger[f"lot:{lot}"]
    add_gauge(sim, run, "O", lot, "low wines", vessel, end, tank(rng, place, 74.0, "HYD"),
              {"ethanol_kg": place.ethanol})  # fmt: skip
    _stillage(sim, run, end, sim.lots[beer]["solids_gal"])
    sim.truth.tell("run", run, "recovery", "%", 100.0 * place.ethanol / charged, end.date())


def spirit_run(sim: Sim, when: datetime, item: dict) -> None:
    """Low wines and the feints of the spirit run before; hearts become new make, heads and tails feints."""
    run = sim.number("D", when)
    rng = sim.rng(run)
    spirit = house.SPIRIT[item["kind"]]
    hours = 9.4 + float(rng.uniform(-0.3, 0.5))
    end = when + timedelta(hours=hours)
    cut_on, cut_off = when + timedelta(hours=1.25), when + timedelta(hours=6.6)
    add_run(sim, run, "SPIRIT", "PS1", when, end, Recipe=item["kind"], **{"Cut On": cut_on, "Cut Off": cut_off})
    feints = f"FNT-{spirit}"
    charge = list(item["low_wines"])
    if feints in sim.lots:
        charge.append((sim.lots[feints]["lot"], sim.lots[feints]["tank"]))
    for lot, vessel in charge:
        place = sim.ledger[f"lot:{lot}"]
        add_gauge(sim, run, "I", lot, "feints" if lot.startswith("FNT") else "low wines", vessel, when,
                  tank(sim.rng(f"{run} {lot}"), place, 66.0, "HYD"), {"ethanol_kg": place.ethanol})  # fmt: skip
        sim.ledger.share(when, f"lot:{lot}", f"run:{run}", 1.0, "charge")
    charged = sim.ledger[f"run:{run}"].ethanol
    _vapour(sim, run, end, 0.006)
    lot, left = f"NM-{run[2:]}", f"FNT-{run[2:]}"
    hearts = charged * (0.755 + 0.006 * float(rng.normal()))
    _draw(sim, run, cut_off, lot, hearts, item.get("new_make_proof", 138.5) + float(rng.normal()) * 0.8)
    _draw(sim, run, end, left, charged * 0.04, 152.0)
    _draw(sim, run, end, left, charged * 0.178, 62.0)
    sim.lots[feints] = {"lot": left, "tank": {"bourbon": "FNT1", "rum": "FNT2", "rye": "FNT3"}[spirit]}
    vessel = "SPT3" if spirit == "rum" else "SPT1"
    _production_gauge(sim, run, lot, vessel, cut_off, item, spirit, item.get("new_make_fault"))
    place = sim.ledger[f"lot:{left}"]
    add_gauge(sim, run, "O", left, "feints", sim.lots[feints]["tank"], end, tank(rng, place, 72.0, "HYD"),
              {"ethanol_kg": place.ethanol})  # fmt: skip
    _stillage(sim, run, end, 0.0)
    if not item.get("no_fill"):
        sim.later(end + timedelta(hours=15), _reduce_for_entry, item, [(lot, vessel)])
    sim.truth.tell("run", run, "hearts of charge", "%", 100.0 * hearts / charged, end.date())


def column_run(sim: Sim, when: datetime, item: dict) -> None:
    """Four beers through the continuous column and its doubler, straight to new make."""
    run = sim.number("K", when)
    rng = sim.rng(run)
    end = when + timedelta(hours=23.5 + float(rng.uniform(-0.5, 1.0)))
    add_run(sim, run, "COLUMN", "CC1", when, end, Recipe=item["kind"])
    solids = 0.0
    for beer, fermenter in item["beers"][:4]:
        _beer_in(sim, run, when, beer, fermenter)
        solids += sim.lots[beer]["solids_gal"]
    del item["beers"][:4]
    charged = sim.ledger[f"run:{run}"].ethanol
    _vapour(sim, run, end, 0.004)
    lot = f"NM-{run[2:]}C"
    _draw(sim, run, end, lot, charged * (0.976 + 0.002 * float(rng.normal())), 134.0 + float(rng.normal()) * 0.7)
    made = item.setdefault("made", [])
    vessel = "SPT4" if made else "SPT2"
    _production_gauge(sim, run, lot, vessel, end, item, house.SPIRIT[item["kind"]])
    _stillage(sim, run, end, solids)
    made.append((lot, vessel))
    sim.truth.tell("run", run, "recovery", "%", 100.0 * sim.ledger[f"lot:{lot}"].ethanol / charged, end.date())
    if len(made) == item["mashes"] // 4:
        sim.later(end + timedelta(hours=26), _reduce_for_entry, item, made)


def _production_gauge(
    sim: Sim, run: str, lot: str, vessel: str, when: datetime, item: dict, spirit: str, fault=None
) -> None:
    place = sim.ledger[f"lot:{lot}"]
    how = "DM60" if len(sim.lots) % 2 else "HYD"
    add_gauge(sim, run, "O", lot, "new make", vessel, when, tank(sim.rng(f"{lot} made"), place, 71.0, how),
              {"ethanol_kg": place.ethanol, "proof": place.proof}, fault)  # fmt: skip
    sim.lots[lot] = {"tank": vessel, "spirit": spirit, "account": STORAGE, "kind": item["kind"], "made": when}
    sim.book(when, PRODUCTION, "produced", place.ethanol)
    sim.pass_on(when, PRODUCTION, STORAGE, place.ethanol)
    sim.truth.tell("lot", lot, "produced", "PG", alcohol.proof_gallons(place.ethanol), when.date(), run)
    sim.records.add("lab", when + timedelta(hours=3), {
        "Lot/Batch": lot, "Analyzed": when + timedelta(hours=3), "Rep": 1,
        "Proof": to_step(place.proof + noise(sim.rng(f"{lot} lab"), 0.05), 0.01), "Analyst": "SD",
    }).truth = {"proof": place.proof}  # fmt: skip


def _reduce_for_entry(sim: Sim, when: datetime, item: dict, lots: list[tuple[str, str]]) -> None:
    """Bring new make to its entry proof in the entry tank; a share of rum may stay for white rum."""
    from .warehouse import fill_run

    run = sim.number("R", when)
    rng = sim.rng(run)
    entry = f"EN-{run[2:]}"
    share = 1.0 - item.get("white_share", 0.0)
    add_run(sim, run, "REDUCE", "ENT1", when, when + timedelta(hours=3), item.get("entry_fault"), Recipe=item["kind"])
    for lot, vessel in lots:
        place = sim.ledger[f"lot:{lot}"]
        drawn = type(place)(lot, place.ethanol * share, place.water * share)
        add_gauge(sim, run, "I", lot, "new make", vessel, when, tank(rng, drawn, 68.0, "DM60"),
                  {"ethanol_kg": drawn.ethanol})  # fmt: skip
        sim.ledger.share(when, f"lot:{lot}", f"run:{run}", share, "reduce")
    place = sim.ledger[f"run:{run}"]
    p = alcohol.fraction_of_proof(item["entry_proof"] + float(rng.normal()) * 0.05)
    needed = place.ethanol * (1.0 - p) / p - place.water
    gal = alcohol.gallons(needed, 0.0, alcohol.celsius(60.0))
    add_gauge(sim, run, "I", water_lot(when), "water", "ENT1", when + timedelta(hours=1),
              {"Gal": to_step(gal * (1 + noise(rng, 0.3) / 100), 0.1), "Temp F": 60.0})  # fmt: skip
    sim.ledger.move(when, "source:water", f"run:{run}", 0.0, needed, "reduce")
    end = when + timedelta(hours=3)
    lost = sim.ledger.share(end, f"run:{run}", "loss:process", 0.001, "reduce")
    sim.book(end, STORAGE, "lost in process", -lost)
    sim.ledger.share(end, f"run:{run}", f"lot:{entry}", 1.0, "reduce")
    made = sim.ledger[f"lot:{entry}"]
    sim.lots[entry] = {"tank": "ENT1", "spirit": house.SPIRIT[item["kind"]], "account": STORAGE, "kind": item["kind"]}
    add_gauge(sim, run, "O", entry, "entry spirit", "ENT1", end, tank(rng, made, 67.0, "DM60"),
              {"ethanol_kg": made.ethanol, "proof": made.proof}, item.get("entry_fault"))  # fmt: skip
    sim.truth.tell("lot", entry, "produced", "PG", alcohol.proof_gallons(made.ethanol), end.date(), run)
    sim.later(end + timedelta(hours=19), fill_run, item, entry)
