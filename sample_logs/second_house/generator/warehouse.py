"""What is done to casks: filling, gauging again, sampling, topping, transfer, moving, leaks, dumping."""

from datetime import datetime, timedelta

from . import alcohol, house
from .cask import Cask
from .ledger import Parcel, youngest
from .measure import U_METER_PCT, ethanol_by_volume, ethanol_by_weight, noise, strength, tank, temperature, to_step
from .measure import weigh_cask as weigh
from .production import add_gauge, add_run
from .records import Row
from .sim import PROCESSING, STORAGE, Sim, days


def log(sim: Sim, when: datetime, cask: Cask, action: str, cells: dict, fault: str | None = None) -> Row:
    row = sim.records.add("casklog", when, {"When": when, "Cask No": cask.number, "Action": action} | cells, fault)
    place = sim.ledger[cask.place]
    row.truth = {"ethanol_kg": place.ethanol, "proof": place.proof if place.ethanol else 0.0}
    return row


def _gauge_cells(sim: Sim, cask: Cask, when: datetime, how: str) -> dict:
    """Gross weight, temperature and proof of a cask as it lies."""
    place, rng = sim.ledger[cask.place], sim.rng(f"gauge {cask.number} {when}")
    temp = round(sim.room_f(when, 60.0 + 1.5 * cask.tier, 11.0), 1)
    read = strength(rng, place.p, temp, how)
    gross = weigh(rng, cask.tare_true, place, temp)
    shown = read.get("Proof Temp F", temperature(rng, temp))
    return {"Gross Lb": gross, "Tare Lb": cask.tare_register, "Temp F": shown, "Proof": read["Proof"], "Proof By": how}


def measured(cells: dict) -> float:
    """kg of ethanol that a weighed cask's row gives."""
    return ethanol_by_weight(cells["Gross Lb"] - cells["Tare Lb"], {
        "Proof": cells["Proof"], "Proof Type": cells["Proof By"], "Proof Temp F": cells["Temp F"]})  # fmt: skip


def choose_sizes(gal: float, main: int) -> tuple[list[int], float]:
    """Casks for so many gallons: mostly of one size, each filled to the same 95 to 99.2 % of its bung."""
    best: tuple[float, list[int]] | None = None
    for others in ((0, 0), (1, 0), (0, 1), (1, 1), (2, 0), (0, 2)):
        extra = [30] * others[0] + [15] * others[1]
        for count in range(int(gal / house.SIZES[main]) + 3):
            casks = [main] * count + extra
            capacity = sum(house.SIZES[size] for size in casks)
            full = gal / capacity if capacity else 9.0
            cost = max(0.0, 0.955 - full, full - 0.99) * 100.0 + 0.5 * len(extra)
            if full <= 0.993 and (best is None or cost < best[0]):
                best = (cost, casks)
    assert best is not None
    return best[1], gal / sum(house.SIZES[size] for size in best[1])


def fill_run(sim: Sim, when: datetime, item: dict, entry: str) -> None:
    """All of an entry lot into casks on one day: one run, one row a cask."""
    run = sim.number("CF", when)
    source = sim.ledger[f"lot:{entry}"]
    add_gauge(sim, run, "I", entry, "entry spirit", "ENT1", when, tank(sim.rng(run), source, 66.0, "DM60"),
              {"ethanol_kg": source.ethanol}, item.get("entry_fault"))  # fmt: skip
    lost = sim.ledger.share(when, f"lot:{entry}", "loss:process", 0.0015, "fill")
    sim.book(when, STORAGE, "lost in process", -lost)
    spec = item["casks"]
    sizes, full = choose_sizes(source.gallons(), spec.get("size", 53))
    end = when + timedelta(minutes=9 * len(sizes) + 30)
    add_run(sim, run, "FILL", "ENT1", when, end, **{"Recipe": item["kind"], "Remarks": f"{len(sizes)} casks"})
    left = source.gallons()
    for index, size in enumerate(sizes):
        cask = sim.new_cask(item["group"], size, spec, when.replace(hour=10, minute=0) - days(9))
        sim.register(cask, fault=spec.get("fault"))
        moment = when + timedelta(minutes=9 * index + 15)
        gal = full * house.SIZES[size]
        share = 1.0 if index == len(sizes) - 1 else gal / left
        left -= gal
        sim.ledger.share(moment, f"lot:{entry}", cask.place, share, "fill")
        _filled(sim, cask, moment, entry, item)
        _fill_row(sim, cask, moment, run, entry, item)
    sim.truth.tell("run", run, "casks filled", "casks", len(sizes), when.date(), entry)


