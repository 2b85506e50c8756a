"""Rules as expectations on data frames; the only importer of great_expectations, which takes seconds to import.

Each rule becomes a few expectations of its subject's suite, all with its id in `meta` and the answer that a row gets
which fails them. Results come back in another order than the suite, so they are joined by that.
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
    from great_expectations.expectations import row_conditions
    from great_expectations.expectations.expectation import Expectation

expect = gx.expectations

# What each failing row is told by precedence: without its value nothing else was judged.
PRECEDENCE = ("not evaluated", "out", "doubtful")
ANSWERS = {"rule": pl.String, "row": pl.Int64, "answer": pl.String}
COUNTS = {"rule": pl.String, "records": pl.Int64}


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
    counts: dict[str, int] = {rule.id: 0 for rule in rules}
    for subject in dict.fromkeys(rule.subject for rule in rules):
        suited = [rule for rule in rules if rule.subject == subject]
        frame = _with_bounds(frames[subject], suited)
        if frame.is_empty():
            continue
        suite = gx.ExpectationSuite(name=subject, expectations=[e for rule in suited for e in _expectations(rule)])
        batch = source.add_dataframe_asset(subject).add_batch_definition_whole_dataframe("all")
        results = batch.get_batch({"dataframe": _to_pandas(frame, suited)}).validate(
            suite,
            result_format={
                "result_format": "COMPLETE",
                "unexpected_index_column_names": ["row"],
                "include_unexpected_rows": False,
                "return_unexpected_index_query": False,
            },
        )
        for result in results.results:
            meta = result.expectation_config.meta  # type: ignore[union-attr]
            rule, answer = meta["rule"], meta["answer"]
            if result.exception_info.get("raised_exception"):
                raise RuntimeError(f"rule {rule}: {result.exception_info['exception_message']}")
            counts[rule] = result.result["element_count"]
            failed = result.result.get("unexpected_index_list") or []
            answers += [{"rule": rule, "row": int(place["row"]), "answer": answer} for place in failed]
    return _one_a_row(pl.DataFrame(answers, schema=ANSWERS)), pl.DataFrame(list(counts.items()), COUNTS, orient="row")


def _one_a_row(answers: pl.DataFrame) -> pl.DataFrame:
    order = pl.col("answer").cast(pl.Enum(PRECEDENCE))
    return answers.sort("rule", "row", order).unique(["rule", "row"], keep="first", maintain_order=True)


def _expectations(rule: Rule) -> Iterator[Expectation]:
    """The expectations that together are the rule; each names the answer of the rows that fail it."""
    condition = _condition(rule)

    def of(kind: Any, answer: str, **arguments: Any) -> Expectation:
        return kind(meta={"rule": rule.id, "answer": answer}, row_condition=condition, **arguments)

    for column in rule.compared:
        yield of(expect.ExpectColumnValuesToNotBeNull, "not evaluated", column=column)
    if rule.present:
        yield of(expect.ExpectColumnValuesToNotBeNull, "out", column=rule.column)
    if rule.one_of:
        yield of(expect.ExpectColumnValuesToBeInSet, "out", column=rule.column, value_set=list(rule.one_of))
    if rule.equals:
        yield of(
            expect.ExpectColumnPairValuesToBeEqual, "out",
            column_A=rule.column, column_B=rule.equals, ignore_row_if="either_value_is_missing",
        )  # fmt: skip
    for answer, (low, high) in rule.spans.items():
        least, most = _fixed(low), _fixed(high)
        if least is not None or most is not None:
            yield of(
                expect.ExpectColumnValuesToBeBetween, answer, column=rule.column, min_value=least, max_value=most,
                strict_min=rule.below and least is not None, strict_max=rule.below and most is not None,
            )  # fmt: skip
        for side, pair in ((low, (rule.column, _column(low))), (high, (_column(high), rule.column))):
            if side.columns:
                yield of(
                    expect.ExpectColumnPairValuesAToBeGreaterThanB, answer, column_A=pair[0], column_B=pair[1],
                    or_equal=not rule.below, ignore_row_if="either_value_is_missing",
                )  # fmt: skip


def _condition(rule: Rule) -> row_conditions.Condition | None:
    """Which rows the rule looks at."""
    parts: list[row_conditions.Condition] = [
        row_conditions.Column(column).is_in(texts) for column, texts in rule.conditions.items()
    ]
    parts += [row_conditions.Column(column).is_not_null() for column in rule.where_known]
    if not parts:
        return None
    return parts[0] if len(parts) == 1 else row_conditions.AndCondition(conditions=parts)


def _fixed(side: Bound) -> float | None:
    return None if side.is_open else side.number


def _column(side: Bound) -> str:
    """Name of the column that holds this bound in the frame: the sum itself, written out."""
    return " + ".join(f"{factor:g} {column or ''}".strip() for factor, column in side.terms)


def _with_bounds(frame: pl.DataFrame, rules: Sequence[Rule]) -> pl.DataFrame:
    """The frame with its row numbers and the bounds that hang on columns."""
    sides = [side for rule in rules for span in rule.spans.values() for side in span if side.columns]
    return frame.with_row_index("row").with_columns(**{_column(side): side.values() for side in sides})


def _to_pandas(frame: pl.DataFrame, rules: Sequence[Rule]) -> Any:
    """Only the columns that the rules use, as pandas; rounded, so that sums equal on paper are equal here."""
    used = {"row"}
    for rule in rules:
        used |= {rule.column, *rule.compared, *rule.where, *rule.where_known}
        used |= {_column(side) for span in rule.spans.values() for side in span if side.columns}
    return frame.select(sorted(used)).with_columns(cs.float().round(9)).to_pandas()
