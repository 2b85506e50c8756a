"""What `decide` freezes: each field of each part of the evidence changes its hash when that field alone changes, and
what does not stand behind the batch does not.

Fields are changed in the tables that they come from, one at a time, and set back; nothing else of the book moves.
"""

import json
from collections.abc import Iterator
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from shutil import copytree

import pytest

from gaugebook.checks.decisions.evidence import data_parts, evidence
from gaugebook.pipeline.book.database import Book, open_book
from tests.oracle.conftest import LEMON_FLAG, gaugebook

BATCH = "GIN-A"

# Part of the evidence: table, a row of it that stands behind the batch, and the fields that are frozen.
PARTS = {
    "gauges": ("derived.gauges", "run = 'BOT-1' AND lot = 'DIST-1'", (
        "run", "direction", "lot", "part", "vessel", "gauged_at", "mass_kg", "volume_l", "u_volume_l",
        "strength_reading",
        "reading_kind", "reading_temperature_c", "strength_pct_vol", "u_strength_pct_vol", "alcohol_l", "u_alcohol_l",
        "strength_is", "pieces")),
    "runs": ("typed.runs", "run = 'STR-1'", (
        "run", "stage", "equipment", "product", "recipe", "started_at", "ended_at", "operator", "hearts_from",
        "hearts_to")),
    "laboratory": ("typed.laboratory", "lot = 'NS-1' AND analyte = 'methanol'", (
        "sample", "lot", "analyte", "value", "below_limit", "unit", "method", "preparation", "temperature_c",
        "instrument", "analyst", "replicate", "measured_at")),
    "calibrations": ("typed.calibrations", "instrument = 'HYD-1'", (
        "instrument", "checked_at", "reference_value", "reading", "unit", "due_at")),
    "intake": ("typed.intake", "lot = 'RYE-1'", (
        "lot", "material", "kind", "supplier", "received_at", "quantity_kg", "quantity_l", "quantity_pieces",
        "extract_pct",
        "moisture_pct", "condition", "best_before")),
    "opening": ("derived.openings", "lot = 'NS-B1'", (
        "lot", "origin", "kind", "material", "vessel", "came_at", "volume_l", "strength_pct_vol", "alcohol_l",
        "u_alcohol_l", "pieces")),
    "bottling": ("typed.bottling", "lot = 'GIN-A'", (
        "run", "product", "bottled_at", "nominal_ml", "label_strength_pct_vol", "bottles_filled", "bottles_rejected",
        "operator")),
    "fills": ("typed.fills", "lot = 'GIN-A' AND sample_no = 4", ("sample_no", "net_content_ml", "instrument")),
    "panel": ("typed.panel", "lot = 'GIN-A'", ("session", "lot", "reference_lot", "test", "assessors",
    "correct_answers")),
    "lineage": ("derived.lineage", "lot = 'HRT-1'", ("run", "lot", "into_lot", "depth", "share")),
}  # fmt: skip

