"""The data behind an alcohol account, with its schema: what the document carries inside it."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

import rfc8785

from gaugebook.pipeline.book import register
from gaugebook.pipeline.exported import exported_data
from gaugebook.pipeline.spreadsheets import csv_bytes
from gaugebook.reports.accounts.account import COLUMNS, STATEMENT, Account, account_table
from gaugebook.reports.accounts.declared import Declaration
from gaugebook.reports.dossier.data_schema import SHA256, TEXT, object_schema
from gaugebook.reports.page.pages import Attached
from gaugebook.reports.page.provenance import STANDARDS, rule_files_sha256, software_version

FORMAT = "gaugebook account data 2"
DATA = "account.json"  # the name under which it is attached
LISTS = (
    "rows", "stocktake", "runs", "notes", "checked", "gauges", "below_zero", "by_sign", "apparent", "goods", "counts",
    "since_declared",
)  # fmt: skip
_CELL = {"type": ["string", "number", "boolean", "array", "null"]}
_NUMBER = {"type": "number"}


def account_data(account: Account) -> dict[str, Any]:
    """Everything that the account shows, to eight digits (`pipeline.exported`); LPA, times in UTC."""
    about = {
        "format": FORMAT, "month": f"{account.month:%Y-%m}", "house": account.house.name,
        "time_zone": account.house.time_zone, "software": software_version(),
        "rule_files_sha256": rule_files_sha256(), "standards": list(STANDARDS),
        "register_head": account.register_head, "statement": STATEMENT,
        "declared": _declared(account.declared),
    }  # fmt: skip
    rows = [{name: value for name, value in row.items() if name != "dips"} for row in account.rows]
    lists = (
        rows, account.dips, account.runs, account.notes, account.checked, account.gauges, account.below_zero,
        account.by_sign, account.apparent, account.goods, account.counts,
        account.declared.changes if account.declared else [],
    )  # fmt: skip
    data = {"about": about, "total": account.total} | dict(zip(LISTS, lists, strict=True))
    exported: dict[str, Any] = exported_data(plain(data))
    return exported


def _declared(declaration: Declaration | None) -> dict[str, Any] | None:
    if declaration is None:
        return None
    stated = {name: getattr(declaration, name) for name in ("declaration", "declared_at", "person", "role")}
    return stated | {"data_sha256": declaration.data_sha256, "since": declaration.since}


def account_schema() -> dict[str, Any]:
    """The schema of `account.json`."""
    about = dict.fromkeys(("month", "house", "time_zone", "software", "statement"), TEXT) | {
        "format": {"const": FORMAT},
        "rule_files_sha256": SHA256,
        "standards": {"type": "array", "items": TEXT},
        "register_head": SHA256 | {"type": ["string", "null"]},
        "declared": {"type": ["object", "null"]},
    }
    row = {"type": "object", "additionalProperties": _CELL}
    places = row | {"properties": {"place": TEXT} | dict.fromkeys(COLUMNS, _NUMBER), "required": ["place", *COLUMNS]}
    lists = {name: {"type": "array", "items": places if name == "rows" else row} for name in LISTS}
    total = object_schema(dict.fromkeys(COLUMNS, _NUMBER))
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": FORMAT,
        "description": "Litres of pure alcohol at 20 °C; u_ is a standard uncertainty; null is unknown, never zero.",
        **object_schema({"about": object_schema(about), "total": total} | lists),
    }


def attachments(account: Account, content: bytes) -> list[Attached]:
    """The data as canonical JSON with its schema, and the account as a table."""
    table = csv_bytes(account_table(account), "\r\n")
    return [
        Attached(DATA, content, "All data of this account, to eight digits; canonical JSON (RFC 8785)"),
        Attached("account.schema.json", rfc8785.dumps(account_schema()), "JSON Schema of account.json", "Supplement"),
        Attached("account.csv", table, "The account as a table"),
    ]


def plain(value: Any) -> Any:
    """The value in what JSON knows: numbers, texts, lists and objects; times in UTC."""
    if isinstance(value, dict):
        return {name: plain(item) for name, item in value.items()}
    if isinstance(value, list):
        return [plain(item) for item in value]
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, datetime):
        return register.shown(value)
    return value.isoformat() if isinstance(value, date) else value
