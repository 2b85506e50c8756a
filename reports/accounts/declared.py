"""The account of a month as it was declared: frozen, and what has become known since."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

from gaugebook.pipeline.book import register
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.book.register import Event, shown
from gaugebook.pipeline.book.table_digests import append_events
from gaugebook.pipeline.errors import GaugebookError
from gaugebook.pipeline.house.settings import House

HERE = Path(__file__).parent
KIND, TABLE = "declaration", "history.declarations"
LEAST_L = 0.005  # LPA; what is booked to the cent and differs by less is the same
OF_THE_BOOK = ("file received", "amendment", "house profile")  # kinds of entries that tell of new records


@dataclass(frozen=True)
class Declaration:
    """What was declared of a month, and how its account differs now.

    Attributes
    ----------
    changes : list of dict
        place (or product), column, declared, now, difference [LPA, or pieces], unit, records (that came since)
    since : list of str
        What the register tells of the book's records since then
    """

    declaration: int
    month: date
    declared_at: datetime
    person: str
    role: str
    data_sha256: str
    changes: list[dict[str, Any]]
    since: list[str]


def declare(book: Book, house: House, month: date, code: str, content: bytes, at: datetime) -> str:
    """Freeze the data of an account, inside a transaction; gives their SHA-256.

    Raises
    ------
    GaugebookError
        If the house knows nobody of this code.
    """
    person = next((person for person in house.people if person.code == code), None)
    if person is None:
        known = ", ".join(person.code for person in house.people) or "nobody"
        raise GaugebookError(f'"{code}" is nobody in the house profile; known: {known}.')
    book.run_file(HERE / "declarations.sql")
    number = book.value(f"SELECT coalesce(max(declaration), 0) + 1 FROM {TABLE}")
    digest = sha256(content).hexdigest()
    book.execute(
        f"INSERT INTO {TABLE} VALUES (?, ?, ?, ?, ?, ?, ?)",
        [number, month, at, person.code, person.role, digest, content.decode()],
    )
    payload = {
        "declaration": number, "month": f"{month:%Y-%m}", "person": person.code, "role": person.role,
        "declared_at": shown(at), "data_sha256": digest,
    }  # fmt: skip
    append_events(book, [Event(KIND, f"account {month:%Y-%m}", payload)], [TABLE], at)
    return digest


def declared(book: Book, month: date, data: Mapping[str, Any]) -> Declaration | None:
    """The declaration in force of a month beside the data of its account now; None where nothing was declared."""
    if not book.value("SELECT count(*) FROM information_schema.tables WHERE table_name = 'declarations'"):
        return None
    rows = book.frame(f"SELECT * FROM {TABLE} WHERE month = ? ORDER BY declaration DESC LIMIT 1", [month]).to_dicts()
    if not rows:
        return None
    row = rows[0]
    late = book.frame((HERE / "late_records.sql").read_text(encoding="utf-8"), [month, row["declared_at"]]).to_dicts()
    changes = [change | {"records": _behind(change, late)} for change in differences(json.loads(row.pop("data")), data)]
    return Declaration(**row, changes=changes, since=_since(book, row["declaration"]))


def differences(then: Mapping[str, Any], now: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Where two states of an account part: places by column [LPA], finished goods by product and line.

    >>> row = {"place": "T1", "closing": 10.0}
    >>> differences({"rows": [row], "goods": []}, {"rows": [row | {"closing": 9.5}], "goods": []})
    [{'place': 'T1', 'column': 'closing', 'declared': 10.0, 'now': 9.5, 'difference': -0.5, 'unit': 'LPA'}]
    """
    before, after = _figures(then), _figures(_as_kept_then(now, then))
    changes = []
    for key in dict.fromkeys([*before, *after]):
        declared_then, is_now = before.get(key, 0.0), after.get(key, 0.0)
        difference = round(is_now - declared_then, 2)
        if abs(difference) >= LEAST_L:
            place, column, unit = key
            changes.append(
                {"place": place, "column": column, "declared": declared_then, "now": is_now, "difference": difference,
                 "unit": unit}
            )  # fmt: skip
    return changes


def _as_kept_then(now: Mapping[str, Any], then: Mapping[str, Any]) -> Mapping[str, Any]:
    """The account as it would have been kept when gains of casks were not yet a column: among the losses, signed."""
    if any("cask_gain" in row for row in then["rows"]):
        return now
    rows = [
        {name: value for name, value in row.items() if name != "cask_gain"}
        | ({"cask_loss": row["cask_loss"] + row["cask_gain"]} if "cask_gain" in row else {})
        for row in now["rows"]
    ]
    return {**now, "rows": rows}


def _figures(data: Mapping[str, Any]) -> dict[tuple[str, str, str], float]:
    figures = {
        (row["place"], name, "LPA"): float(value)
        for row in data["rows"]
        for name, value in row.items()
        if isinstance(value, int | float) and not isinstance(value, bool) and name != "dipped"
    }
    for row in data["goods"]:
        line = ", ".join(filter(None, (row["line"], row.get("duty_status"))))
        figures[row["product"], line, "LPA"] = float(row["alcohol_l"] or 0.0)
        figures[row["product"], line, "bottles"] = float(row["pieces"] or 0.0)
    return figures


def _behind(change: Mapping[str, Any], late: list[dict[str, Any]]) -> list[str]:
    """Records that came since and are booked there: of opening stock all before the month, of closing all up to it."""
    column = change["column"].split(",")[0]
    is_of = {"opening": lambda row: row["is_before"], "closing": lambda row: True}.get(
        column, lambda row: not row["is_before"] and row["entry"].replace(" ", "_") == column
    )
    return [row["record"] for row in late if row["place"] == change["place"] and is_of(row)]


def _since(book: Book, declaration: int) -> list[str]:
    """What the register tells of the book's records since the declaration."""
    chain = register.entries(book)
    number_declared = next(e.number for e in chain if e.kind == KIND and e.data["declaration"] == declaration)
    later = [entry for entry in chain if entry.number > number_declared]
    return [f"{entry.kind} {entry.subject}" for entry in later if entry.kind in OF_THE_BOOK]
