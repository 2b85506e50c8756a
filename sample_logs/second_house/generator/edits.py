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
        copy = Row(row.when, **row)
        _shift(copy, timedelta(minutes=edit["copy_minutes"]))
        rows = sim.records.kinds[edit["kind"]]
        rows.insert(rows.index(row) + 1, copy)
        row = copy
    if "swap" in edit:
        one, other = edit["swap"]
        row[one], row[other] = row[other], row[one]
    if "shift_days" in edit:
        _shift(row, timedelta(days=edit["shift_days"]))
    if "day_first" in edit:  # the day in the place of the month
        moment = row[edit["day_first"]]
        row[edit["day_first"]] = moment.replace(month=moment.day, day=moment.month)
    for column, value in edit.get("set", {}).items():
        row[column] = resolve(sim, value)
    if edit.get("set", {}).get("Cask No") and row.get("Tare Lb") and row["Cask No"] in sim.casks:
        # the clerk's sheet looks the tare up by the number
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


def _shift(row: Row, by: timedelta) -> None:
    row.when += by
    for column, value in row.items():
        if hasattr(value, "year"):
            row[column] = value + by
