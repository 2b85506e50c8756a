"""Run the rule book on a book and keep what it answered."""

from collections.abc import Container, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import polars as pl

from gaugebook.checks.evaluation.evaluation import evaluate, open_memory
from gaugebook.checks.evaluation.import_beside import import_beside
from gaugebook.checks.evaluation.subjects import columns_of, subject_frames
from gaugebook.checks.flags.flag_lifecycle import record_check
from gaugebook.checks.flags.flags import flags
from gaugebook.checks.flags.freshness import is_checked, note_checked
from gaugebook.checks.rulebook.published_limits import read_limits
from gaugebook.checks.rulebook.rule import SEVERITIES, Rule
from gaugebook.checks.rulebook.rulebook import read_rulebook
from gaugebook.checks.rulebook.softened_rules import lowered_in_words
from gaugebook.checks.rulebook.softening import Softened, softened_rules
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.book.register import Event
from gaugebook.pipeline.book.table_digests import append_events, last_stated, states_of, tables_of
from gaugebook.pipeline.house.profile_in_force import profile_in_force

HERE = Path(__file__).parent
SCHEMAS = ("flagged", "history", "eval_cache")  # what a check changes
EXPECTATIONS = "gaugebook.checks.evaluation.expectations"  # takes seconds to import
EXPLAINED = """
    SELECT count(*) FROM flagged.flags JOIN history.flag_states AS states ON states.flag = flags.flag
    WHERE flags.severity = 'needs explanation' AND states.state <> 'open'
"""


@dataclass(frozen=True)
class CheckSummary:
    """What a check came to: flags by severity and how many to explain are, batches by standing, the rules that had
    nothing to look at, and what the house profile lowers of rules of law."""

    rules: int
    records: int
    flags: dict[str, int]
    explained: int
    batches: dict[str, int]
    rules_without_records: tuple[str, ...]
    softened: tuple[str, ...]

    @property
    def needs_attention(self) -> bool:
        return bool(self.flags["stops release"] or self.flags["needs explanation"] > self.explained)


def run_checks(book: Book, at: datetime | None = None) -> CheckSummary:
    """Judge every record of the book, make flagged.* anew, and write on what became of each flag; all or nothing.

    Parameters
    ----------
    book : Book
        Open for writing, its derived tables made.
    at : datetime, optional
        Time of the check in UTC; now where it is left out.

    Raises
    ------
    SettingsError
        If the rule book, the limits or the house's changes to them say something that cannot be.
    """
    with import_beside(EXPECTATIONS, wanted=not is_checked(book)), book.transaction():
        book.run_file(HERE / "history.sql")
        rules, frames = effective_rules(book)
        open_memory(book, rules)
        answers, looked_at = evaluate(rules, frames, book)
        counts = rule_counts(rules, answers, looked_at)
        book.run_file(HERE / "schema.sql")
        book.append("flagged.flags", flags(rules, frames, answers))
        book.append("flagged.rule_counts", counts)
        softened = softened_rules(read_rulebook(columns_of(frames)), rules)
        book.append("flagged.rules", rules_in_force(rules, profile_in_force(book).rules, softened))
        book.run_file(HERE / "flags" / "batch_flags.sql")
        at = at or now()
        record_check(book, at)
        book.run_file(HERE / "flags" / "standings.sql")
        note_checked(book, rules, at)
        _enter(book, at)
        return _summary(book, counts, lowered_in_words(book))


def _enter(book: Book, at: datetime) -> None:
    """Tell the register, unless this check came to just what the last one did."""
    states = states_of(book, [name for schema in SCHEMAS for name in tables_of(book, schema)])
    if states == last_stated(book, states):
        return
    rule_book = book.value("SELECT rule_book_sha256 FROM flagged.checked_from")
    check = Event("check", "all records by the rule book", {"rule_book_sha256": rule_book})
    append_events(book, [check], states, at)


def now() -> datetime:
    """The time in UTC, to the second."""
    return datetime.now(UTC).replace(tzinfo=None, microsecond=0)


def effective_rules(book: Book) -> tuple[tuple[Rule, ...], dict[str, pl.DataFrame]]:
    """The rule book in force for this book's house, and the frames that it looks at."""
    house = profile_in_force(book)
    frames = subject_frames(book, house, read_limits())
    return read_rulebook(columns_of(frames), house.rules), frames


def rules_in_force(
    rules: tuple[Rule, ...], by_house: Container[str], softened: Sequence[Softened] = ()
) -> pl.DataFrame:
    """The rules as a reader sees them, in the order of the rule book."""
    lowered = {item.rule: item for item in softened}
    return pl.DataFrame(
        [
            {"rule": rule.id, "subject": rule.subject, "quantity": rule.quantity, "compared": rule.with_what,
             "unit": rule.unit or None, "severity": rule.severity, "citation": rule.citation,
             "by_house": rule.id in by_house, "of_law": rule.of_law,
             "softened": lowered[rule.id].grade.value if rule.id in lowered else None,
             "softened_by": lowered[rule.id].in_words if rule.id in lowered else None}
            for rule in rules
        ],
        schema_overrides={"unit": pl.String, "softened": pl.String, "softened_by": pl.String},
    )  # fmt: skip


def rule_counts(rules: tuple[Rule, ...], answers: pl.DataFrame, looked_at: pl.DataFrame) -> pl.DataFrame:
    """Records, and how many of them got each answer; what is no other answer is within."""
    subjects = pl.DataFrame({"rule": [rule.id for rule in rules], "subject": [rule.subject for rule in rules]})
    given = {"doubtful": "doubtful", "out": "out", "not_evaluated": "not evaluated"}
    sums = answers.group_by("rule").agg([(pl.col("answer") == text).sum().alias(name) for name, text in given.items()])
    counts = subjects.join(looked_at, on="rule", how="left", maintain_order="left")
    counts = counts.join(sums, on="rule", how="left", maintain_order="left").fill_null(0)
    return counts.with_columns(
        within=pl.col("records") - pl.sum_horizontal([pl.col(name).cast(pl.Int64) for name in given])
    )


def _summary(book: Book, counts: pl.DataFrame, softened: tuple[str, ...]) -> CheckSummary:
    by_severity = dict(book.frame("SELECT severity, count(*) FROM flagged.flags GROUP BY severity").rows())
    by_standing = dict(book.frame("SELECT standing, count(*) FROM flagged.standings GROUP BY standing").rows())
    return CheckSummary(
        rules=len(counts),
        records=int(counts["records"].sum()),
        explained=book.value(EXPLAINED),
        flags={severity: by_severity.get(severity, 0) for severity in SEVERITIES},
        batches={standing: by_standing.get(standing, 0) for standing in ("clear", "to explain", "stopped")},
        rules_without_records=tuple(counts.filter(pl.col("records") == 0)["rule"]),
        softened=softened,
    )
