"""The JSON Schema (2020-12) of a dossier's data, made by pydantic from the types of the records, so they cannot part.

What is ours is how a record is told: without the numbers that only the book knows, with its place instead, and closed.
"""

from dataclasses import fields, make_dataclass
from functools import cache
from typing import TYPE_CHECKING, Any, get_type_hints

import rfc8785

from gaugebook.reports.dossier.dossier_data import BOOK_OWN, FORMAT, LEFT_OUT
from gaugebook.reports.dossier.records import Batch

if TYPE_CHECKING:
    from pydantic.json_schema import GenerateJsonSchema

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
    hints = get_type_hints(Batch)
    sections = record_schema({field.name: hints[field.name] for field in fields(Batch) if field.name not in LEFT_OUT})
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": FORMAT,
        "description": UNITS,
        **object_schema({"about": object_schema(ABOUT)} | sections["properties"]),
        "$defs": sections["$defs"],
    }


@cache  # the same for every dossier of a process
def schema_bytes() -> bytes:
    """The schema as canonical JSON."""
    return rfc8785.dumps(dossier_schema())


def object_schema(properties: dict[str, Any]) -> dict[str, Any]:
    """An object with just these properties."""
    return {
        "type": "object", "properties": properties, "required": sorted(properties), "additionalProperties": False,
    }  # fmt: skip


def record_schema(types: dict[str, Any]) -> dict[str, Any]:
    """The schema of an object whose properties have these types, with the records among them as definitions."""
    from pydantic import ConfigDict, TypeAdapter  # only here, so that no other command waits for it

    whole = make_dataclass("Whole", types.items(), namespace={"__pydantic_config__": ConfigDict(defer_build=True)})
    return TypeAdapter(whole).json_schema(mode="serialization", schema_generator=_generator())


def _generator() -> "type[GenerateJsonSchema]":
    from pydantic.json_schema import GenerateJsonSchema

    class OfRecords(GenerateJsonSchema):
        """Records as `dossier_data` writes them."""

        def dataclass_schema(self, schema: Any) -> dict[str, Any]:
            whole = super().dataclass_schema(schema)
            properties = {name: item for name, item in whole["properties"].items() if name not in BOOK_OWN}
            if "source_id" in whole["properties"]:
                properties["place"] = PLACE
            description = whole.get("description", "").split("\n\n")[0].replace("\n", " ")
            return ({"description": description} if description else {}) | object_schema(properties)

        def decimal_schema(self, schema: Any) -> dict[str, Any]:
            return TEXT

        def default_schema(self, schema: Any) -> dict[str, Any]:
            return self.generate_inner(schema["schema"])  # nothing is left out of the data, so nothing has a default

        def field_title_should_be_set(self, schema: Any) -> bool:
            return False

    return OfRecords
