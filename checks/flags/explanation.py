"""A flag told in full: value, limit and uncertainty, what was computed from which lines, and its usual causes."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import polars as pl

from gaugebook.checks.flags.flag_lifecycle import last_event
from gaugebook.checks.flags.flags import flag_name, in_words, named_by
from gaugebook.checks.rulebook.rule import Rule
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.errors import UnknownRecord

HERE = Path(__file__).parent
_RUN = ("runs", "movements of the run", "intake")
# Kinds of record that each subject is made from, as inputs.sql names them; logs are those of inputs_log.sql.
INPUTS: Mapping[str, tuple[str, ...]] = {
    "gauges": ("runs", "movements of the lot"),
    "lot_strengths": ("movements of the lot", "laboratory"),
    "true_strengths": ("movements of the lot", "laboratory"),
    "neutral_spirit": ("movements of the lot", "laboratory"),
    "laboratory": ("laboratory",),
    "duplicates": ("laboratory",),
    "methods": ("laboratory",),
    "required_laboratory": ("bottling", "laboratory"),
    "samples": ("laboratory",),
    "ferments": (*_RUN, "laboratory"),
    "runs": _RUN,
    "still_runs": ("still runs",),
    "stills": ("still runs",),
    "reductions": _RUN,
    "filtrations": _RUN,
    "lots": ("movements of the lot", "intake"),
    "stock": ("stock", "movements of the lot"),
    "dips": ("stock", "cask events", "counts"),
    "cask_events": ("casks", "cask events"),
    "casks": ("casks", "cask events"),
    "cask_entries": ("casks", "cask events"),
    "claims": ("bottling", "casks behind the batch", "materials behind the batch"),
    "botanicals": _RUN,
    "bills": _RUN,
    "charges": _RUN,
    "batches": ("bottling", "runs", "movements of the run", "laboratory"),
    "fills": ("bottling", "fills"),
    "panels": ("panel",),
    "log_tags": ("runs", "logs"),
    "log_clocks": ("runs", "logs"),
    "run_curves": ("runs", "movements of the run", "logs"),
    "curve_findings": ("runs", "logs"),
    "instruments": ("calibrations",),
    "calibrations": ("calibrations",),
    "vouched": ("calibrations", "movements of the run", "laboratory"),
    "decisions": ("bottling",),
    "mash_bills": ("bottling", "materials behind the batch"),
    "certificates": ("intake",),
    "bought_spirits": ("bottling", "intake"),
    "liqueurs": ("bottling", "laboratory"),
    "contaminants": ("bottling", "laboratory"),
    "allergens": ("bottling", "materials behind the batch"),
    "removals": ("removals", "bottling of the lot"),
    "goods": ("bottling of the lot", "removals"),
    "counts": ("counts", "bottling of the lot", "removals"),
}

TOLD = ("computation", "causes", "to_do", "reason", "citation", "with_what")


def explanation(book: Book, name: str, rules: Sequence[Rule], frames: Mapping[str, pl.DataFrame]) -> dict[str, Any]:
    """Everything that there is to tell of a flag that the last check raised.

    Parameters
    ----------
    rules, frames
        What `checks.run.effective_rules` gives.

    Returns
    -------
    dict
        flag (its row), rule (its words), numbers (column -> value), inputs (what, place), history (events).

    Raises
    ------
    UnknownRecord
        If no check ever raised it, or the last one did not.
    """
    event = last_event(book, name)
    flags = book.frame("SELECT * FROM flagged.flags WHERE flag = ?", [name]).to_dicts()
    if not flags:
        raise UnknownRecord(f"Flag {name} ({event['rule']}, {event['record']}) is {event['state']}.")
    flag = flags[0]
    rule = next(rule for rule in rules if rule.id == flag["rule"])
    row, kinds = _row_of(frames[rule.subject], rule, name), INPUTS[rule.subject]
    places = book.frame(
        (HERE / "inputs.sql").read_text(encoding="utf-8"),
        {key: flag[key] for key in ("run", "lot", "batch", "equipment")}
        | {"analyte": row.get("analyte"), "kinds": list(kinds)},
    )
    inputs = places.select("what", "place").to_dicts()
    if "logs" in kinds:  # asked apart: a log lies outside the database and is opened only where it is meant
        inputs += book.frame((HERE / "inputs_log.sql").read_text(encoding="utf-8"), {"run": flag["run"]}).to_dicts()
    return {
        "flag": flag,
        "rule": {key: getattr(rule, key) for key in TOLD},
        "numbers": _numbers(rule, row),
        "inputs": inputs,
        "history": book.frame(
            "SELECT happened, happened_at, value, limits, person, role, reason, attachment, attachment_sha256 "
            "FROM history.flag_events WHERE flag = ? ORDER BY event", [name],
        ).to_dicts(),
    }  # fmt: skip


def _row_of(frame: pl.DataFrame, rule: Rule, name: str) -> dict[str, Any]:
    """The row that the flag was raised on: the first of its rule's rows whose name is the flag's."""
    seen: dict[str, int] = {}
    for row in frame.iter_rows(named=True):
        key = named_by(row)
        seen[key] = seen.get(key, 0) + 1
        if flag_name(rule.id, key, seen[key]) == name:
            return row
    raise UnknownRecord(f"The record of flag {name} is not in the book any more; run the checks again.")


def _numbers(rule: Rule, row: Mapping[str, Any]) -> dict[str, Any]:
    """What the rule compared, by its name in words; a standard uncertainty as such."""
    named = dict.fromkeys(
        [rule.column, *rule.compared, *([rule.u] if rule.u else []), *([rule.shows] if rule.shows else [])]
    )
    named |= dict.fromkeys(column for column in row if column == f"u_{rule.column}")
    return {("standard " if column.startswith("u_") else "") + in_words(column): row[column] for column in named}
