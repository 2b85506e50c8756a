"""Amendments: one value of one record changed by a person for a reason; the first value stays readable."""

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.book.register import Event, shown
from gaugebook.pipeline.book.table_digests import append_events, states_of_files
from gaugebook.pipeline.errors import GaugebookError, UnknownRecord
from gaugebook.pipeline.typed import cells
from gaugebook.pipeline.typed.kinds import IN_TABLES, RECORDS
from gaugebook.pipeline.typed.record import POLARS_TYPES, Field, Record

AMENDABLE = tuple(record.kind for record in IN_TABLES)
Key = dict[str, str | None]  # field of a record's natural key -> its value as text


class AmendmentRefused(GaugebookError):
    """An amendment that names no single record, or a value that cannot be."""


@dataclass(frozen=True)
class Target:
    """The record to amend, by the place it was read from; kind and analyte where a row gave several records."""

    file: str
    sheet: str | None
    line: int
    kind: str | None = None
    analyte: str | None = None


@dataclass(frozen=True)
class Amendment:
    """What was changed; `record` is its key as people read it."""

    number: int
    kind: str
    record: str
    record_key: Key
    field: str
    old_value: str | None
    new_value: str | None


def amend(
    book: Book, target: Target, field_name: str, text: str, person: str, reason: str, at: datetime, zone: str
) -> Amendment:
    """Change one field; call it inside a transaction.

    Parameters
    ----------
    text : str
        The new value as a person writes it: a number with a point, a time in ISO 8601; empty for "not known".
    zone : str
        IANA zone of times without an offset.

    Raises
    ------
    UnknownRecord
        If no record stands at that place.
    AmendmentRefused
        If several do, the field is unknown, or the value cannot be.
    """
    if not person.strip() or not reason.strip():
        raise AmendmentRefused("An amendment needs the person (--by) and the reason (--reason).")
    record, row = _find(book, target)
    item = next((item for item in record.fields if item.name == field_name), None)
    if item is None:
        known = ", ".join(item.name for item in record.fields)
        raise AmendmentRefused(f'{record.kind} has no field "{field_name}"; known: {known}.')
    new = typed_value(item, text, zone)
    old = row[field_name]
    if new == old:
        raise AmendmentRefused(f"{field_name} is {_shown(old) or 'blank'} already; nothing was changed.")
    amended = {**row, field_name: new}
    _refuse_broken_rules(record, amended)
    if field_name in record.key and _is_taken(book, record, amended):
        taken = shown_key(key_of(record, amended))
        raise AmendmentRefused(f"The book holds a record of {record.kind} {taken} already; nothing was changed.")
    key = key_of(record, row)
    number = book.value("SELECT coalesce(max(amendment), 0) + 1 FROM typed.amendments")
    amendment = Amendment(number, record.kind, shown_key(key), key, field_name, _shown(old), _shown(new))
    written = {
        "amendment": number, "kind": record.kind, "record": amendment.record, "record_key": json.dumps(key),
        "source_id": row["source_id"], "line": row["line"], "field": field_name, "old_value": amendment.old_value,
        "new_value": amendment.new_value, "person": person, "reason": reason, "amended_at": at,
    }  # fmt: skip
    book.append("typed.amendments", pl.DataFrame([written], infer_schema_length=None))
    _set(book, record, row, field_name, new)
    _enter(book, amendment, row["source_id"], person, reason, at)
    return amendment


def _enter(book: Book, amendment: Amendment, source_id: int, person: str, reason: str, at: datetime) -> None:
    """Tell the register, with the state of the file's records after it."""
    file = book.value("SELECT file_id FROM landed.sources WHERE source_id = ?", [source_id])
    payload = vars(amendment) | {
        "person": person, "reason": reason, "amended_at": shown(at),
        "file_id": file, "rows": states_of_files(book, [file])[file],
    }  # fmt: skip
    append_events(book, [Event("amendment", f"{amendment.kind} {amendment.record}", payload)], ["typed.amendments"], at)


def amended_in(book: Book, file_id: int) -> set[int]:
    """Numbers of the amendments whose records were read from this file."""
    of_file = "SELECT source_id FROM landed.sources WHERE file_id = ?"
    return set(
        book.frame(f"SELECT amendment FROM typed.amendments WHERE source_id IN ({of_file})", [file_id])["amendment"]
    )


