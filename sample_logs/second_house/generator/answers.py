"""The answers beside the files: expected.csv, the true movements, and the list of planted faults."""

import csv
import io
import json
import re

from . import alcohol
from .sim import Sim

MUST_NOT_FLAG = [
    ("strength rising in the upper tiers of W1", "regauges of casks of tiers 3 to 6 of W1 are above their entry proof"),
    ("strength falling in W2", "regauges of casks of W2 are below their entry proof"),
    (
        "evaporation within the usual band",
        "2 to 7 % of the alcohol a year in 53 gal casks by tier and cask, up to 9 % in small ones",
    ),
    ("what the wood keeps at a dump", "1.4 to 2.1 gal of a 53 gal cask drain later or never; a part comes with rinse"),
    ("rinse water of 1 to 2.3 gal a cask", "the dumped lot is weaker than the casks by one or two proof"),
    ("casks never gauged again since the book began", "their loss is unknown until they are, and is no loss yet"),
    ("topping from a cask of the same fill", "B21[12] from B21[13]: its age is unchanged"),
    ("topping with older spirit", "B22[4] from B21[18]: the age is that of the younger spirit, its own"),
    ("used casks under rum", "rum may lie in casks that held bourbon, red wine or rum"),
    ("rye entered at 114 to 115.5 proof and rum at 122 to 124", "125 is not passed, and rum has no such limit"),
    ("neutral spirit in the blended whiskey", "a blended whiskey may hold it beside at least 20 % of straight whiskey"),
    ("white rum with no age", "it makes no claim of age"),
    ("rum whose oldest part lay in a tank when the book began", "its age is on the opening sheet"),
    ("feints carried from one spirit run to the next", "they are charged again"),
    ("heels that are lost at bottling", "0.25 to 0.4 % of the liquid"),
    ("cased goods bottled before the book begins", "their casks are not on record; their claims were shown then"),
    ("casks moved from one warehouse to the other", "MOVE rows"),
    ("one dispatch a line, several customers a month", "documents that occur once"),
]


def expected(sim: Sim) -> bytes:
    columns = ("subject", "record", "part", "when", "item", "unit", "true", "measured", "u")
    return _csv(columns, [[_figure(row[column]) for column in columns] for row in sim.truth.rows])


def movements(sim: Sim) -> bytes:
    """Every movement of ethanol in truth, in litres of pure alcohol: places and sources sum to nothing."""
    columns = ("when", "from", "to", "why", "lpa", "water_kg")
    rows = [[f"{m.when:%Y-%m-%dT%H:%M}", m.source, m.target, m.why, repr(alcohol.lpa(m.ethanol)), f"{m.water:.6f}"]
            for m in sim.ledger.movements]  # fmt: skip
    return _csv(columns, rows)


def _figure(value: object) -> object:
    return f"{value:.6f}" if isinstance(value, float) else value


def _csv(columns, rows) -> bytes:
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return buffer.getvalue().encode()


def _records(sim: Sim, named: str) -> list[str]:
    if named.startswith("cask:"):
        return [cask.number for cask in sim.select(named[5:])]
    if named.startswith("group:"):
        return [cask.number for cask in sim.select(named[6:])]
    return [named]


def faults(sim: Sim) -> bytes:
    """planted_faults.toml: what, which check, how grave, on what record, and the lines where it stands."""
    lines: dict[str, list[tuple[str, str, int]]] = {name: [] for name in sim.plan["faults"]}
    for rows in sim.records.kinds.values():
        for row in rows:
            for name in row.faults:
                lines[name].append(row.written)
    text = [
        "# The planted faults of the second house (invented). Written by the generator.",
        "# severity: stops release, needs explanation, for information. `line` counts from 1, with header lines.",
        "",
    ]
    for name, fault in sim.plan["faults"].items():
        assert lines[name], f"fault {name} stands in no row"
        text += ["[[faults]]", f"fault = {_quoted(name)}", f"what = {_quoted(fault['what'])}",
                 f"check = {_quoted(fault['check'])}", f"severity = {_quoted(fault['severity'])}",
                 f"records = {_quoted(_records(sim, fault['record']))}"]  # fmt: skip
        batches = _batches(sim, _records(sim, fault["record"])) | set(fault.get("affects", []))
        text.append(f"batches = {_quoted(sorted(batches))}")
        if "note" in fault:
            text.append(f"note = {_quoted(_named(sim, fault['note']))}")
        text += ["lines = [", *(f"  {_place(*place)}," for place in sorted(lines[name])), "]", ""]
    for what, why in MUST_NOT_FLAG:
        text += ["[[must_not_flag]]", f"what = {_quoted(_named(sim, what))}", f"why = {_quoted(_named(sim, why))}", ""]
    return ("\n".join(text)).encode()


def _batches(sim: Sim, records: list[str]) -> set[str]:
    """Bottled batches among the records, and those that hold spirit of the casks among them."""
    holding = {row["record"] for row in sim.truth.rows
               if row["subject"] == "batch" and row["item"] == "share of alcohol from cask" and row["part"] in records
               }  # fmt: skip
    return holding | (set(records) & set(sim.bottles))


def _quoted(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)


def _place(file: str, sheet: str, line: int) -> str:
    return f"{{ file = {_quoted(file)}, sheet = {_quoted(sheet)}, line = {line} }}"


def _named(sim: Sim, text: str) -> str:
    """Casks named by group and place get their numbers."""

    def number(match: re.Match) -> str:
        group, index = match[1], int(match[2])
        members = sim.groups.get(group, [])
        return members[index].number if index < len(members) else match[0]

    return re.sub(r"\b([A-Z]+\d*[a-z]?)\[(\d+)\]", number, text)
