"""The decision on a batch: released, held or rejected, by whom, why, and on what it rested."""

import difflib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Any

import polars as pl

from gaugebook.checks.decisions.evidence import AFTER_DECISION, data_parts, evidence
from gaugebook.checks.flags.flag_lifecycle import NotAllowed, person_of
from gaugebook.checks.flags.freshness import rule_book_sha256
from gaugebook.checks.rulebook.softened_rules import below_the_law
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.book.register import Event, shown
from gaugebook.pipeline.book.table_digests import append_events
from gaugebook.pipeline.errors import UnknownRecord
from gaugebook.pipeline.house.settings import House, Person

IN_THE_WAY = """
    SELECT flags.flag, flags.severity FROM flagged.batch_flags
    JOIN flagged.flags ON flags.flag = batch_flags.flag
    LEFT JOIN history.flag_states AS states ON states.flag = flags.flag
    WHERE batch_flags.batch = $batch AND flags.rule <> $after AND (
        flags.severity = 'stops release'
        OR (flags.severity = 'needs explanation' AND coalesce(states.state, 'open') = 'open')
    )
    ORDER BY flags.severity DESC, flags.flag
"""
DECIDED: dict[str, Any] = {
    "decision": pl.Int32, "batch": pl.String, "verdict": pl.String, "person": pl.String,
    "decided_at": pl.Datetime("us"), "decided_data": pl.String, "data": pl.String, "changed": pl.String,
}  # fmt: skip


@dataclass(frozen=True)
class Decision:
    """A decision as it was recorded."""

    decision: int
    batch: str
    verdict: str
    person: str
    role: str
    reason: str
    overruled: tuple[str, ...]
    evidence_sha256: str


def decide(
    book: Book, house: House, rule_book: Sequence[Any], batch: str, verdict: str, person: str, reason: str, at: datetime
) -> Decision:
    """Record a decision; call it inside a transaction, on a book whose flags are those of its data.

    Raises
    ------
    UnknownRecord
        If the book has no such batch.
    NotAllowed
        If the person may not decide, the reason is blank, or flags stand in the way of a release and the profile does
        not name this person as one who may overrule them; also where the profile sets a rule of law below the law,
        which nobody may release under.
    """
    known = person_of(house, person, reason)
    batches = book.frame("SELECT batch FROM derived.bottlings ORDER BY batch")["batch"].to_list()
    if batch not in batches:
        near = difflib.get_close_matches(batch, batches, n=1)
        hint = f' Did you mean "{near[0]}"?' if near else ""
        raise UnknownRecord(f'The book holds no batch "{batch}"; "gaugebook batches" lists them.{hint}')
    _require_role(house, known)
    if verdict == "released":
        _require_the_law(book, batch)
    in_the_way = book.frame(IN_THE_WAY, {"batch": batch, "after": AFTER_DECISION}) if verdict == "released" else None
    overruled = _overruled(house, known, batch, in_the_way)
    frozen = evidence(book, batch, rule_book_sha256(rule_book))
    digest = sha256(frozen.encode()).hexdigest()
    number = book.value("SELECT coalesce(max(decision), 0) + 1 FROM history.decisions")
    book.execute(
        "INSERT INTO history.decisions VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        [
            number, batch, verdict, person, known.role, reason, list(overruled), at, digest, frozen,
            json.dumps(data_parts(book, [batch])[batch], sort_keys=True),
        ],
    )  # fmt: skip
    decision = Decision(number, batch, verdict, person, known.role, reason, overruled, digest)
    payload = vars(decision) | {"overruled": list(overruled), "decided_at": shown(at)}
    append_events(book, [Event("decision", f"{batch} {verdict}", payload)], ["history.decisions"], at)
    return decision


def _require_role(house: House, person: Person) -> None:
    if person.role in house.decisions.may_decide or person.code in house.decisions.may_overrule:
        return
    raise NotAllowed(
        f'"{person.code}" is {person.role}; batches are decided on by: {", ".join(house.decisions.may_decide)}.'
    )


def _require_the_law(book: Book, batch: str) -> None:
    below = below_the_law(book)
    if below:
        rules = "rule" if len(below) == 1 else "rules"
        raise NotAllowed(
            f"{batch} cannot be released: the house profile sets {len(below)} {rules} of law below the law: "
            f"{', '.join(below)}. Take that out of the profile, receive it and check again; a flag that then "
            "stands in the way can be overruled by name, its rule cannot."
        )


def _overruled(house: House, person: Person, batch: str, in_the_way: pl.DataFrame | None) -> tuple[str, ...]:
    """The flags that this person overrules by releasing."""
    if in_the_way is None or in_the_way.is_empty():
        return ()
    flags = tuple(in_the_way["flag"])
    if person.code in house.decisions.may_overrule:
        return flags
    stops = int((in_the_way["severity"] == "stops release").sum())
    kinds = [f"{stops} that stop a release"] if stops else []
    kinds += [f"{len(flags) - stops} that await an explanation"] if len(flags) > stops else []
    who = ", ".join(house.decisions.may_overrule)
    overrule = f"only {who} may overrule them" if who else "the house profile names nobody who may overrule them"
    raise NotAllowed(
        f"{batch} cannot be released: flags stand in the way, {' and '.join(kinds)} ({', '.join(flags[:5])}"
        f'{" …" if len(flags) > 5 else ""}); {overrule}. "gaugebook check --explain FLAG" tells what each means.'
    )


def decided_batches(book: Book) -> pl.DataFrame:
    """The releases and rejections in force, each with the state of its data then and now."""
    if not book.value("SELECT count(*) FROM information_schema.tables WHERE table_schema = 'history'"):
        return pl.DataFrame(schema=DECIDED)
    verdicts = book.frame("SELECT * FROM history.verdicts WHERE verdict <> 'held' ORDER BY decision").to_dicts()
    parts_now = data_parts(book, [row["batch"] for row in verdicts]) if verdicts else {}
    rows = []
    for row in verdicts:
        then, now = json.loads(row["data_parts"]), parts_now[row["batch"]]
        changed = sorted(part for part in then.keys() | now.keys() if then.get(part) != now.get(part))
        comparison = {"decided_data": _short(then), "data": _short(now), "changed": ", ".join(changed) or None}
        rows.append({name: row[name] for name in DECIDED if name in row} | comparison)
    return pl.DataFrame(rows, schema=DECIDED)


def _short(parts: dict[str, str]) -> str:
    return sha256(json.dumps(parts, sort_keys=True).encode()).hexdigest()[:8]