def amend_again(book: Book, file_id: int) -> set[int]:
    """Apply the amendments to the records of a file that was read anew; each finds its record by the key it had.

    Returns
    -------
    set of int
        Numbers of those that found their record.
    """
    applied: set[int] = set()
    amendments = book.frame("SELECT * FROM typed.amendments ORDER BY amendment")
    for kind, of_kind in amendments.group_by("kind", maintain_order=True):
        record = RECORDS[str(kind[0])]
        rows = book.frame(
            f"""
            SELECT t.* FROM typed.{record.kind} AS t JOIN landed.sources AS s USING (source_id) WHERE s.file_id = ?
            """,
            [file_id],
        )
        by_key = {_hashable(key_of(record, row)): row for row in rows.iter_rows(named=True)}
        for amendment in of_kind.iter_rows(named=True):
            key = key_written(amendment["record_key"])
            row = by_key.get(_hashable(key)) if key else None
            if row is None:
                continue
            new = typed_value(record.field(amendment["field"]), amendment["new_value"] or "", "UTC")
            if amendment["field"] in record.key and _is_taken(book, record, {**row, amendment["field"]: new}):
                continue
            _set(book, record, row, amendment["field"], new)
            row[amendment["field"]] = new
            by_key[_hashable(key_of(record, row))] = row  # under which a later amendment knows it
            applied.add(amendment["amendment"])
            book.execute(
                "UPDATE typed.amendments SET source_id = ?, line = ? WHERE amendment = ?",
                [row["source_id"], row["line"], amendment["amendment"]],
            )
    return applied


def first_read(book: Book, record: Record) -> pl.DataFrame:
    """The amended records of one kind as they were read, before anybody amended them; columns as in the table."""
    amendments = book.frame("SELECT * FROM typed.amendments WHERE kind = ? ORDER BY amendment DESC", [record.kind])
    rows = book.frame(
        f"SELECT * FROM typed.{record.kind} "
        "SEMI JOIN (FROM typed.amendments WHERE kind = ?) AS amended USING (source_id, line)",
        [record.kind],
    )
    undone = [_undone(record, row, amendments) for row in rows.iter_rows(named=True)]
    return pl.DataFrame(undone, schema=rows.schema)


def _undone(record: Record, row: dict[str, Any], amendments: pl.DataFrame) -> dict[str, Any]:
    """The record with its amendments taken back, the last one first."""
    for amendment in amendments.iter_rows(named=True):
        if (amendment["source_id"], amendment["line"]) != (row["source_id"], row["line"]):
            continue
        old = typed_value(record.field(amendment["field"]), amendment["old_value"] or "", "UTC")
        before = {**row, amendment["field"]: old}
        # A line may have given several records; the amendment is of the one whose key it names.
        is_its_key = key_of(record, before) == key_written(amendment["record_key"])
        if is_its_key and _shown(row[amendment["field"]]) == amendment["new_value"]:
            row = before
    return row


def key_of(record: Record, row: dict[str, Any]) -> Key:
    """The natural key of a record by its fields."""
    return {name: _shown(row[name]) for name in record.key}


def key_written(text: str | None) -> Key | None:
    """A key as `typed.amendments` holds it; None where an earlier edition did not say it by fields."""
    key: Key | None = None if text is None else json.loads(text)
    return key


def shown_key(key: Key) -> str:
    """A key as one text for people: nothing is read back from it, since a name may hold any sign.

    Examples
    --------
    >>> shown_key({"run": "A / 1", "direction": "in", "vessel": None})
    'A / 1 / in / '
    """
    return " / ".join(value or "" for value in key.values())


def _hashable(key: Key) -> frozenset[tuple[str, str | None]]:
    return frozenset(key.items())