def _filled(sim: Sim, cask: Cask, when: datetime, lot: str, item: dict) -> None:
    place = sim.ledger[cask.place]
    sim.ledger.as_one(cask.place, Parcel("", cask.number, when.date().isoformat(), ""))
    cask.filled, cask.at, cask.lot, cask.spirit = when, when, lot, house.SPIRIT[item["kind"]]
    cask.fill_ethanol = cask.book_ethanol = place.ethanol
    sim.book(when, STORAGE, "filled into casks (memo)", place.ethanol)


def _fill_row(sim: Sim, cask: Cask, when: datetime, run: str, lot: str, item: dict) -> None:
    place, rng = sim.ledger[cask.place], sim.rng(f"fill {cask.number}")
    proof = strength(rng, place.p, 66.0, "DM60")["Proof"]
    cells = {"Run No": run, "Lot No": lot, "Tare Lb": cask.tare_register, "Proof": proof, "Proof By": "DM60",
             "To Loc": cask.location, "By": "PW"}  # fmt: skip
    if item.get("fill_by") == "gallons":
        cells |= {"Gal": to_step(place.gallons(66.0) * (1 + noise(rng, U_METER_PCT) / 100), 0.1), "Gal Temp F": 66.0}
        seen = ethanol_by_volume({"Proof": proof} | cells, "Gal", "Gal Temp F")
    else:
        cells |= {"Gross Lb": weigh(rng, cask.tare_true, place, 66.0), "Temp F": 66.0}
        seen = measured(cells)
    row = log(sim, when, cask, "FILL", cells, item.get("entry_fault"))
    row.truth["measured_kg"] = seen
    sim.truth.tell("cask", cask.number, "filled", "PG", alcohol.proof_gallons(place.ethanol), when.date(), lot,
                   alcohol.proof_gallons(seen))  # fmt: skip


def take_stock_of(sim: Sim, cask: Cask, when: datetime) -> None:
    """The book takes over what is truly there; what has gone since the last gauge is booked as lost."""
    now = sim.ledger[cask.place].ethanol
    sim.book(when, STORAGE, "lost in casks", now - cask.book_ethanol)
    cask.book_ethanol = now


def regauge(sim: Sim, when: datetime, cask: Cask, how: str, fault: str | None = None) -> None:
    if cask.dumped or cask.gone:
        return
    cask.age_to(sim.ledger, when)
    cells = _gauge_cells(sim, cask, when, how) | {"By": "PW" if how == "DM60" else "LB"}
    row = log(sim, when, cask, "REGAUGE", cells, fault)
    take_stock_of(sim, cask, when)
    sim.truth.tell("cask", cask.number, "regauge", "PG", alcohol.proof_gallons(row.truth["ethanol_kg"]), when.date(),
                   cask.lot, alcohol.proof_gallons(measured(cells)))  # fmt: skip
    sim.truth.tell("cask", cask.number, "regauge proof", "proof", row.truth["proof"], when.date(), cask.lot)


def regauges(sim: Sim, when: datetime, item: dict) -> None:
    for index, cask in enumerate(sim.select(item["casks"])):
        moment = when + timedelta(minutes=6 * index)
        sim.later(moment, regauge, cask, item.get("how", "DM60"), item.get("fault"))


