"""Whether the book is the one that its register tells of: the chain, every table, every kept file."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from gaugebook.pipeline.book import register
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.book.register import Entry, Fault
from gaugebook.pipeline.book.table_digests import (
    State,
    digest_of,
    file_tables,
    states_of,
    states_of_files,
    whole_tables,
)
from gaugebook.pipeline.errors import BookError
from gaugebook.pipeline.received.files import kept_path

FEWEST_SIGNS = 12  # of a head's hash that a person types in


@dataclass(frozen=True)
class Verification:
    """What was found: nothing at fault, or the faults, that of the first entry first."""

    entries: int
    head: str
    faults: tuple[Fault, ...]
    not_covered: tuple[str, ...] = ()  # tables of which the register says nothing

    @property
    def holds(self) -> bool:
        return not self.faults


def verify_book(book: Book) -> Verification:
    """Recompute the chain and compare everything in the book with what its entries say.

    Raises
    ------
    BookError
        If the book has no register.
    """
    chain = chain_of(book)
    broken = register.chain_fault(chain)
    sound = [entry for entry in chain if sha256(entry.payload.encode()).hexdigest() == entry.payload_sha256]
    faults = [broken] if broken else []
    faults += _table_faults(book, sound)
    faults += _file_faults(book, sound)
    faults += _byte_faults(book.folder, sound)
    faults.sort(key=lambda fault: (fault.number is None, fault.number))
    covered = {*_last_tables(sound), *file_tables(book)}
    missing = tuple(name for name in whole_tables(book) if name not in covered)
    return Verification(len(chain), chain[-1].own_sha256, tuple(faults), missing)


def verify_chain(chain: list[Entry]) -> Verification:
    """The chain alone, of a book or of an extract."""
    broken = register.chain_fault(chain)
    return Verification(len(chain), chain[-1].own_sha256, (broken,) if broken else ())


def chain_of(book: Book) -> list[Entry]:
    """The book's chain.

    Raises
    ------
    BookError
        If the book has none.
    """
    chain = register.entries(book)
    if not chain:
        raise BookError(
            f'The book in "{book.folder}" has no register yet, or it was taken out; the next "gaugebook receive" '
            "begins one with the book as it stands."
        )
    return chain


def chain_in(path: Path) -> list[Entry]:
    """The chain of an extract: one entry a line, as JSON.

    Raises
    ------
    BookError
        If the file is no extract of a register.
    """
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except UnicodeDecodeError as error:
        raise BookError(f'"{path}" is no text; expected one entry of the register a line.') from error
    chain = []
    for number, line in enumerate(lines, start=1):
        try:
            chain.append(register.from_line(line))
        except ValueError as error:
            raise BookError(f'"{path}", line {number} is {error}.') from error
    if not chain:
        raise BookError(f'"{path}" is empty; expected one entry of the register a line.')
    return chain


def with_head(verification: Verification, chain: list[Entry], noted: str) -> Verification:
    """The verification, at fault also where a head that was noted elsewhere does not lie in the chain."""
    if len(noted) < FEWEST_SIGNS:
        raise BookError(f'"{noted}" is too short; give at least {FEWEST_SIGNS} signs of the head that was noted.')
    if any(entry.own_sha256.startswith(noted.lower()) for entry in chain):
        return verification
    why = "no entry has this hash: since it was noted, the chain was written anew from some entry before it on"
    fault = Fault(None, f"head {noted}", why)
    return Verification(
        verification.entries, verification.head, (*verification.faults, fault), verification.not_covered
    )


def _table_faults(book: Book, chain: list[Entry]) -> Iterator[Fault]:
    stated = _last_tables(chain)
    known = set(whole_tables(book))
    now = states_of(book, stated.keys() & known)
    for name, (entry, state) in stated.items():
        if name not in known:
            yield Fault(entry.number, entry.label, f"the table {name}, whose state it gives, is not in the book")
        elif now[name] != state:
            yield Fault(entry.number, entry.label, _differing(name, state, now[name]))


def _file_faults(book: Book, chain: list[Entry]) -> Iterator[Fault]:
    stated = _last_of_files(chain)
    now = states_of_files(book)
    for file, (entry, payload) in stated.items():
        rows_now: dict[str, State] = now.pop(file, {})
        for name in sorted(payload["rows"].keys() | rows_now.keys()):
            then_state, state = payload["rows"].get(name, [0, ""]), rows_now.get(name, [0, ""])
            if then_state != state:
                of_file = f"its part of {name}"
                yield Fault(entry.number, entry.label, _differing(of_file, then_state, state))
    for unknown, states in now.items():
        where = ", ".join(f"{rows} in {name}" for name, (rows, _) in states.items())
        whose = "no received file" if unknown is None else f"file {unknown}, of which the register does not tell"
        yield Fault(None, "the book", f"rows of {whose}: {where}")


def _byte_faults(folder: Path, chain: list[Entry]) -> Iterator[Fault]:
    """Kept files, logs and attachments whose bytes are not those that an entry names."""
    expected: dict[str, tuple[Entry, str]] = {}
    for entry, payload in _payloads(chain):
        if entry.kind in register.FILE_EVENTS and payload.get("sha256"):
            kept = kept_path(payload["sha256"], folder).relative_to(folder)
            expected.setdefault(kept.as_posix(), (entry, payload["sha256"]))
        for name, digest in payload.get("attachments", {}).items():
            expected.setdefault(name, (entry, digest))
    for entry, payload in _last_of_files(chain).values():
        expected |= {name: (entry, digest) for name, digest in payload.get("logs", {}).items()}
    for name, (entry, digest) in expected.items():
        try:
            digest_now = digest_of(folder / name)
        except OSError as error:
            yield Fault(entry.number, entry.label, f'"{name}" cannot be read: {error.strerror}')
            continue
        if digest_now != digest:
            yield Fault(entry.number, entry.label, f'"{name}" has other bytes: SHA-256 {digest_now}, not {digest}')


def _last_tables(chain: list[Entry]) -> dict[str, tuple[Entry, State]]:
    """Table -> the last entry that gives its state, and that state; without those that a migration dropped."""
    last: dict[str, tuple[Entry, State]] = {}
    for entry, payload in _payloads(chain):
        for name in payload.get("dropped", []):
            last.pop(name, None)
        last |= {name: (entry, state) for name, state in payload.get("tables", {}).items()}
    return last


def _last_of_files(chain: list[Entry]) -> dict[int, tuple[Entry, dict[str, Any]]]:
    """File -> the last entry that gives the state of its rows. An amendment does, but names no logs: they stay."""
    last: dict[int, tuple[Entry, dict[str, Any]]] = {}
    for entry, payload in _payloads(chain):
        if "rows" in payload:
            logs = last[payload["file_id"]][1].get("logs", {}) if payload["file_id"] in last else {}
            last[payload["file_id"]] = entry, {"logs": logs} | payload
    return last


def _payloads(chain: list[Entry]) -> Iterator[tuple[Entry, dict[str, Any]]]:
    for entry in chain:
        try:
            yield entry, entry.data
        except json.JSONDecodeError:  # a payload that was altered along with its hash
            continue


def _differing(what: str, then: State, now: State) -> str:
    if then[0] != now[0]:
        return f"{what} had {then[0]} rows then and has {now[0]} now"
    return f"{what} has other values in it than then, in as many rows ({now[0]})"
