"""Rules as expectations on data frames; the only importer of great_expectations, which takes seconds to import.

Each rule becomes one expectation of its subject's suite, or one for each bound where it has several, with its id in
`meta` and the answer that a row gets which fails it. Results are joined by that, not by their order.

Every expectation is first asked only whether it holds, which is quick; of those that do not, which rows fail them. A
rule that concerns none of the rows has none that could fail it, and is not asked: of a few new rows most rules are so.
"""

import warnings
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import polars as pl

from gaugebook.checks.evaluation.lazy_import import put_off
from gaugebook.checks.evaluation.prepared import ANSWERS, copy_column, known_column, sum_column
from gaugebook.checks.rulebook.bounds import Bound
from gaugebook.checks.rulebook.rule import Rule

with put_off("scipy.stats"), warnings.catch_warnings():  # it imports modules that Python means to drop
    warnings.simplefilter("ignore", DeprecationWarning)
    import great_expectations as gx
    from great_expectations.data_context.types.base import ProgressBarsConfig
    from great_expectations.expectations.expectation import Expectation

expect = gx.expectations

WHETHER = "BOOLEAN_ONLY"
WHICH_ROWS = {
    "result_format": "COMPLETE",
    "unexpected_index_column_names": ["row"],
    "include_unexpected_rows": False,
    "return_unexpected_index_query": False,
}


def failing(rules: Sequence[Rule], prepared: Mapping[str, pl.DataFrame]) -> pl.DataFrame:
    """Which rows fail which rule.

    Parameters
    ----------
    rules : sequence of Rule
        The rule book.
    prepared : mapping
        Subject -> its rows as `checks.evaluation.prepared.prepared` makes them, numbered in the column row.

    Returns
    -------
    DataFrame
        rule, row, answer (out or doubtful); a row may stand there with both.
    """
    context = gx.get_context(mode="ephemeral")
    context.variables.progress_bars = ProgressBarsConfig(globally=False)
    context.variables.analytics_enabled = False
    definition = (
        context.data_sources.add_pandas("book").add_dataframe_asset("rows").add_batch_definition_whole_dataframe("all")
    )
    answers: list[dict[str, Any]] = []
    for subject, rows in prepared.items():
        concerned = [rule for rule in rules if rule.subject == subject and rows[known_column(rule)].count()]
        asked = [expectation for rule in concerned for expectation in _expectations(rule)]
        suited = {str(number): expectation for number, expectation in enumerate(asked)}
        if not suited:
            continue
        batch = definition.get_batch({"dataframe": rows.to_pandas()})
        failed = [number for number, result in _results(batch, subject, suited, WHETHER) if not result.success]
        for _, result in _results(batch, subject, {number: suited[number] for number in failed}, WHICH_ROWS):
            meta = result.expectation_config.meta
            answers += [
                {"rule": meta["rule"], "row": int(place["row"]), "answer": meta["answer"]}
                for place in result.result["unexpected_index_list"]
            ]
    return pl.DataFrame(answers, schema=ANSWERS)


def _results(
    batch: Any, subject: str, expectations: Mapping[str, Expectation], result_format: Any
) -> Iterator[tuple[str, Any]]:
    """Each expectation's number and result; results come back in an order of their own."""
    if not expectations:
        return
    for number, expectation in expectations.items():
        expectation.meta = {**(expectation.meta or {}), "number": number}
    suite = gx.ExpectationSuite(name=subject, expectations=list(expectations.values()))
    for result in batch.validate(suite, result_format=result_format).results:
        meta = result.expectation_config.meta
        if result.exception_info.get("raised_exception"):
            raise RuntimeError(f"rule {meta['rule']}: {result.exception_info['exception_message']}")
        yield meta["number"], result


def _expectations(rule: Rule) -> Iterator[Expectation]:
    """The expectations that together are the rule; each names the answer of the rows that fail it."""
    value = copy_column(rule, rule.column)

    def of(kind: Any, answer: str, **arguments: Any) -> Expectation:
        return kind(meta={"rule": rule.id, "answer": answer}, **arguments)

    if rule.present:
        yield of(expect.ExpectColumnValuesToBeInSet, "out", column=known_column(rule), value_set=[True])
    if rule.one_of:
        yield of(expect.ExpectColumnValuesToBeInSet, "out", column=value, value_set=list(rule.one_of))
    if rule.equals:
        yield of(
            expect.ExpectColumnPairValuesToBeEqual, "out",
            column_A=value, column_B=copy_column(rule, rule.equals), ignore_row_if="either_value_is_missing",
        )  # fmt: skip
    for answer, (low, high) in rule.spans.items():
        least, most = _fixed(low), _fixed(high)
        if least is not None or most is not None:
            yield of(
                expect.ExpectColumnValuesToBeBetween, answer, column=value, min_value=least, max_value=most,
                strict_min=rule.below and least is not None, strict_max=rule.below and most is not None,
            )  # fmt: skip
        for side, is_low in ((low, True), (high, False)):
            if side.columns:
                pair = (value, sum_column(rule, answer, side))
                yield of(
                    expect.ExpectColumnPairValuesAToBeGreaterThanB, answer,
                    column_A=pair[0 if is_low else 1], column_B=pair[1 if is_low else 0],
                    or_equal=not rule.below, ignore_row_if="either_value_is_missing",
                )  # fmt: skip


def _fixed(side: Bound) -> float | None:
    return None if side.is_open else side.number