def sample(sim: Sim, when: datetime, cask: Cask, ml: float = 200.0) -> None:
    if cask.dumped or cask.gone or not cask.filled:
        return
    cask.age_to(sim.ledger, when)
    place = sim.ledger[cask.place]
    taken = sim.ledger.share(when, cask.place, "sample:cask", ml / 1000.0 / alcohol.GAL_L / place.gallons(), "sample")
    cask.book_ethanol -= taken
    sim.book(when, STORAGE, "sampled", -taken)
    log(sim, when, cask, "SAMPLE", {"Smp mL": ml, "By": "SD", "Reason": "maturation panel"})


def sampling(sim: Sim, when: datetime) -> None:
    """A few full casks each quarter."""
    full = [c for c in sim.casks.values() if c.filled and c.filled < when and not c.dumped and not c.gone]
    rng = sim.rng(f"sampling {when:%Y-%m}")
    for index, choice in enumerate(sorted(rng.choice(len(full), min(8, len(full)), replace=False))):
        sample(sim, when + timedelta(minutes=7 * index), full[int(choice)])


def top(sim: Sim, when: datetime, item: dict) -> None:
    """Top one cask up from another."""
    (giver,), (taker,) = sim.select(item["source"]), sim.select(item["into"])
    for cask in (giver, taker):
        cask.age_to(sim.ledger, when)
    source, rng = sim.ledger[giver.place], sim.rng(f"top {when}")
    moved = sim.ledger.share(when, giver.place, taker.place, source.share_of_gallons(item["gal"]), "topping")
    giver.book_ethanol -= moved
    taker.book_ethanol += moved
    read = strength(rng, source.p, 66.0, "DM60")
    log(sim, when, taker, "TOP", {
        "Other Cask": giver.number, "Gal": to_step(item["gal"] * (1 + noise(rng, U_METER_PCT) / 100), 0.05),
        "Gal Temp F": 60.0, "Proof": read["Proof"], "Proof By": "DM60", "By": "LB",
    }, item.get("fault")).truth["moved_kg"] = moved  # fmt: skip
    sim.truth.tell("cask", taker.number, "topped", "PG", alcohol.proof_gallons(moved), when.date(), giver.number)


def transfer(sim: Sim, when: datetime, item: dict) -> None:
    """All of a cask into another, empty one."""
    (giver,) = sim.select(item["source"])
    giver.age_to(sim.ledger, when)
    taker = sim.new_cask(item["group"], giver.size, item["cask"], when - days(5))
    sim.register(taker)
    source = sim.ledger[giver.place]
    kept = alcohol.mass_of_gallons(house.SOAKED_GAL[giver.size], source.p, alcohol.T60) / source.mass
    sim.ledger.share(when, giver.place, "loss:wood", kept, "kept by wood")
    moved = sim.ledger.share(when, giver.place, taker.place, 1.0, "transfer")
    sim.book(when, STORAGE, "lost in casks", moved - giver.book_ethanol)
    giver.dumped, giver.book_ethanol = when, 0.0
    taker.filled, taker.at, taker.lot, taker.spirit = giver.filled, when, giver.lot, giver.spirit
    taker.fill_ethanol = taker.book_ethanol = moved
    log(sim, when, giver, "XFER", {
        "Other Cask": taker.number, **_gauge_cells(sim, taker, when, "DM60"), "To Loc": taker.location,
        "Reason": item["reason"], "By": "PW"}, item.get("fault"))  # fmt: skip
    sim.truth.tell("cask", taker.number, "received by transfer", "PG", alcohol.proof_gallons(moved), when.date(),
                   giver.number)  # fmt: skip


def move(sim: Sim, when: datetime, item: dict) -> None:
    for index, cask in enumerate(sim.select(item["casks"])):
        moment = when + timedelta(minutes=4 * index)
        cask.age_to(sim.ledger, moment)
        cask.building, cask.row, cask.tier = item["building"], item["row"], item["tier"]
        log(sim, moment, cask, "MOVE", {"To Loc": cask.location, "By": "LB", "Reason": item.get("reason")})


