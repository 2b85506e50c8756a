"""The data behind a dossier: one object for machines, and a table a kind of record for spreadsheets.

What the pages show is a rounding of this object; `evidence.json` beside it is byte for byte what a decision freezes.
"""

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

import polars as pl
import rfc8785

from gaugebook.pipeline.book import register
from gaugebook.pipeline.exported import exported_data
from gaugebook.pipeline.spreadsheets import csv_bytes
from gaugebook.reports.dossier.records import Batch
from gaugebook.reports.page.provenance import STANDARDS, libraries, rule_files_sha256, software_version

DATA = "dossier.json"  # the name under which it is attached
FORMAT = "gaugebook dossier data 1"
# of a batch: told under `about`, beside each record as its place, or in the uncertainties made of it
LEFT_OUT = ("code", "house", "places", "provenance", "errors")
BOOK_OWN = ("source_id", "file_id", "line", "gauge")  # numbers that mean nothing outside the book
STAGE_TABLES = ("runs", "gauges", "balances", "ferments")


def dossier_data(batch: Batch) -> dict[str, Any]:
    """Everything that the dossier shows, to eight digits (`pipeline.exported`), in sections; times are UTC."""
    sections = {
        field.name: _plain(getattr(batch, field.name), batch) for field in fields(batch) if field.name not in LEFT_OUT
    }
    return {"about": _about(batch)} | exported_data(sections)


def canonical(data: dict[str, Any]) -> bytes:
    """As canonical JSON (RFC 8785)."""
    return rfc8785.dumps(data)


def tables(data: dict[str, Any]) -> dict[str, bytes]:
    """The sections that are lists of records as CSV, by file name; empty ones are left out."""
    files = {}
    for name, rows in _lists(data):
        if rows:
            frame = pl.DataFrame([_flat(row) for row in rows], infer_schema_length=None)
            files[f"{name}.csv"] = csv_bytes(frame, "\r\n")
    return files


def _about(batch: Batch) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "batch": batch.code,
        "house": batch.house.name,
        "time_zone": batch.house.time_zone,
        "house_profile_sha256": batch.provenance.profile_sha256,
        "software": software_version(),
        "libraries": libraries(),
        "rule_files_sha256": rule_files_sha256(),
        "standards": list(STANDARDS),
        "register_head": batch.provenance.head,
        "register_entry": batch.provenance.entry,
        "evidence_sha256": batch.provenance.evidence_sha256,
    }


def _plain(value: Any, batch: Batch) -> Any:
    """A record as an object: times as text, and its place in a received file for the book's own numbers."""
    if value is None or isinstance(value, float | int):  # nearly all of it
        return value
    if is_dataclass(value):
        names = [field.name for field in fields(value)]
        plain_fields = {name: _plain(getattr(value, name), batch) for name in names if name not in BOOK_OWN}
        return plain_fields | ({"place": batch.place(value) or None} if "source_id" in names else {})
    if isinstance(value, dict):
        return {str(key): _plain(item, batch) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item, batch) for item in value]
    if isinstance(value, datetime):
        return register.shown(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, str):
        return value.encode("utf-8", "replace").decode()  # half a character cannot stand in JSON
    return str(value) if isinstance(value, Decimal) else value


def _lists(data: dict[str, Any]) -> Iterator[tuple[str, list[dict[str, Any]]]]:
    """Name and rows of each table, those of the stages together."""
    for name, section in data.items():
        rows = list(section.values()) if isinstance(section, dict) else section
        if name == "stages":
            for part in STAGE_TABLES:
                yield part, [row for stage in section for row in _rows(stage[part])]
            yield "curves", list(_points(section))
        elif isinstance(rows, list) and rows and all(isinstance(row, dict) for row in rows):
            yield name, _rows(section)


def _rows(section: Any) -> list[dict[str, Any]]:
    return list(section.values()) if isinstance(section, dict) else section


def _points(stages: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    for stage in stages:
        for run, curve in stage["curves"].items():
            for tag, points in curve["series"].items():
                yield from (  # a point without a value only interrupts the line
                    {"run": run, "tag": tag, "hours": hours, "value": value}
                    for hours, value in points
                    if value is not None
                )


def _flat(row: dict[str, Any]) -> dict[str, Any]:
    """A record whose lists and objects are texts, as a table needs it."""
    return {name: _cell(value) for name, value in row.items()}


def _cell(value: Any) -> Any:
    if isinstance(value, dict):
        return rfc8785.dumps(value).decode()
    return "; ".join(map(str, value)) if isinstance(value, list) else value
