"""python -m sample_logs.second_house.generator.verify [--plan PLAN] [--out FOLDER]: does all of it add up?

Each check tells how many things it compared and every one that is wrong; the status is 1 if any is.
"""

import argparse
import csv
import sys
import tomllib
from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from . import alcohol
from .__main__ import HERE, outputs
from .ledger import age
from .measure import ethanol_by_volume, ethanol_by_weight, u_of_volume, u_of_weighed
from .pencil import Pencil
from .readback import Files, moment, number
from .scenario import simulate

TIGHT = 1e-9  # of all alcohol there was
WIDE = 2.6  # standard uncertainties: noise ends at 1.4 of each part, resolution comes on top


def _table(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def conserved(folder: Path) -> Iterator[str | None]:
    """Every litre that came in is in a place, left, or was lost by name; nothing is below nothing."""
    held: dict[str, float] = defaultdict(float)
    into: dict[str, float] = defaultdict(float)
    for row in _table(folder / "true_movements.csv"):
        held[row["from"]] -= float(row["lpa"])
        held[row["to"]] += float(row["lpa"])
        into[row["to"]] += float(row["lpa"])
    came = -sum(lpa for place, lpa in held.items() if place.startswith("source:"))
    there = sum(lpa for place, lpa in held.items() if not place.startswith("source:"))
    yield None if abs(came - there) <= TIGHT * came else f"came {came} LPA, is {there}"
    for place, lpa in held.items():
        if not place.startswith("source:"):
            yield None if lpa >= -TIGHT * came else f"{place} holds {lpa}"
        if place.startswith("run:"):
            yield None if abs(lpa) <= TIGHT * into[place] else f"{place} keeps {lpa}"


def accounts_tie(folder: Path) -> Iterator[str | None]:
    """Closing is opening and flows; a month opens as the last closed; three accounts are the site; so do flows out."""
    months: dict[tuple[str, str], dict[str, float]] = defaultdict(dict)
    for row in _table(folder / "expected.csv"):
        if row["subject"] == "month" and row["unit"] == "LPA":
            months[row["record"], row["part"]][row["item"]] = float(row["true"])
    moved: dict[tuple[str, str], float] = defaultdict(float)
    for row in _table(folder / "true_movements.csv"):
        kind = {"out": "dispatched", "sample": "sampled", "destroyed": "destroyed"}.get(row["to"].split(":")[0])
        kind = "returned" if row["from"].startswith("out:") else "unexplained" if row["to"] == "unexplained" else kind
        if kind:
            moved[row["when"][:7], kind] += float(row["lpa"]) * (1.0 if kind == "returned" else -1.0)
    before: dict[str, float] = {}
    near = lambda a, b: abs(a - b) < 2e-5  # noqa: E731 - expected.csv has six decimals
    for (month, account), lines in sorted(months.items()):
        if account == "unfinished":
            continue
        flows = {k: v for k, v in lines.items() if k not in ("opening", "closing") and "(memo)" not in k}
        flows = {k: v for k, v in flows.items() if not k.startswith("held")}
        yield None if near(lines["closing"], lines["held by book"]) else f"{month} {account}: not what its places hold"
        yield None if near(lines["opening"] + sum(flows.values()), lines["closing"]) else f"{month} {account} is open"
        yield None if near(before.get(account, lines["opening"]), lines["opening"]) else f"{month} {account} opens anew"
        before[account] = lines["closing"]
        if account != "storage" and account != "site":
            yield None if near(lines["closing"], lines["held in truth"]) else f"{month} {account}: book is not truth"
        if account == "site":
            for item in ("opening", "closing", "held in truth"):
                parts = sum(months[month, a][item] for a in ("production", "storage", "processing"))
                yield None if near(parts, lines[item]) else f"{month} {item}: accounts {parts}, site {lines[item]}"
            for kind in ("dispatched", "sampled", "destroyed", "returned", "unexplained"):
                told = sum(v for k, v in flows.items() if k.startswith(kind))
                yield None if near(told, moved[month, kind]) else f"{month} {kind} {told}, moved {moved[month, kind]}"


STORAGE, PROCESSING = ("cask:", "lot:NM", "lot:EN", "lot:NS", "lot:CF"), ("lot:DMP", "lot:BLD", "lot:PRF", "batch:")


def places_match(folder: Path) -> Iterator[str | None]:
    """What the movements leave in each cask, and in each account at each month's end, is what is expected there."""
    expected = _table(folder / "expected.csv")
    moves = _table(folder / "true_movements.csv")
    held: dict[str, float] = defaultdict(float)
    months = sorted({row["record"] for row in expected if row["subject"] == "month"})
    told = {(row["record"], row["part"]): float(row["true"]) for row in expected
            if row["subject"] == "month" and row["item"] == "held in truth" and row["unit"] == "LPA"}  # fmt: skip
    moves.sort(key=lambda row: row["when"][:7])
    for month in months:
        for row in (row for row in moves if row["when"][:7] == month):
            held[row["from"]] -= float(row["lpa"])
            held[row["to"]] += float(row["lpa"])
        lpa = sum(value for place, value in held.items() if place.startswith(PROCESSING))
        yield None if abs(lpa - told[month, "processing"]) < 2e-5 else f"{month} processing: {lpa} LPA moved there"
    lpa = sum(value for place, value in held.items() if place.startswith(STORAGE))  # casks lie until the last minute
    yield None if abs(lpa - told[months[-1], "storage"]) < 2e-3 else f"storage: {lpa} LPA moved there at the end"
    gallon = alcohol.lpa(alcohol.PROOF_GALLON_KG)
    for row in expected:
        if row["subject"] == "cask" and row["item"] == "held":
            lpa, here = float(row["true"]) * gallon, held[f"cask:{row['record']}"]
            yield None if abs(lpa - here) < 1e-5 else f"{row['record']}: {here} LPA moved there, {lpa} expected"


def readings_agree(sim, files: Files) -> Iterator[str | None]:
    """What the files say is near what was true, but where a slip was made; there it is not."""
    for kind in ("gauges", "counts", "receiving", "shipping", "opening_tanks", "casklog"):
        for row in sim.records.kinds[kind]:
            if "ethanol_kg" not in row.truth and "edited" not in row.truth:
                continue
            cells = files.rows[row.written]
            name = f"{row.written}: {row.get('Lot No') or row.get('Item') or row.get('Cask No')}"
            off = _off(cells, row.truth)
            if off is not None:
                yield None if abs(off) <= WIDE else f"{name} is {off:.1f} standard uncertainties off"


def _off(cells: dict, truth: dict) -> float | None:
    """Deviation of a row's alcohol from the truth in standard uncertainties; nothing where it has no gauge."""
    if "edited" in truth or not cells.get("Proof") or cells.get("Action") in ("TOP",):
        return None
    if cells.get("Gross Lb"):
        strength = {"Proof": cells["Proof"], "Proof Type": cells["Proof By"], "Proof Temp F": cells["Temp F"]}
        net = number(cells["Gross Lb"]) - number(cells["Tare Lb"])
        true = truth.get("before_kg", truth.get("moved_kg", truth["ethanol_kg"]))
        if cells["Action"] == "XFER":
            return None
        return (ethanol_by_weight(net, strength) - true) / u_of_weighed(net, strength)
    temp = "Gal Temp F" if cells.get("Gal Temp F") else "Temp F"
    if not cells.get("Gal") or not cells.get(temp):
        return None
    row = {key: value for key, value in cells.items() if value not in ("", None)}
    row |= {"Gal": number(cells["Gal"]), temp: number(cells[temp])}
    return (ethanol_by_volume(row, "Gal", temp) - truth["ethanol_kg"]) / u_of_volume(row, temp=temp)


def ages_from_files(folder: Path, files: Files, edited: set[str]) -> Iterator[str | None]:
    """Age of every cask at its dump, from the fills and toppings of the files alone, is the age expected."""
    filled: dict[str, date] = {}
    undated = {row["Cask No"] for row in files.of("casks_2025") if not row["Fill Date"]}
    found: dict[str, tuple[int, int, int]] = {}
    for row in files.of("casks_2025"):
        if row["Fill Date"]:
            filled[row["Cask No"]] = moment(row["Fill Date"]).date()
    log = sorted(files.of("casklog"), key=lambda row: moment(f"{row['Date']} {row['Time']}"))
    for row in log:
        cask, day = row["Cask No"], moment(row["Date"]).date()
        if row["Action"] == "FILL":
            filled[cask] = day
        elif row["Action"] == "TOP" and row["Other Cask"] in filled:
            filled[cask] = max(filled[cask], filled[row["Other Cask"]])
        elif row["Action"] == "XFER":
            filled[row["Other Cask"]] = filled[cask]
        elif row["Action"] == "DUMP" and cask in filled and cask not in found:
            found[cask] = age(filled[cask], day)
    for row in _table(folder / "expected.csv"):
        if row["subject"] == "cask" and row["item"] == "age at dump" and row["record"] not in edited | undated:
            seen = found.get(row["record"])
            text = "{}-{:02d}-{:02d}".format(*seen) if seen else "nothing"
            yield None if text == row["true"] else f"{row['record']}: age {row['true']}, files give {text}"


def bottles_balance(folder: Path, files: Files) -> Iterator[str | None]:
    """Bottled, in and out of each batch leave what is in the house, and that is what was counted last."""
    left: dict[str, int] = defaultdict(int)
    signs = {"opening bottles": 1, "bottled": 1, "returned": 1, "dispatched": -1, "sampled": -1, "destroyed": -1,
             "unaccounted": -1}  # fmt: skip
    told = {}
    for row in _table(folder / "expected.csv"):
        if row["subject"] == "batch" and row["unit"] == "bottles":
            left[row["record"]] += signs.get(row["item"], 0) * int(row["true"])
            if row["item"] == "in the house":
                told[row["record"]] = int(row["true"])
    counted = {row["Item"]: int(number(row["Bottles"])) for row in files.of("counts") if row["Type"] == "CASED"}
    for batch, count in told.items():
        yield None if left[batch] == count else f"{batch}: {left[batch]} by its records, {count} told"
        yield None if counted.get(batch, 0) == count else f"{batch}: {counted.get(batch)} counted, {count} told"


def composition_is_whole(folder: Path) -> Iterator[str | None]:
    """Shares of a lot's or batch's casks are one."""
    shares: dict[str, float] = defaultdict(float)
    for row in _table(folder / "expected.csv"):
        if row["item"] == "share of alcohol from cask":
            shares[row["record"]] += float(row["true"])
    for record, share in shares.items():
        neutral = record.startswith("VBL") or record.startswith("BLD") or share < 0.999
        yield None if abs(share - 1.0) < 1e-4 or neutral else f"{record}: shares come to {share}"


def faults_stand(folder: Path, files: Files) -> Iterator[str | None]:
    """Each planted fault names lines that are there; slips of the pen differ from what was true."""
    for fault in tomllib.loads((folder / "planted_faults.toml").read_text(encoding="utf-8"))["faults"]:
        for place in fault["lines"]:
            there = (place["file"], place["sheet"], place["line"]) in files.rows
            yield None if there else f"{fault['fault']}: no line {place}"


def faults_are_seen(folder: Path, files: Files) -> Iterator[str | None]:
    """With a pencil each planted fault is found on its records, and none of its kind on others."""
    listed = tomllib.loads((folder / "planted_faults.toml").read_text(encoding="utf-8"))["faults"]
    planted = {fault["fault"]: set(fault["records"]) for fault in listed}
    for name, found in Pencil(files).found().items():
        wanted = planted.get(name, set())
        yield None if found == wanted else f"{name}: planted on {sorted(wanted)}, seen on {sorted(found)}"


def same_again(plan: Path, folder: Path) -> Iterator[str | None]:
    """The plan gives the files that are there (workbooks by their cells: their packing is the library's)."""
    made = outputs(plan)
    for path, content in made.items():
        if not path.endswith(".xlsx"):
            yield None if (folder / path).read_bytes() == content else f"{path} differs from what the plan gives"
    there = {p.relative_to(folder).as_posix() for p in (folder / "files").rglob("*.*")}
    yield None if there == {p for p in made if p.startswith("files/")} else "files are missing or left over"


def checks(plan: Path, folder: Path) -> dict[str, Iterator[str | None]]:
    from .answers import faults
    from .writers import files as write

    sim = simulate(plan)
    write(sim)
    faults(sim)
    files = Files(folder / "files")
    edited = {row["Cask No"] for row in sim.records.kinds["casklog"] if "edited" in row.truth}
    edited |= {sim.select(e["where"]["Cask No"][5:])[0].number for e in sim.plan.get("edits", [])
               if str(e["where"].get("Cask No", "")).startswith("cask:")}  # fmt: skip
    return {
        "alcohol conserved": conserved(folder),
        "accounts tie": accounts_tie(folder),
        "places match": places_match(folder),
        "readings near the truth": readings_agree(sim, files),
        "ages from the files": ages_from_files(folder, files, edited),
        "bottles balance": bottles_balance(folder, files),
        "compositions whole": composition_is_whole(folder),
        "faults stand in their lines": faults_stand(folder, files),
        "faults are seen": faults_are_seen(folder, files),
        "made again the same": same_again(plan, folder),
    }


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--plan", type=Path, default=HERE / "plan.toml")
    parser.add_argument("--out", type=Path, default=HERE.parent)
    options = parser.parse_args()
    wrong = 0
    for name, results in checks(options.plan, options.out).items():
        found = list(results)
        bad = [message for message in found if message]
        wrong += len(bad) + (not found)
        print(f"{name}: {len(found)} compared, {len(bad)} wrong")
        for message in bad[:20]:
            print("   ", message)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
