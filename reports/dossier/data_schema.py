"""The JSON Schema (2020-12) of a dossier's data, made from the records' own types, so that the two cannot part."""

import inspect
import types
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Union, get_args, get_origin, get_type_hints

import rfc8785

from gaugebook.reports.dossier.dossier_data import BOOK_OWN, FORMAT, LEFT_OUT
from gaugebook.reports.dossier.records import Batch

SHA256 = {"type": "string", "pattern": "^[0-9a-f]{64}$"}
TEXT = {"type": "string"}
ABOUT = {
    "format": {"const": FORMAT},
    "batch": TEXT,
    "house": TEXT,
    "time_zone": {"type": "string", "description": "IANA name; the pages show times in it"},
    "house_profile_sha256": SHA256,
    "software": TEXT,
    "libraries": {"type": "object", "additionalProperties": TEXT},
    "rule_files_sha256": SHA256 | {"description": "over the rules and limits that the software ships"},
    "standards": {"type": "array", "items": TEXT},
    "register_head": SHA256 | {"type": ["string", "null"], "description": "hash of the last entry about the book"},
    "register_entry": {"type": ["integer", "null"], "description": "number of that entry"},
    "evidence_sha256": SHA256
    | {"description": "of evidence.json; a decision on this state of the book keeps the same"},
}
PLACE = {"type": ["string", "null"], "description": "received file, sheet and line that it was read from"}
UNITS = (
    "Units stand in the names: _l litres at 20 °C, _at_t_l litres as read, alcohol in litres of pure alcohol, _pct_vol "
    "% vol at 20 °C, _kg, _c °C, _kg_m3; u_ before a name is its standard uncertainty. Times are UTC. Null is unknown, "
    "never zero."
)


def dossier_schema() -> dict[str, Any]:
    """The schema of `dossier.json`."""
    definitions: dict[str, Any] = {}
    hints = get_type_hints(Batch)
    sections = {
        field.name: _schema(hints[field.name], definitions) for field in fields(Batch) if field.name not in LEFT_OUT
    }
    properties = {"about": object_schema(ABOUT)} | sections
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": FORMAT,
        "description": UNITS,
        **object_schema(properties),
        "$defs": definitions,
    }


def schema_bytes() -> bytes:
    """The schema as canonical JSON."""
    return rfc8785.dumps(dossier_schema())


def object_schema(properties: dict[str, Any]) -> dict[str, Any]:
    """An object with just these properties."""
    return {
        "type": "object", "properties": properties, "required": sorted(properties), "additionalProperties": False,
    }  # fmt: skip


def _schema(hint: Any, definitions: dict[str, Any]) -> dict[str, Any]:
    """The schema of a value of this type; records become definitions."""
    simple: dict[Any, dict[str, Any]] = {
        str: TEXT, Decimal: TEXT, bool: {"type": "boolean"}, int: {"type": "integer"}, float: {"type": "number"},
        datetime: {"type": "string", "format": "date-time"}, date: {"type": "string", "format": "date"}, Any: {},
    }  # fmt: skip
    origin, inner = get_origin(hint), get_args(hint)
    if hint in simple:
        return simple[hint]
    if is_dataclass(hint):
        return _record(hint, definitions)
    if origin in (types.UnionType, Union):
        return {"anyOf": [_schema(item, definitions) for item in inner if item is not type(None)] + [{"type": "null"}]}
    if origin is dict:
        return {"type": "object", "additionalProperties": _schema(inner[1], definitions)}
    if origin is tuple and inner[-1] is not Ellipsis:
        items = [_schema(item, definitions) for item in inner]
        return {"type": "array", "prefixItems": items, "minItems": len(items), "maxItems": len(items)}
    if origin in (tuple, list):
        return {"type": "array", "items": _schema(inner[0], definitions)}
    raise TypeError(f"no schema is known for {hint}")


def _record(record: Any, definitions: dict[str, Any]) -> dict[str, Any]:
    name = record.__name__
    if name not in definitions:
        definitions[name] = {}  # named before its fields, which may hold records too
        hints = get_type_hints(record)
        names = [field.name for field in fields(record)]
        properties = {item: _schema(hints[item], definitions) for item in names if item not in BOOK_OWN}
        if "source_id" in names:
            properties["place"] = PLACE
        doc = inspect.getdoc(record) or ""
        told = {} if doc.startswith(f"{name}(") else {"description": doc.split("\n\n")[0].replace("\n", " ")}
        definitions[name] = told | object_schema(properties)
    return {"$ref": f"#/$defs/{name}"}
