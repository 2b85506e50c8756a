"""What the rules look at, row by row: each rule's own copies of the columns that it compares, NULL where a row is none
of its business. A rule's answer depends on these columns and on nothing else.

Here too is what needs no judgement: how many rows a rule concerns, and which of them lack what it needs.
"""

from collections.abc import Sequence
from datetime import datetime, time

import polars as pl
import polars.selectors as cs

from gaugebook.checks.rulebook.bounds import Bound
from gaugebook.checks.rulebook.rule import Rule

ANSWERS = {"rule": pl.String, "row": pl.Int64, "answer": pl.String}
DECIMALS = 9  # numbers are rounded, so that sums that are equal on paper are equal here


def prepared(frame: pl.DataFrame, rules: Sequence[Rule]) -> pl.DataFrame:
    """Row number, and for each rule whether it is concerned, the columns compared, and its bounds as numbers."""
    columns: dict[str, pl.Expr] = {}
    for rule in rules:
        concerned = _condition(rule)
        known = pl.all_horizontal([pl.col(name).is_not_null() for name in (rule.column, *rule.compared)])
        columns[known_column(rule)] = pl.when(concerned).then(known)
        judged = concerned & known
        for name in (rule.column, *([rule.equals] if rule.equals else [])):
            columns[copy_column(rule, name)] = pl.when(judged).then(pl.col(name))
        for answer, span in rule.spans.items():
            for sign, side in zip((-1.0, 1.0), span, strict=True):
                if side.columns:
                    columns[sum_column(rule, answer, side)] = pl.when(judged).then(_sum(rule, answer, side, sign))
    return frame.with_row_index("row").select("row", **columns).with_columns(cs.float().round(DECIMALS))


def looked_at(rows: pl.DataFrame, rules: Sequence[Rule]) -> dict[str, int]:
    """How many rows each rule concerns."""
    return {rule.id: int(rows[known_column(rule)].count()) for rule in rules}


def missing(rows: pl.DataFrame, rules: Sequence[Rule]) -> pl.DataFrame:
    """Rows without what their rule compares: not evaluated. Under a rule of presence that is for the rule to say."""
    not_evaluated = [
        rows.filter(~pl.col(known_column(rule))).select(
            pl.lit(rule.id).alias("rule"), pl.col("row").cast(pl.Int64), pl.lit("not evaluated").alias("answer")
        )
        for rule in rules
        if not rule.present
    ]
    return pl.concat(not_evaluated) if not_evaluated else pl.DataFrame(schema=ANSWERS)


def known_column(rule: Rule) -> str:
    """Name of the column that says whether all that the rule needs is there; NULL in rows that it passes over."""
    return f"{rule.id}: known"


def copy_column(rule: Rule, column: str) -> str:
    return f"{rule.id}: {column}"


def sum_column(rule: Rule, answer: str, side: Bound) -> str:
    """Name of the column that holds this bound: the sum itself, written out."""
    return f"{rule.id}: {answer}: " + " + ".join(f"{factor:g} {column or ''}".strip() for factor, column in side.terms)


def _sum(rule: Rule, answer: str, side: Bound, sign: float) -> pl.Expr:
    """The bound as a number. With the uncertainty unknown a value beyond the law's own limit is still out, and one
    within it can never be called within."""
    if not rule.u:
        return side.values()
    unknown = -sign * float("inf") if answer == "doubtful" and rule.guard != "outside" else None
    bare = side.without(rule.u).values() if unknown is None else pl.lit(unknown)
    return pl.when(pl.col(rule.u).is_null()).then(bare).otherwise(side.values())


def _condition(rule: Rule) -> pl.Expr:
    """Which rows the rule looks at."""
    parts = [pl.col(column).is_in(texts) for column, texts in rule.conditions.items()]
    parts += [pl.col(column).is_not_null() for column in rule.where_known]
    if rule.in_force_from:
        parts.append(pl.col(rule.dated) >= datetime.combine(rule.in_force_from, time()))
    if rule.in_force_until:
        parts.append(pl.col(rule.dated) < datetime.combine(rule.in_force_until, time()))
    return pl.all_horizontal(parts).fill_null(False) if parts else pl.lit(True)
