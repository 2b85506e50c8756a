"""The schema of a dossier's data: it follows the records by itself, real data keep it, broken data do not."""

import copy
import dataclasses
import json
from dataclasses import dataclass, fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any, get_args, get_type_hints

import jsonschema
import pytest
from demo_book import EMPTY, GIN, VODKA, demo_house, write_demo_book

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.house.profile_in_force import profile_in_force
from gaugebook.reports.dossier.batch import gather_batch
from gaugebook.reports.dossier.data_schema import dossier_schema, record_schema, schema_bytes
from gaugebook.reports.dossier.dossier_data import BOOK_OWN, LEFT_OUT, canonical, dossier_data
from gaugebook.reports.dossier.records import Batch, Result

CHECKER = jsonschema.Draft202012Validator(dossier_schema(), format_checker=jsonschema.FormatChecker())


@pytest.fixture(scope="module")
def demo_data(tmp_path_factory) -> dict[str, dict[str, Any]]:
    """Data of the demo's three batches: one clear, one stopped, one with a bottling record and nothing else."""
    with open_book(write_demo_book(tmp_path_factory.mktemp("book"))) as book:
        batches = {code: gather_batch(book, demo_house(), code) for code in (VODKA, GIN, EMPTY)}
    return {code: json.loads(canonical(dossier_data(batch))) for code, batch in batches.items()}


def records_below(hint: Any, found: dict[str, type]) -> dict[str, type]:
    """Every record that a value of this type may hold, by name."""
    for part in get_args(hint):
        records_below(part, found)
    if is_dataclass(hint) and isinstance(hint, type) and hint.__name__ not in found:
        found[hint.__name__] = hint
        for inner in get_type_hints(hint).values():
            records_below(inner, found)
    return found


def test_every_record_has_its_fields_in_the_schema():
    """A definition for each record that a batch reaches: its fields but the book's own numbers, all of them required,
    and its place in a received file where it has a source."""
    hints = get_type_hints(Batch)
    sections = {field.name: hints[field.name] for field in fields(Batch) if field.name not in LEFT_OUT}
    found: dict[str, type] = {}
    for hint in sections.values():
        records_below(hint, found)
    schema = dossier_schema()

    assert len(found) > 20
    assert schema["$defs"].keys() == found.keys()
    assert schema["properties"].keys() == {"about", *sections}
    for name, record in found.items():
        names = {field.name for field in fields(record)}
        wanted = names - set(BOOK_OWN) | ({"place"} if "source_id" in names else set())
        definition = schema["$defs"][name]
        assert definition["properties"].keys() == wanted, name
        assert set(definition["required"]) == wanted, name
        assert definition["additionalProperties"] is False, name


def test_a_field_added_to_a_record_is_in_the_schema():
    """Nothing but the record needs to change."""
    wider = dataclasses.make_dataclass("Result", [("drift_per_year", float | None)], bases=(Result,), frozen=True)
    before = record_schema({"results": tuple[Result, ...]})["$defs"]["Result"]
    after = record_schema({"results": tuple[wider, ...]})["$defs"]["Result"]

    assert after["properties"].pop("drift_per_year") == {"anyOf": [{"type": "number"}, {"type": "null"}]}
    assert after["properties"] == before["properties"]
    assert set(after["required"]) - set(before["required"]) == {"drift_per_year"}


@dataclass
class Inner:
    """What it is.

    What only a developer needs to know.
    """

    source_id: int
    line: int
    at: datetime


@dataclass
class Outer:
    amount_l: Decimal
    day: date
    pairs: tuple[tuple[str, float], ...]
    by_name: dict[str, Inner]
    bottles: int = 3


def test_each_type_is_told_as_the_data_write_it():
    """Decimals are texts, times in ISO 8601, tuples of fixed length arrays of that length; of a docstring its first
    paragraph; no title and no default, since nothing is ever left out."""
    made = record_schema({"outer": Outer})["$defs"]

    pair = {
        "type": "array", "minItems": 2, "maxItems": 2, "prefixItems": [{"type": "string"}, {"type": "number"}],
    }  # fmt: skip
    assert made["Outer"]["properties"] == {
        "amount_l": {"type": "string"},
        "day": {"type": "string", "format": "date"},
        "pairs": {"type": "array", "items": pair},
        "by_name": {"type": "object", "additionalProperties": {"$ref": "#/$defs/Inner"}},
        "bottles": {"type": "integer"},
    }
    assert "bottles" in made["Outer"]["required"]
    assert made["Inner"]["description"] == "What it is."
    assert made["Inner"]["properties"].keys() == {"at", "place"}


@pytest.mark.parametrize("code", [VODKA, GIN, EMPTY])
def test_the_data_of_the_demo_keep_the_schema(demo_data, code):
    """A full batch, a stopped one and one of which next to nothing is known."""
    CHECKER.validate(demo_data[code])


def test_the_data_of_the_sample_keep_the_schema(sample_book: Path):
    """Batches of the sample distillery with curves, amended values, panels and unknown yields."""
    with open_book(sample_book) as book:
        house = profile_in_force(book)
        for code in ("VOD-2610B", "GIN-2610A", "APP-2610A"):
            CHECKER.validate(json.loads(canonical(dossier_data(gather_batch(book, house, code)))))


def _more(data):
    data["bottling"]["moon"] = "full"


def _less(data):
    del data["results"][0]["value"]


def _blank(data):
    data["bottling"]["bottled_at"] = None


def _other_kind(data):
    data["stages"][0]["runs"][0]["run"] = 7


def _no_hash(data):
    data["about"]["evidence_sha256"] = "none"


def _book_s_own(data):
    data["results"][0]["source_id"] = 3


@pytest.mark.parametrize("broken", [_more, _less, _blank, _other_kind, _no_hash, _book_s_own])
def test_broken_data_do_not_keep_the_schema(demo_data, broken):
    """A field too many or missing, a null where none may be, a number for a text, no hash, a number of the book."""
    data = copy.deepcopy(demo_data[VODKA])
    broken(data)

    assert not CHECKER.is_valid(data)


def test_the_schema_itself_is_sound_and_the_same_each_time():
    """It is a schema of its draft, and canonical JSON."""
    jsonschema.Draft202012Validator.check_schema(dossier_schema())

    assert json.loads(schema_bytes()) == dossier_schema()