def note_leak(sim: Sim, when: datetime, item: dict) -> None:
    (cask,) = sim.select(item["cask"])
    cask.age_to(sim.ledger, when)
    log(sim, when, cask, "LEAK", {"Reason": item["reason"], "By": "LB", "Gal": item.get("gal"),
                                  "Remarks": item.get("remarks")}, item.get("fault"))  # fmt: skip


def dump_run(sim: Sim, when: datetime, item: dict) -> str:
    """Empty casks into the dump tank and rinse them; the lot that comes of it."""
    run = sim.number("DU", when)
    lot = f"DMP-{run[3:]}"
    casks = sim.select(item["casks"])
    end = when + timedelta(minutes=15 * len(casks) + 40)
    add_run(sim, run, "DUMP", "DMP1", when, end, item.get("fault"),
            **{"For Product": item["product"], "Remarks": f"{len(casks)} casks"})  # fmt: skip
    for index, cask in enumerate(casks):
        _dump(sim, when + timedelta(minutes=15 * index), cask, run, lot, item)
    place = sim.ledger[f"lot:{lot}"]
    sim.lots[lot] = {"tank": "DMP1", "spirit": casks[0].spirit, "account": PROCESSING}
    sim.pass_on(end, STORAGE, PROCESSING, place.ethanol)
    add_gauge(sim, run, "O", lot, "dumped spirit", "DMP1", end, tank(sim.rng(run), place, 64.0, "DM60"),
              {"ethanol_kg": place.ethanol, "proof": place.proof})  # fmt: skip
    sim.truth.tell("lot", lot, "dumped", "PG", alcohol.proof_gallons(place.ethanol), when.date(), run)
    tell_composition(sim, "lot", lot, f"lot:{lot}", when)
    return lot


def _dump(sim: Sim, when: datetime, cask: Cask, run: str, lot: str, item: dict) -> None:
    cask.age_to(sim.ledger, when)
    held, rng = sim.ledger[cask.place], sim.rng(f"dump {cask.number}")
    before, before_kg, proof = _gauge_cells(sim, cask, when, "DM60"), held.ethanol, held.proof
    kept = alcohol.mass_of_gallons(house.SOAKED_GAL[cask.size], held.p, alcohol.T60) * float(rng.uniform(0.75, 1.1))
    kept_share = kept / held.mass
    gal = held.gallons(64.0) * (1.0 - kept_share)
    day = when.date().isoformat()
    sim.ledger.rename(cask.place, lambda q: Parcel(cask.number, q.filled_into, q.filled_on, day))
    young = youngest(sim.ledger[cask.place].parts, when.date())
    sim.ledger.share(when, cask.place, f"lot:{lot}", 1.0 - kept_share, "dump")
    rinse = round({53: 2.0, 59: 2.0, 30: 1.5, 15: 1.0}[cask.size] + float(rng.uniform(-0.2, 0.3)), 1)
    if house.PRODUCTS[item["product"]]["proof"] is None:  # cask strength: no water
        rinse = 0.0
    washed = sim.ledger.share(when, cask.place, f"lot:{lot}", float(rng.uniform(0.30, 0.42)) * (rinse > 0.0), "rinse")
    sim.ledger.move(when, "source:water", f"lot:{lot}", 0.0,
                    alcohol.mass_of_gallons(rinse, 0.0, alcohol.T60), "rinse")  # fmt: skip
    recovered = sim.ledger[f"lot:{lot}"].parts
    total = sum(held_ for parcel, held_ in recovered.items() if parcel.dumped_from == cask.number)
    sim.ledger.share(when, cask.place, "loss:wood", 1.0, "kept by wood")
    sim.book(when, STORAGE, "lost in casks", total - cask.book_ethanol)
    sim.book(when, STORAGE, "dumped (memo)", total)
    cask.book_ethanol, cask.dumped = 0.0, when
    cells = {"Run No": run, "Lot No": lot, **before, "Rinse Gal": rinse or None, "By": "LB", "Gal Temp F": 64.0,
             "Gal": to_step(gal * (1 + noise(rng, U_METER_PCT) / 100), 0.1)}  # fmt: skip
    row = log(sim, when, cask, "DUMP", cells, _fault_of(sim, cask, item))
    row.truth = {"drained_kg": total - washed, "ethanol_kg": total, "before_kg": before_kg, "proof": proof}
    seen = ethanol_by_volume(cells, "Gal", "Gal Temp F")
    tell = sim.truth.tell
    tell("cask", cask.number, "drained", "PG", alcohol.proof_gallons(total - washed), when.date(), lot,
         alcohol.proof_gallons(seen))  # fmt: skip
    tell("cask", cask.number, "dumped with rinse", "PG", alcohol.proof_gallons(total), when.date(), lot)
    if young:
        tell("cask", cask.number, "age at dump", "y-m-d", "{}-{:02d}-{:02d}".format(*young[1]), when.date(), young[0])


