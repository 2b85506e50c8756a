"""What was judged once is not judged again: answers are remembered by the values that they rest on.

A row's answers depend on its prepared columns and on the rules of its subject. So a check judges only rows whose
columns it has never seen under these rules; the cost of a check grows with what is new, not with the book.
"""

from collections.abc import Mapping, Sequence
from hashlib import sha256
from pathlib import Path

import polars as pl

from gaugebook.checks.evaluation.prepared import ANSWERS, looked_at, missing, prepared
from gaugebook.checks.rulebook.rule import Rule
from gaugebook.pipeline.book.code_fingerprint import code_sha256
from gaugebook.pipeline.book.database import Book

# What each row is told by precedence: without its value nothing else was judged.
PRECEDENCE = ("not evaluated", "out", "doubtful")
COUNTS = {"rule": pl.String, "records": pl.Int64}
KEY = ("key_1", "key_2")  # 128 bits of the prepared columns
MARKS = ("subject", "suite", *KEY)


def evaluate(
    rules: Sequence[Rule], frames: Mapping[str, pl.DataFrame], book: Book | None = None
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """What each rule answers for each row of its subject's frame.

    Parameters
    ----------
    rules : sequence of Rule
        The rule book.
    frames : mapping
        Subject -> frame.
    book : Book, optional
        Open for writing: what it remembers is not judged again, and what is new is remembered in it.

    Returns
    -------
    answers : DataFrame
        rule, row, answer: every row that is not within.
    counts : DataFrame
        rule, records: how many rows each rule looked at.
    """
    answers = [pl.DataFrame(schema=ANSWERS)]
    counts: dict[str, int] = {}
    keyed: dict[str, pl.DataFrame] = {}
    for subject, suited in _by_subject(rules).items():
        rows = prepared(frames[subject], suited)
        counts |= looked_at(rows, suited)
        answers.append(missing(rows, suited))
        keyed[subject] = _keyed(rows, subject, suited)
    known = _remembered(book, keyed)
    answers.append(_answers_of(book, known))
    new = {subject: rows.join(known, on=["subject", "row"], how="anti") for subject, rows in keyed.items()}
    answers.append(_judge_new(rules, {subject: rows for subject, rows in new.items() if not rows.is_empty()}, book))
    return _one_a_row(pl.concat(answers)), pl.DataFrame(list(counts.items()), COUNTS, orient="row")


def _by_subject(rules: Sequence[Rule]) -> dict[str, list[Rule]]:
    subjects: dict[str, list[Rule]] = {}
    for rule in rules:
        subjects.setdefault(rule.subject, []).append(rule)
    return subjects


def _keyed(rows: pl.DataFrame, subject: str, rules: Sequence[Rule]) -> pl.DataFrame:
    """The rows with what they are remembered by: subject, rules in force, and a hash of all that they hold."""
    held = pl.struct(pl.exclude("row"))
    return rows.with_columns(
        pl.lit(subject).alias("subject"), pl.lit(_suite(rules)).alias("suite"),
        held.hash(seed=1).alias("key_1"), held.hash(seed=2).alias("key_2"),
    )  # fmt: skip


def _suite(rules: Sequence[Rule]) -> str:
    """Name of these rules and of the code that judges; polars promises its hashes within one version only."""
    code = code_sha256(Path(__file__).parents[1])
    return sha256("\n".join([pl.__version__, code, *map(repr, rules)]).encode()).hexdigest()[:16]


def _remembered(book: Book | None, keyed: Mapping[str, pl.DataFrame]) -> pl.DataFrame:
    """The rows that were judged before: row, subject, suite and key."""
    asked = pl.concat([rows.select("row", *MARKS) for rows in keyed.values()])
    if book is None:
        return asked.clear()
    with book.with_temp_view("asked_rows", asked):
        return book.frame("SELECT * FROM asked_rows SEMI JOIN eval_cache.rows USING (subject, suite, key_1, key_2)")


def _answers_of(book: Book | None, known: pl.DataFrame) -> pl.DataFrame:
    if book is None or known.is_empty():
        return pl.DataFrame(schema=ANSWERS)
    with book.with_temp_view("known_rows", known):
        return book.frame(
            "SELECT rule, row::BIGINT AS row, answer FROM known_rows "
            "JOIN eval_cache.answers USING (subject, suite, key_1, key_2)"
        )


def _judge_new(rules: Sequence[Rule], new: Mapping[str, pl.DataFrame], book: Book | None) -> pl.DataFrame:
    """Answers of rows never seen before; rows that hold the same values are judged once."""
    if not new:
        return pl.DataFrame(schema=ANSWERS)
    from gaugebook.checks.evaluation.expectations import (
        failing,  # takes seconds to import, so only where something is new
    )

    firsts = {name: rows.unique(KEY, keep="first", maintain_order=True) for name, rows in new.items()}
    failed = failing(rules, {name: rows.drop(MARKS) for name, rows in firsts.items()})
    subjects = pl.DataFrame({"rule": [r.id for r in rules], "subject": [r.subject for r in rules]})
    failed = failed.join(subjects, on="rule")
    answered = pl.concat([rows.select(pl.col("row").cast(pl.Int64), *MARKS) for rows in firsts.values()])
    answers = failed.join(answered, on=["subject", "row"]).select(*MARKS, "rule", "answer")
    if book:
        book.append("eval_cache.rows", answered.select(MARKS))
        book.append("eval_cache.answers", answers)
    everywhere = pl.concat([rows.select(pl.col("row").cast(pl.Int64), *MARKS) for rows in new.values()])
    return everywhere.join(answers, on=MARKS).select("rule", "row", "answer")


def _one_a_row(answers: pl.DataFrame) -> pl.DataFrame:
    order = pl.col("answer").cast(pl.Enum(PRECEDENCE))
    return answers.sort("rule", "row", order).unique(["rule", "row"], keep="first", maintain_order=True)


def open_memory(book: Book, rules: Sequence[Rule]) -> None:
    """Make the memory where there is none, and forget what was judged by rules that are no longer in force."""
    book.run_file(Path(__file__).parent / "eval_cache.sql")
    suites = {subject: _suite(suited) for subject, suited in _by_subject(rules).items()}
    in_force = pl.DataFrame(list(suites.items()), {"subject": pl.String, "suite": pl.String}, orient="row")
    with book.with_temp_view("suites_in_force", in_force):
        for table in ("rows", "answers"):
            book.execute(
                f"DELETE FROM eval_cache.{table} "
                "WHERE (subject, suite) NOT IN (SELECT (subject, suite) FROM suites_in_force)"
            )
