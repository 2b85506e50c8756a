"""Slips made in the rows after the event, and the list of all planted faults."""

from datetime import timedelta

from .measure import to_step
from .records import Row
from .sim import Sim


def resolve(sim: Sim, value):
    """'cask:B21[3]' is that cask's number."""
    if isinstance(value, str) and value.startswith("cask:"):
        return sim.select(value[5:])[0].number
    return value


def find(sim: Sim, item: dict, kind: str | None = None) -> list[Row]:
    """Rows of a kind whose cells are as `where` says, in order of time."""
    rows = sorted(sim.records.kinds[kind or item["kind"]], key=lambda row: row.when)
    for column, wanted in item["where"].items():
        value = resolve(sim, wanted)
        if isinstance(value, str) and value.startswith("month:"):
            rows = [row for row in rows if f"{row.when:%Y-%m}" == value[6:]]
        else:
            rows = [row for row in rows if row.get(column) == value]
    return rows


def make(sim: Sim) -> None:
    for edit in sim.plan.get("edits", []):
        rows = find(sim, edit)
        for row in rows if edit.get("all") else [rows[edit.get("nth", 0)]]:
            _edit(sim, edit, row)
    for name, fault in sim.plan.get("faults", {}).items():
        if "rows" in fault:
            found = find(sim, fault["rows"])
            (found[fault["rows"].get("nth", 0)]).faults.append(name)


def _edit(sim: Sim, edit: dict, row: Row) -> None:
    if "copy_minutes" in edit:
        shift = timedelta(minutes=edit["copy_minutes"])
        copy = Row(row.when + shift, **row)
        for column, value in copy.items():
            if hasattr(value, "year"):
                copy[column] = value + shift
        rows = sim.records.kinds[edit["kind"]]
        rows.insert(rows.index(row) + 1, copy)
        row = copy
    for column, value in edit.get("set", {}).items():
        row[column] = resolve(sim, value)
    if "Cask No" in edit.get("set", {}) and row.get("Tare Lb"):  # the clerk's sheet looks the tare up by the number
        row["Tare Lb"] = sim.casks[row["Cask No"]].tare_register
    for column, value in edit.get("add", {}).items():
        row[column] = round(row[column] + value, 6)
    for column, value in edit.get("times", {}).items():
        row[column] = to_step(row[column] * value, edit.get("step", 1))
    for column, other in edit.get("same", {}).items():
        rows = find(sim, {"where": {k: v for k, v in other.items() if k != "nth"}}, edit["kind"])
        row[column] = rows[other.get("nth", 0)][column]
    row.faults.append(edit["fault"])
    row.truth["edited"] = 1.0