# The rest: what is changed, and how.
BESIDE = {
    "answer of a flag": f"UPDATE flagged.flags SET answer = 'doubtful' WHERE flag = '{LEMON_FLAG}'",
    "severity of a flag": f"UPDATE flagged.flags SET severity = 'for information' WHERE flag = '{LEMON_FLAG}'",
    "value of a flag": f"UPDATE flagged.flags SET value = 'fresh' WHERE flag = '{LEMON_FLAG}'",
    "limits of a flag": f"UPDATE flagged.flags SET limits = 'dried' WHERE flag = '{LEMON_FLAG}'",
    "rule of a flag": f"UPDATE flagged.flags SET rule = 'botanical-listed' WHERE flag = '{LEMON_FLAG}'",
    "record of a flag": f"UPDATE flagged.flags SET record = 'run BOT-2' WHERE flag = '{LEMON_FLAG}'",
    "a flag taken from before the batch": f"DELETE FROM flagged.batch_flags WHERE flag = '{LEMON_FLAG}'",
    "state of a flag": "UPDATE history.flag_events SET happened = 'accepted' WHERE happened = 'explained'",
    "who explained": "UPDATE history.flag_events SET person = 'OP' WHERE happened = 'explained'",
    "the explanation": "UPDATE history.flag_events SET reason = 'another' WHERE happened = 'explained'",
    "what was attached": "UPDATE history.flag_events SET attachment_sha256 = repeat('0', 64) WHERE happened = "
    "'explained'",
    "bytes of a received file": "UPDATE received.files SET sha256 = repeat('0', 64) WHERE name = 'panel.csv'",
    "name of a received file": "UPDATE received.files SET name = 'other.csv' WHERE name = 'fills.csv'",
    "the house profile, its recipes and products": "UPDATE received.houses SET sha256 = repeat('0', 64)",
    "who may overrule": "UPDATE received.houses SET text = text || '\n[decisions]\nmay_overrule = [\"KM\"]\n'",
    "a rule of law that the profile eases": "UPDATE flagged.rules SET softened = 'eased', softened_by = 'limit' "
    "WHERE rule = 'label-strength'",
}  # fmt: skip


class _SetBack(Exception):
    """Ends a transaction without keeping it."""