def typed_value(item: Field, text: str, zone: str) -> Any:
    """A person's text as a value of this field.

    Raises
    ------
    AmendmentRefused
        If it cannot be read as one, or is not possible.
    """
    text = text.strip()
    if not text:
        if item.required:
            raise AmendmentRefused(f"{item.name} cannot be blank.")
        return None
    if item.type == "time":
        value = cells.times(pl.Series([text]), "iso", zone).item()
        if value is None:
            raise AmendmentRefused(
                f'"{text}" is no time; expected one such as 2026-01-31 14:05, with its offset (02:30+01:00) where the '
                "clock shows it twice."
            )
        return value
    if item.type in ("number", "integer"):
        return _number(item, text)
    if item.choices and text.lower() not in item.choices:
        raise AmendmentRefused(f'{item.name} cannot be "{text}"; expected one of {", ".join(item.choices)}.')
    return text.lower() if item.type == "choice" else text


def _number(item: Field, text: str) -> float | int:
    value = cells.numbers(pl.Series([text])).item()
    if value is None or (item.type == "integer" and value != int(value)):
        raise AmendmentRefused(f'"{text}" is no {item.type}; expected one such as 12.5.')
    if item.possible and not item.possible[0] <= value <= item.possible[1]:
        least, greatest = item.possible
        raise AmendmentRefused(f"{item.name} cannot be {text}; expected {least:g} to {greatest:g} {item.unit or ''}.")
    return int(value) if item.type == "integer" else value


def _find(book: Book, target: Target) -> tuple[Record, dict[str, Any]]:
    place = f"{target.file}{', sheet ' + target.sheet if target.sheet else ''}:{target.line}"
    matches = []
    for kind in AMENDABLE if target.kind is None else (target.kind,):
        if kind not in AMENDABLE:
            raise AmendmentRefused(f'"{kind}" is no kind of record that is amended; known: {", ".join(AMENDABLE)}.')
        rows = book.frame(
            f"""
            SELECT t.* FROM typed.{kind} AS t
            JOIN landed.sources AS s USING (source_id) JOIN received.files AS f USING (file_id)
            WHERE ends_with(concat('/', f.origin, '/', f.name), concat('/', $file::VARCHAR)) AND t.line = $line
                AND ($sheet::VARCHAR IS NULL OR s.sheet = $sheet)
            """,
            {"file": target.file, "line": target.line, "sheet": target.sheet},
        )
        matches += [(RECORDS[kind], row) for row in rows.iter_rows(named=True)]
    if target.analyte is not None:
        matches = [(record, row) for record, row in matches if row.get(str(record.spread_over)) == target.analyte]
    if not matches:
        raise UnknownRecord(f"The book holds no record from {place}; places are shown by check, refused and dossiers.")
    if len(matches) > 1:
        kinds = ", ".join(f"{record.kind} {shown_key(key_of(record, row))}" for record, row in matches)
        raise AmendmentRefused(
            f"{place} gave several records ({kinds}); say which with --sheet, --kind or --analyte, or with the folder "
            "before the name of the file."
        )
    return matches[0]


def _refuse_broken_rules(record: Record, row: dict[str, Any]) -> None:
    schema = {item.name: POLARS_TYPES[item.type] for item in record.fields}
    frame = pl.DataFrame([{name: row[name] for name in schema}], schema=schema)
    for rule in record.rules:
        if not frame.select(rule.holds.fill_null(False)).item():
            raise AmendmentRefused(f"That cannot be: expected {rule.expected}; {rule.to_do}.")


def _is_taken(book: Book, record: Record, row: dict[str, Any]) -> bool:
    """Whether the book holds a record with this one's key."""
    same = " AND ".join(f"{name} IS NOT DISTINCT FROM ?" for name in record.key)
    return bool(book.value(f"SELECT 1 FROM typed.{record.kind} WHERE {same}", [row[name] for name in record.key]))


def _set(book: Book, record: Record, row: dict[str, Any], field_name: str, value: Any) -> None:
    same = " AND ".join(f"{name} IS NOT DISTINCT FROM ?" for name in record.key)
    book.execute(
        f"UPDATE typed.{record.kind} SET {field_name} = ? WHERE source_id = ? AND line = ? AND {same}",
        [value, row["source_id"], row["line"], *(row[name] for name in record.key)],
    )


def _shown(value: Any) -> str | None:
    if value is None:
        return None
    return value.isoformat(sep=" ") if isinstance(value, datetime) else str(value)
