"""The truth at months' ends and at the end of the plan."""

import math
from collections import defaultdict

from . import alcohol
from .ledger import age, youngest
from .measure import ethanol_by_volume, ethanol_by_weight, u_of_volume, u_of_weighed
from .sim import PROCESSING, PRODUCTION, STORAGE, Sim

ACCOUNTS = (PRODUCTION, STORAGE, PROCESSING)


def held(sim: Sim, when) -> None:
    """What is truly there at the month's end, and what the book has of it."""
    month = f"{when:%Y-%m}"
    casks = sim.held_in_casks(when)
    true = {STORAGE: sum(ethanol for ethanol, _ in casks.values()), PROCESSING: 0.0, PRODUCTION: 0.0}
    book = {STORAGE: sum(cask.book_ethanol for cask in sim.casks.values()), PROCESSING: 0.0, PRODUCTION: 0.0}
    for lot, about in sim.lots.items():
        if "account" in about:
            for figures in (true, book):
                figures[about["account"]] += sim.ledger[f"lot:{lot}"].ethanol
    for batch in sim.bottles:
        for figures in (true, book):
            figures[PROCESSING] += sim.ledger[f"batch:{batch}"].ethanol
    for lot in [about["lot"] for key, about in sim.lots.items() if key.startswith("FNT-")]:
        sim.booked[(month, "unfinished", "held")] += sim.ledger[f"lot:{lot}"].ethanol
    for place in sim.ledger.places.values():  # a run that is under way at midnight
        if place.name.startswith("run:"):
            sim.booked[(month, "unfinished", "held")] += place.ethanol
    for account in ACCOUNTS:
        sim.booked[(month, account, "held in truth")] = true[account]
        sim.booked[(month, account, "held by book")] = book[account]


def months(sim: Sim) -> None:
    """Opening, every movement and closing of each account and of the site; in litres and in proof gallons."""
    all_months = sorted({month for month, _, _ in sim.booked if month >= f"{sim.begin:%Y-%m}"})
    opening = {account: sim.booked.pop((all_months[0], account, "opening"), 0.0) for account in ACCOUNTS}
    for month in all_months:
        site: dict[str, float] = defaultdict(float)
        for account in ACCOUNTS:
            lines = {line: value for (m, a, line), value in sorted(sim.booked.items())
                     if (m, a) == (month, account) and not line.startswith("held")}  # fmt: skip
            flows = sum(value for line, value in lines.items() if "(memo)" not in line)
            closing = opening[account] + flows
            lines = {"opening": opening[account], **lines, "closing": closing}
            for line in ("held by book", "held in truth"):
                lines[line] = sim.booked[(month, account, line)]
            opening[account] = closing
            for line, value in lines.items():
                _tell(sim, month, account, line, value)
                if not line.startswith(("to ", "from ")):
                    site[line] += value
        for line, value in site.items():
            _tell(sim, month, "site", line, value)
        _tell(sim, month, "unfinished", "held in truth", sim.booked.get((month, "unfinished", "held"), 0.0))


def _tell(sim: Sim, month: str, account: str, line: str, ethanol: float) -> None:
    sim.truth.tell("month", month, line, "PG", alcohol.proof_gallons(ethanol), month, account)
    sim.truth.tell("month", month, line, "LPA", alcohol.lpa(ethanol), month, account)


def casks(sim: Sim) -> None:
    """Each cask at the end: what it holds, what evaporation takes a year, age and youngest spirit."""
    now = sim.held_in_casks(sim.end)
    for number, cask in sim.casks.items():
        if number in now:
            cask.age_to(sim.ledger, sim.end)
        tell, when = sim.truth.tell, sim.end.date()
        a_year = 100.0 * (1.0 - math.exp(-cask.alcohol_rate))
        tell("cask", number, "evaporation", "% of alcohol a year", a_year, "", cask.location)
        for cause, kg in cask.lost.items():
            tell("cask", number, f"lost by {cause} since the book began", "PG", alcohol.proof_gallons(kg), when)
        state = "dumped" if cask.dumped else "gone" if cask.gone else "full" if number in now else "empty"
        tell("cask", number, "state", "", state, when)
        if number in now:
            ethanol, water = now[number]
            tell("cask", number, "held", "PG", alcohol.proof_gallons(ethanol), when)
            tell("cask", number, "held proof", "proof", alcohol.proof(ethanol / (ethanol + water)), when)
            young = youngest(sim.ledger[cask.place].parts, when)
            if young:
                tell("cask", number, "age of youngest", "y-m-d", "{}-{:02d}-{:02d}".format(*young[1]), when, young[0])
            tell("cask", number, "age since fill", "y-m-d",
                 "{}-{:02d}-{:02d}".format(*age(cask.filled.date(), when)), when)  # fmt: skip


def batches(sim: Sim) -> None:
    """Bottles of each batch still in the house."""
    for batch, about in sorted(sim.bottles.items()):
        sim.truth.tell("batch", batch, "in the house", "bottles", about["left"], sim.end.date(), "", about["left"], 0)


def weighed(row: dict) -> tuple[float, dict]:
    """Net pounds of a cask log row, and its strength by the names of a gauge."""
    strength = {"Proof": row["Proof"], "Proof Type": row["Proof By"], "Proof Temp F": row["Temp F"]}
    return row["Gross Lb"] - row["Tare Lb"], strength


def gauges(sim: Sim) -> None:
    """Each gauge of a run, a tank or a bought lot: proof gallons in truth and as its readings give them."""
    kinds = {"gauges": "gauge", "counts": "count", "receiving": "receipt", "shipping": "shipment",
             "opening_tanks": "opening gauge"}  # fmt: skip
    for kind, subject in kinds.items():
        for row in sim.records.kinds[kind]:
            if "ethanol_kg" not in row.truth or not row.get("Gal") or "Proof" not in row:
                continue
            lot = row.get("Lot No") or row.get("Item") or row.get("Bulk Lot/Cask")
            part = " ".join(str(row[c]) for c in ("Run No", "I/O") if row.get(c)) or row.get("Doc No", "")
            sim.truth.tell(subject, lot, "alcohol", "PG", alcohol.proof_gallons(row.truth["ethanol_kg"]),
                           f"{row.when:%Y-%m-%d}", part, alcohol.proof_gallons(ethanol_by_volume(row)),
                           alcohol.proof_gallons(u_of_volume(row)))  # fmt: skip
    for row in sim.records.kinds["casklog"]:
        if row.get("Gross Lb") and row.get("Proof") and row["Action"] != "XFER":
            net, strength = weighed(row)
            true = row.truth.get("before_kg", row.truth["ethanol_kg"])
            sim.truth.tell("cask gauge", row["Cask No"], row["Action"], "PG", alcohol.proof_gallons(true),
                           f"{row.when:%Y-%m-%d}", row.get("Run No") or "",
                           alcohol.proof_gallons(ethanol_by_weight(net, strength)),
                           alcohol.proof_gallons(u_of_weighed(net, strength)))  # fmt: skip