@pytest.fixture(scope="module")
def copied(oracle_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    """A copy of the oracle book that these tests may write to, open."""
    folder = copytree(oracle_folder, tmp_path_factory.mktemp("evidence") / "book")
    with open_book(folder, writing=True) as opened:
        yield opened


@pytest.fixture
def book(copied: Book) -> Iterator[Book]:
    """The copy; what a test changes is set back."""
    with suppress(_SetBack), copied.transaction():
        yield copied
        raise _SetBack


@pytest.fixture(scope="module")
def before(copied: Book) -> tuple[str, dict[str, str]]:
    """Hash of the evidence and digests of its parts, with nothing changed."""
    return hash_of(copied), data_parts(copied, [BATCH])[BATCH]


def hash_of(book: Book, rule_book: str = "r") -> str:
    """SHA-256 of the evidence, as a decision keeps it."""
    return sha256(evidence(book, BATCH, rule_book).encode()).hexdigest()


def change(book: Book, table: str, column: str, where: str) -> None:
    """Give one field of one row another value of its type; a missing one becomes known."""
    kind = book.value(f"SELECT data_type FROM information_schema.columns WHERE table_schema || '.' || table_name = "
    f"'{table}' "
                      f"AND column_name = '{column}'")  # fmt: skip
    other = {
        "VARCHAR": f"coalesce({column}, '') || 'x'", "DOUBLE": f"coalesce({column}, 0) + 0.25",
        "INTEGER": f"coalesce({column}, 0) + 1",
        "TIMESTAMP": f"coalesce({column}, TIMESTAMP '2026-01-01') + INTERVAL 1 MINUTE", "BOOLEAN": f"NOT {column}",
    }[kind]  # fmt: skip
    assert book.value(f"SELECT count(*) FROM {table} WHERE {where}") == 1
    book.execute(f"UPDATE {table} SET {column} = {other} WHERE {where}")


@pytest.mark.parametrize(
    ("part", "column"), [(part, column) for part, (_, _, columns) in PARTS.items() for column in columns]
)
def test_each_field_is_in_the_hash(book: Book, before: tuple[str, dict[str, str]], part: str, column: str) -> None:
    """One field changed, and the hash is another; the part's own digest, which later tells where data changed, is
    too."""
    table, where, _ = PARTS[part]
    change(book, table, column, where)
    assert hash_of(book) != before[0]
    assert data_parts(book, [BATCH])[BATCH].get(part) != before[1][part]


def test_parts_are_all_that_is_frozen(book: Book) -> None:
    """No part of the records, and no field of one, is left out above."""
    records = json.loads(evidence(book, BATCH, "r"))["records"]
    assert {part: set(rows[0]) for part, rows in records.items()} == {
        part: set(columns) for part, (*_, columns) in PARTS.items()
    }


@pytest.mark.parametrize("sql", BESIDE.values(), ids=BESIDE.keys())
def test_what_stands_beside_the_records_is_in_the_hash(
    book: Book, before: tuple[str, dict[str, str]], sql: str
) -> None:
    """Flags, explanations, attachments, files and profile: each alone changes the hash, and no digest of the data."""
    book.execute(sql)
    assert hash_of(book) != before[0]
    assert data_parts(book, [BATCH])[BATCH] == before[1]


def test_the_rule_book_is_in_the_hash(book: Book) -> None:
    """Other rules, another hash."""
    assert hash_of(book, "r") != hash_of(book, "s")


def test_the_same_is_the_same(book: Book, oracle_folder: Path) -> None:
    """Asked twice, and of the book that was copied, the evidence is the same; and as it was frozen, but for what
    came after it."""
    with open_book(oracle_folder) as original:
        assert hash_of(original) == hash_of(book) == hash_of(book)
        sheet = original.value("SELECT rule_book_sha256 FROM flagged.checked_from")
        frozen = original.value("SELECT evidence_sha256 FROM history.decisions")
        assert hash_of(original, sheet) == frozen


MORE = {
    "a calibration of an alcoholmeter that read the batch": "UPDATE typed.calibrations SET reading = 81.9 WHERE "
    "instrument = 'HYD-1'",
    "whether a laboratory's sample was distilled": "UPDATE typed.laboratory SET preparation = 'direct' WHERE lot = "
    "'WASH-1'",
    "temperature of a laboratory's sample": "UPDATE typed.laboratory SET temperature_c = 25 WHERE lot = 'NS-1' AND "
    "analyte = 'strength'",
    "whether a strength is true": "UPDATE derived.gauges SET strength_is = 'apparent' WHERE lot = 'DIST-1'",
    "packaging drawn": "UPDATE derived.gauges SET pieces = 710 WHERE lot = 'GLS-1'",
}  # fmt: skip


@pytest.mark.parametrize("sql", MORE.values(), ids=MORE.keys())
def test_what_a_person_deciding_relies_on_is_in_the_hash_too(
    book: Book, before: tuple[str, dict[str, str]], sql: str
) -> None:
    """How the batch was read, and what its packaging was."""
    book.execute(sql)
    assert hash_of(book) != before[0]


def test_receiving_what_is_not_behind_the_batch_leaves_the_hash(oracle_folder: Path, tmp_path: Path) -> None:
    """A dip of OLD-1 and a result of GIN-Z are received: the hash stands. A second methanol of NS-1 is received:
    it is another."""
    folder = copytree(oracle_folder, tmp_path / "book")

    def received(name: str, text: str) -> str:
        (tmp_path / name).write_text(text, encoding="utf-8")
        gaugebook(folder, "receive", str(tmp_path / name))
        with open_book(folder) as opened:
            return hash_of(opened)

    with open_book(folder) as opened:
        before = hash_of(opened)
    dips = "vessel,lot,dipped,L,tV,S,read as,tS,meter,prepared\nC1,OLD-1,2026-04-10 "
    "09:00,82.0,15.0,62.3,alcoholmeter,15.0,HYD-1,direct\n"
    head = "sample;lot;analyte;measured;value;unit;t;method;prepared;meter;analyst;replicate\n"
    assert received("dips_april.csv", dips) == before
    assert (
        received(
            "laboratory_old.csv", head + "L-9;GIN-Z;methanol;10.04.2026 09:00;4,4;g/hL pa;;chromatography;;GC-1;LN;1\n"
        )
        == before
    )
    result = "L-3;NS-1;methanol;10.04.2026 09:00;2,9;g/hL pa;;chromatography;;GC-1;LN;2\n"
    assert received("laboratory_new.csv", head + result) != before
