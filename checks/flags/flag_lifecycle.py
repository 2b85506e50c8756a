"""The life of a flag: opened by a check, explained by a person, accepted by QA, amended away; reopened when it changes.

Every step is a row of history.flag_events, which only grows.
"""

import difflib
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.book.register import Event, shown
from gaugebook.pipeline.book.table_digests import append_events
from gaugebook.pipeline.errors import GaugebookError, UnknownRecord
from gaugebook.pipeline.house.settings import House, Person
from gaugebook.pipeline.received.files import keep_copy

HERE = Path(__file__).parent
STATED = ("history.flag_events", "flagged.standings")  # tables that an explanation changes
COPIES = "attachments"  # folder of the book that keeps what explanations rest on, by hash


class NotAllowed(GaugebookError):
    """A person without the role, or a step that what stands in the book forbids."""


@dataclass(frozen=True)
class Step:
    """What a person did with a flag."""

    flag: str
    state: str
    record: str
    person: str
    reason: str
    attachment_sha256: str | None


def record_check(book: Book, at: datetime) -> None:
    """Write down what this check opened, changed, reopened and found gone; in the transaction that made the flags."""
    book.append(
        "history.flag_events", book.frame((HERE / "flag_events.sql").read_text(encoding="utf-8"), {"happened_at": at})
    )


def explain(
    book: Book, house: House, flag: str, person: str, reason: str, at: datetime,
    attachment: Path | None = None, accept: bool = False,
) -> Step:  # fmt: skip
    """Record why a flag is as it is; call it inside a transaction.

    Parameters
    ----------
    attachment : Path, optional
        A file that the explanation rests on: its hash is recorded and a copy kept beside the book.
    accept : bool
        True where QA accepts the flag as it stands; that needs a role that may decide.

    Raises
    ------
    UnknownRecord
        If no check ever raised a flag of this name.
    NotAllowed
        If the person is unknown or has not the role, the reason is blank, or the flag is not there any more.
    FileRefused, BookError
        If the attachment is no file that stays, or cannot be kept whole.
    """
    known = person_of(house, person, reason)
    if accept and known.role not in house.decisions.may_decide:
        raise NotAllowed(f'"{person}" is {known.role}; flags are accepted by: {", ".join(house.decisions.may_decide)}.')
    last = last_event(book, flag)
    if last["state"] in ("amended away", "gone"):
        raise NotAllowed(f"Flag {flag} is {last['state']}; there is nothing to explain.")
    name = attachment.name if attachment else None
    digest = keep_copy(attachment, book.folder / COPIES)[0] if attachment else None
    state = "accepted" if accept else "explained"
    event = {name: last[name] for name in ("flag", "rule", "record", "run", "lot", "batch", "answer", "severity")}
    event |= {"value": last["value"], "limits": last["limits"], "happened": state, "happened_at": at, "person": person}
    event |= {"role": known.role, "reason": reason, "attachment": name, "attachment_sha256": digest}
    event["event"] = book.value("SELECT max(event) + 1 FROM history.flag_events")
    book.append("history.flag_events", pl.DataFrame([event], infer_schema_length=None))
    book.run_file(HERE / "standings.sql")
    step = Step(flag, state, last["record"], person, reason, digest)
    payload = vars(step) | {"event": event["event"], "role": known.role, "attachment": name, "happened_at": shown(at)}
    if attachment:
        payload["attachments"] = {f"{COPIES}/{digest}{attachment.suffix}": digest}
    append_events(book, [Event(f"flag {state}", f"{flag}, {last['record']}", payload)], STATED, at)
    return step


def person_of(house: House, code: str, reason: str) -> Person:
    """The person who does something for a reason.

    Raises
    ------
    NotAllowed
        If the house knows nobody of this code, or the reason is blank.
    """
    if not reason.strip():
        raise NotAllowed("A reason is needed (--reason), in a sentence that others understand.")
    person = next((person for person in house.people if person.code == code), None)
    if person is None:
        known = ", ".join(person.code for person in house.people) or "nobody"
        raise NotAllowed(f'"{code}" is nobody in the house profile; known: {known}.')
    return person


def last_event(book: Book, flag: str) -> dict[str, Any]:
    """State and last event of a flag.

    Raises
    ------
    UnknownRecord
        If no check ever raised it.
    """
    rows = book.frame("SELECT * FROM history.flag_states WHERE flag = ?", [flag]).to_dicts()
    if rows:
        return rows[0]
    known = book.frame("SELECT flag FROM flagged.flags")["flag"].to_list()
    near = difflib.get_close_matches(flag, known, n=1)
    hint = f' Did you mean "{near[0]}"?' if near else ""
    raise UnknownRecord(f'No check ever raised a flag "{flag}"; "gaugebook check" lists them.{hint}')
