"""Rules as expectations on data frames; the only importer of great_expectations, which takes seconds to import.

Each rule becomes a few expectations of its subject's suite, all with its id in `meta` and the answer that a row gets
which fails them. Results come back in another order than the suite, so they are joined by that.

A rule looks at its own copies of the columns that it compares, NULL in the rows that are none of its business: an
expectation passes over NULL, and does so in a tenth of the time that a row condition on each would take.
"""

import warnings
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import polars as pl
import polars.selectors as cs

from checks.bounds import Bound
from checks.rulebook import Rule

with warnings.catch_warnings():  # it imports modules that Python means to drop
    warnings.simplefilter("ignore", DeprecationWarning)
    import great_expectations as gx
    from great_expectations.data_context.types.base import ProgressBarsConfig
    from great_expectations.expectations.expectation import Expectation

expect = gx.expectations

# What each failing row is told by precedence: without its value nothing else was judged.
PRECEDENCE = ("not evaluated", "out", "doubtful")
ANSWERS = {"rule": pl.String, "row": pl.Int64, "answer": pl.String}
COUNTS = {"rule": pl.String, "records": pl.Int64}
THERE = "there"  # all that the rule needs of a row is there
RESULTS = {
    "result_format": "COMPLETE",
    "unexpected_index_column_names": ["row"],
    "include_unexpected_rows": False,
    "return_unexpected_index_query": False,
}


def judge(rules: Sequence[Rule], frames: Mapping[str, pl.DataFrame]) -> tuple[pl.DataFrame, pl.DataFrame]:
    """What each rule answers for each row of its subject's frame.

    Returns
    -------
    answers : DataFrame
        rule, row, answer: every row that is not within.
    counts : DataFrame
        rule, records: how many rows each rule looked at.
    """
    context = gx.get_context(mode="ephemeral")
    context.variables.progress_bars = ProgressBarsConfig(globally=False)
    context.variables.analytics_enabled = False
    source = context.data_sources.add_pandas("book")
    answers: list[dict[str, Any]] = []
    counts: dict[str, int] = {}
    for subject in dict.fromkeys(rule.subject for rule in rules):
        suited = [rule for rule in rules if rule.subject == subject]
        judged = _judged_columns(frames[subject], suited)
        counts |= {rule.id: judged[_concerned(rule)].count() for rule in suited}
        if judged.is_empty():
            continue
        suite = gx.ExpectationSuite(name=subject, expectations=[e for rule in suited for e in _expectations(rule)])
        batch = source.add_dataframe_asset(subject).add_batch_definition_whole_dataframe("all")
        results = batch.get_batch({"dataframe": judged.to_pandas()}).validate(suite, result_format=RESULTS)
        for result in results.results:
            meta = result.expectation_config.meta  # type: ignore[union-attr]
            rule, answer = meta["rule"], meta["answer"]
            if result.exception_info.get("raised_exception"):
                raise RuntimeError(f"rule {rule}: {result.exception_info['exception_message']}")
            failed = result.result.get("unexpected_index_list") or []
            answers += [{"rule": rule, "row": int(place["row"]), "answer": answer} for place in failed]
    return _one_a_row(pl.DataFrame(answers, schema=ANSWERS)), pl.DataFrame(list(counts.items()), COUNTS, orient="row")


def _one_a_row(answers: pl.DataFrame) -> pl.DataFrame:
    order = pl.col("answer").cast(pl.Enum(PRECEDENCE))
    return answers.sort("rule", "row", order).unique(["rule", "row"], keep="first", maintain_order=True)


def _expectations(rule: Rule) -> Iterator[Expectation]:
    """The expectations that together are the rule; each names the answer of the rows that fail it."""
    value = _copy(rule, rule.column)

    def of(kind: Any, answer: str, **arguments: Any) -> Expectation:
        return kind(meta={"rule": rule.id, "answer": answer}, **arguments)

    answer_where_missing = "out" if rule.present else "not evaluated"
    yield of(expect.ExpectColumnValuesToBeInSet, answer_where_missing, column=_concerned(rule), value_set=[THERE])
    if rule.one_of:
        yield of(expect.ExpectColumnValuesToBeInSet, "out", column=value, value_set=list(rule.one_of))
    if rule.equals:
        yield of(
            expect.ExpectColumnPairValuesToBeEqual, "out",
            column_A=value, column_B=_copy(rule, rule.equals), ignore_row_if="either_value_is_missing",
        )  # fmt: skip
    for answer, (low, high) in rule.spans.items():
        least, most = _fixed(low), _fixed(high)
        if least is not None or most is not None:
            yield of(
                expect.ExpectColumnValuesToBeBetween, answer, column=value, min_value=least, max_value=most,
                strict_min=rule.below and least is not None, strict_max=rule.below and most is not None,
            )  # fmt: skip
        for side, pair in ((low, (value, _sum(rule, low))), (high, (_sum(rule, high), value))):
            if side.columns:
                yield of(
                    expect.ExpectColumnPairValuesAToBeGreaterThanB, answer, column_A=pair[0], column_B=pair[1],
                    or_equal=not rule.below, ignore_row_if="either_value_is_missing",
                )  # fmt: skip


def _judged_columns(frame: pl.DataFrame, rules: Sequence[Rule]) -> pl.DataFrame:
    """What the expectations look at: row number, and each rule's copies of what it compares.

    Numbers are rounded, so that sums that are equal on paper are equal here.
    """
    columns: dict[str, pl.Expr] = {}
    for rule in rules:
        concerned = _condition(rule)
        known = pl.all_horizontal([pl.col(name).is_not_null() for name in (rule.column, *rule.compared)])
        columns[_concerned(rule)] = pl.when(concerned).then(
            pl.when(known).then(pl.lit(THERE)).otherwise(pl.lit("missing"))
        )
        for name in rule.compared:
            columns[_copy(rule, name)] = pl.when(concerned).then(pl.col(name))
        for side in [side for span in rule.spans.values() for side in span if side.columns]:
            columns[_sum(rule, side)] = pl.when(concerned).then(side.values())
    return frame.with_row_index("row").select("row", **columns).with_columns(cs.float().round(9))


def _condition(rule: Rule) -> pl.Expr:
    """Which rows the rule looks at."""
    parts = [pl.col(column).is_in(texts) for column, texts in rule.conditions.items()]
    parts += [pl.col(column).is_not_null() for column in rule.where_known]
    return pl.all_horizontal(parts).fill_null(False) if parts else pl.lit(True)


def _fixed(side: Bound) -> float | None:
    return None if side.is_open else side.number


def _concerned(rule: Rule) -> str:
    return f"{rule.id}: concerned"


def _copy(rule: Rule, column: str) -> str:
    return f"{rule.id}: {column}"


def _sum(rule: Rule, side: Bound) -> str:
    """Name of the column that holds this bound: the sum itself, written out."""
    return f"{rule.id}: " + " + ".join(f"{factor:g} {column or ''}".strip() for factor, column in side.terms)
