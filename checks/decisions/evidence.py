"""What a decision rests on, frozen: the batch's records, flags, rule book, profile and files as canonical JSON."""

import json
from collections.abc import Sequence
from hashlib import sha256
from pathlib import Path

import polars as pl
import rfc8785

from gaugebook.checks.rulebook.softened_rules import lowered
from gaugebook.pipeline.book.database import Book

HERE = Path(__file__).parent
AFTER_DECISION = "changed-after-decision"  # the flag of a decision is no part of what the decision rests on
FLAGS = """
    SELECT flags.flag, flags.rule, flags.record, flags.answer, flags.severity, flags.value, flags.limits,
        coalesce(states.state, 'open') AS state, states.person, states.reason, states.attachment_sha256
    FROM flagged.batch_flags
    JOIN flagged.flags ON flags.flag = batch_flags.flag
    LEFT JOIN history.flag_states AS states ON states.flag = flags.flag
    WHERE batch_flags.batch = $batch AND flags.rule <> $after
    ORDER BY flags.flag
"""


def evidence(book: Book, batch: str, rule_book_sha256: str) -> str:
    """Everything that a decision on this batch rests on, as canonical JSON (RFC 8785).

    Parameters
    ----------
    rule_book_sha256 : str
        Of the rules by which the flags were made.
    """
    house = book.value("SELECT sha256 FROM received.houses ORDER BY edition DESC LIMIT 1")
    frozen = {
        "batch": batch,
        "records": {part: [json.loads(row) for row in rows] for part, rows in _records(book, [batch])[batch].items()},
        "flags": book.frame(FLAGS, {"batch": batch, "after": AFTER_DECISION}).to_dicts(),
        "files": book.frame((HERE / "evidence_files.sql").read_text(encoding="utf-8"), {"batch": batch}).to_dicts(),
        "rule_book_sha256": rule_book_sha256,
        "house_profile_sha256": house,
        "house_profile_lowers": lowered(book),
    }
    return rfc8785.dumps(frozen).decode()


def data_parts(book: Book, batches: Sequence[str]) -> dict[str, dict[str, str]]:
    """Batch -> part of its records -> digest: what later tells whether, and where, the data has changed."""
    return {
        batch: {part: sha256("\n".join(rows).encode()).hexdigest()[:16] for part, rows in parts.items()}
        for batch, parts in _records(book, batches).items()
    }


def _records(book: Book, batches: Sequence[str]) -> dict[str, dict[str, list[str]]]:
    """Batch -> part -> its records as JSON, sorted."""
    records: dict[str, dict[str, list[str]]] = {batch: {} for batch in batches}
    with book.with_temp_view("asked_batches", pl.DataFrame({"batch": batches}, schema={"batch": pl.String})):
        frame = book.frame(
            f"SELECT batch, part, list(row ORDER BY row) AS rows FROM ({_sql()}) GROUP BY batch, part ORDER BY ALL"
        )
    for batch, part, rows in frame.iter_rows():
        records[batch][part] = rows
    return records


def _sql() -> str:
    return (HERE / "evidence.sql").read_text(encoding="utf-8")