def _fault_of(sim: Sim, cask: Cask, item: dict) -> str | None:
    for wanted, fault in item.get("fault_casks", {}).items():
        if cask in sim.select(wanted):
            return fault
    return item.get("fault")


def tell_composition(sim: Sim, subject: str, record: str, place: str, when: datetime) -> None:
    """Share of the alcohol by cask dumped, and the age of the youngest."""
    held = sim.ledger[place]
    by_cask: dict[str, float] = {}
    for parcel, ethanol in held.parts.items():
        by_cask[parcel.dumped_from] = by_cask.get(parcel.dumped_from, 0.0) + ethanol
    for cask, ethanol in sorted(by_cask.items()):
        sim.truth.tell(subject, record, "share of alcohol from cask", "1", ethanol / held.ethanol, when.date(), cask)
    young = youngest(held.parts, when.date())
    if young and abs(sum(by_cask.values()) / held.ethanol - 1.0) < 1e-9:
        text = "{}-{:02d}-{:02d}".format(*young[1])
        sim.truth.tell(subject, record, "age of youngest", "y-m-d", text, when.date(), young[0])


def ship_casks(sim: Sim, when: datetime, item: dict) -> None:
    """Whole casks out in bond, on the gauge of the day."""
    for cask in sim.select(item["casks"]):
        regauge(sim, when, cask, "DM60")
        gone = sim.ledger.share(when, cask.place, f"out:{item['document']}", 1.0, "bulk out")
        sim.book(when, STORAGE, "dispatched in bond", -gone)
        cask.gone, cask.book_ethanol = True, 0.0
        sim.records.add("shipping", when + timedelta(hours=4), {
            "Ship Date": when + timedelta(hours=4), "Doc No": item["document"], "Customer": item["customer"],
            "Status": "IB", "Bulk Lot/Cask": cask.number, "PG": to_step(alcohol.proof_gallons(gone), 0.1),
            "By": "VC"}, item.get("fault")).truth = {"ethanol_kg": gone}  # fmt: skip
        sim.truth.tell("dispatch", item["document"], "bulk", "PG", alcohol.proof_gallons(gone), when.date(),
                       cask.number)  # fmt: skip


def ruin(sim: Sim, when: datetime, item: dict) -> None:
    """A cask's contents destroyed in front of a witness."""
    (cask,) = sim.select(item["cask"])
    regauge(sim, when, cask, "DM60")
    place = sim.ledger[cask.place]
    gal, proof = place.gallons(), place.proof
    gone = sim.ledger.share(when, cask.place, "destroyed:cask", 1.0, "destroyed")
    sim.book(when, STORAGE, "destroyed", -gone)
    cask.gone, cask.book_ethanol = True, 0.0
    sim.records.add("destructions", when, {
        "When": when + timedelta(hours=1), "Batch/Lot/Cask": cask.number, "Gal": to_step(gal, 0.1),
        "Proof": to_step(proof, 0.1), "Reason": item["reason"], "Witness": item.get("witness"), "By": "VC",
    }, item.get("fault")).truth = {"ethanol_kg": gone}  # fmt: skip
