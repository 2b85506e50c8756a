"""The register: an append-only chain in the book, each entry holding the hash of the one before.

Nothing can be altered, left out or put in between without a hash that no longer fits. Who rewrites the whole chain from
some entry on is found only by a head that was noted elsewhere, which is why documents print it.

Payloads hold texts, whole numbers, lists and objects with ASCII keys; so sorted keys and no spaces are their canonical
form, and anyone can recompute the chain with a JSON library.
"""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

import polars as pl
import rfc8785

from gaugebook.pipeline.book.database import Book

FIRST = "0" * 64  # what stands in the place of a hash before the first entry
FILE_EVENTS = ("file held", "file received", "file read again", "file restated", "file refused")
MADE = ("document", "signature")  # kinds that tell what was made from the book, and change nothing in it
_EXISTS = "SELECT count(*) FROM information_schema.tables WHERE table_schema = 'register' AND table_name = 'entries'"


@dataclass(frozen=True)
class Entry:
    """One link of the chain."""

    number: int
    entered_at: datetime
    kind: str
    subject: str
    payload: str
    payload_sha256: str
    before_sha256: str
    own_sha256: str

    @property
    def data(self) -> dict[str, Any]:
        """The payload as an object."""
        payload: dict[str, Any] = json.loads(self.payload)
        return payload

    @property
    def label(self) -> str:
        return f"entry {self.number} ({self.kind}: {self.subject})"


@dataclass(frozen=True)
class Event:
    """Something to enter: its kind, what it is about, what it says."""

    kind: str
    subject: str
    data: dict[str, Any]


@dataclass(frozen=True)
class Fault:
    """Something that does not hold: the entry that says otherwise, where one does, and why."""

    number: int | None
    label: str
    why: str


def is_kept(book: Book) -> bool:
    """Whether this book has a register."""
    return bool(book.value(_EXISTS))


def make_table(book: Book) -> None:
    book.run_file(Path(__file__).with_name("register.sql"))


def append(book: Book, events: Iterable[Event], at: datetime | None = None) -> list[Entry]:
    """Enter these in their order; inside the transaction of what they record, on a book that has a register.

    Parameters
    ----------
    at : datetime, optional
        Time in UTC; now where it is left out.
    """
    at = at or datetime.now(UTC).replace(tzinfo=None, microsecond=0)
    last = head(book)
    number, before = (last.number, last.own_sha256) if last else (0, FIRST)
    entries_made = []
    for item in events:
        number += 1
        entry = link(number, at, item, before)
        before = entry.own_sha256
        entries_made.append(entry)
    if entries_made:
        book.append("register.entries", pl.DataFrame([vars(entry) for entry in entries_made], infer_schema_length=None))
    return entries_made


def link(number: int, at: datetime, event: Event, before: str) -> Entry:
    """The entry that says this at this place of the chain."""
    payload = rfc8785.dumps(event.data).decode()
    payload_sha256 = sha256(payload.encode()).hexdigest()
    own = own_hash(number, at, event.kind, event.subject, payload_sha256, before)
    return Entry(number, at, event.kind, event.subject, payload, payload_sha256, before, own)


def own_hash(number: int, at: datetime, kind: str, subject: str, payload_sha256: str, before_sha256: str) -> str:
    """SHA-256 of an entry without its payload, in canonical JSON.

    Examples
    --------
    >>> own_hash(1, datetime(2026, 1, 2, 3, 4, 5), "decision", "batch A", FIRST, FIRST)[:16]
    '87428f77cb15ca89'
    """
    linked: dict[str, Any] = {
        "number": number, "entered_at": shown(at), "kind": kind, "subject": subject,
        "payload_sha256": payload_sha256, "before_sha256": before_sha256,
    }  # fmt: skip
    return sha256(rfc8785.dumps(linked)).hexdigest()


def shown(at: datetime) -> str:
    """A time in UTC as the chain writes it.

    Examples
    --------
    >>> shown(datetime(2026, 1, 2, 3, 4, 5))
    '2026-01-02T03:04:05Z'
    """
    return f"{at.isoformat()}Z"


def entries(book: Book, kind: str | None = None) -> list[Entry]:
    """The whole chain, or its entries of one kind, in the order of their numbers."""
    if not is_kept(book):
        return []
    return _read(book, "WHERE kind = coalesce(?, kind) ORDER BY number, own_sha256", [kind])


def head(book: Book) -> Entry | None:
    """The last entry."""
    return _last(book, "true")


def state_head(book: Book) -> Entry | None:
    """The last entry that tells of the book itself, and not of what was made from it: the state that a document has."""
    kinds = ", ".join(f"'{kind}'" for kind in MADE)
    return _last(book, f"kind NOT IN ({kinds})")


def chain_fault(chain: Sequence[Entry]) -> Fault | None:
    """The first entry whose hashes, number or place in the chain do not hold; None where all do."""
    before = FIRST
    for place, entry in enumerate(chain, start=1):
        own = own_hash(
            entry.number, entry.entered_at, entry.kind, entry.subject, entry.payload_sha256, entry.before_sha256
        )
        if entry.number != place:
            why = f"the chain should have number {place} here: an entry was taken out, doubled or renumbered"
        elif sha256(entry.payload.encode()).hexdigest() != entry.payload_sha256:
            why = "its payload is not the one that its hash was made of"
        elif entry.before_sha256 != before:
            why = "it does not follow on the entry before: the hash that it holds of it is another"
        elif own != entry.own_sha256:
            why = "its own hash is not that of what it says"
        else:
            before = entry.own_sha256
            continue
        return Fault(entry.number, entry.label, why)
    return None


def as_line(entry: Entry) -> str:
    """An entry as one line of an extract: canonical JSON, the payload as an object."""
    return rfc8785.dumps(vars(entry) | {"entered_at": shown(entry.entered_at), "payload": entry.data}).decode()


def from_line(line: str) -> Entry:
    """An entry of an extract; its payload is put into canonical form again, so that its hash can be made.

    Raises
    ------
    ValueError
        If the line is no entry.
    """
    try:
        read = json.loads(line)
        at = datetime.fromisoformat(read["entered_at"])
        read["entered_at"] = at.replace(tzinfo=at.tzinfo or UTC).astimezone(UTC).replace(tzinfo=None)
        read["payload"] = rfc8785.dumps(read["payload"]).decode()
        return Entry(**{field.name: read[field.name] for field in fields(Entry)})
    except (KeyError, TypeError, AttributeError, rfc8785.CanonicalizationError) as error:
        raise ValueError(f"no entry of a register: {error}") from error


def _last(book: Book, which: str) -> Entry | None:
    if not is_kept(book):
        return None
    # Not ORDER BY number DESC LIMIT 1: DuckDB 2.0.1 finds no row so where those with higher numbers were deleted.
    rows = _read(book, f"WHERE {which} QUALIFY row_number() OVER (ORDER BY number DESC) = 1")
    return rows[0] if rows else None


def _read(book: Book, rest: str, parameters: Sequence[Any] | None = None) -> list[Entry]:
    columns = ", ".join(field.name for field in fields(Entry))
    frame = book.frame(f"SELECT {columns} FROM register.entries {rest}", parameters)
    return [Entry(**row) for row in frame.iter_rows(named=True)]
