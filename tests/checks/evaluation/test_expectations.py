"""From rules to answers: each row one answer, a missing value never within, and the counts add up."""

from datetime import date, datetime

import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gaugebook.checks.evaluation.evaluation import evaluate
from gaugebook.checks.rulebook.rule import Rule
from gaugebook.checks.run import rule_counts

WORDS = {
    "quantity": "q",
    "severity": "needs explanation",
    "reason": "A reason.",
    "citation": "made up",
    "to_do": "Nothing.",
}
SPAN = Rule(id="span", subject="runs", column="value", possible=(0.0, "most"), in_range=(0.2, 0.8), **WORDS)


def answers_of(rules: list[Rule], frame: pl.DataFrame) -> dict[tuple[str, int], str]:
    answers, _ = evaluate(rules, {"runs": frame})
    return {(rule, row): answer for rule, row, answer in answers.rows()}


def test_the_graver_answer_of_two_spans_counts():
    """A value outside both spans is out, not doubtful; one outside the inner span alone is doubtful."""
    frame = pl.DataFrame({"value": [0.5, 0.9, 1.5, -0.1], "most": [1.0] * 4})

    assert answers_of([SPAN], frame) == {("span", 1): "doubtful", ("span", 2): "out", ("span", 3): "out"}


def test_a_missing_limit_is_not_evaluated():
    """Without the limit of one span nothing is said, even of a value that the other span would call doubtful."""
    frame = pl.DataFrame({"value": [0.9], "most": [None]}, schema={"value": pl.Float64, "most": pl.Float64})

    assert answers_of([SPAN], frame) == {("span", 0): "not evaluated"}


def test_a_rule_of_presence_is_asked_where_every_row_lacks_its_value():
    """Rows that it concerns and that lack what it asks for are out, also where there are no others."""
    present = Rule(id="present", subject="runs", column="value", present=True, **WORDS)
    frame = pl.DataFrame({"value": [None, None], "most": [1.0, 1.0]}, schema_overrides={"value": pl.Float64})

    assert answers_of([present], frame) == {("present", 0): "out", ("present", 1): "out"}


def test_each_rule_answers_for_itself():
    """Rules of one subject share a suite, and their answers are told apart by the rule's id."""
    words = Rule(id="words", subject="runs", column="text", one_of=("a", "b"), **WORDS)
    frame = pl.DataFrame({"value": [0.5, 2.0], "most": [1.0, 1.0], "text": ["c", None]})

    assert answers_of([words, SPAN], frame) == {
        ("words", 0): "out", ("words", 1): "not evaluated", ("span", 1): "out",
    }  # fmt: skip


def test_bounds_that_are_equal_on_paper_are_equal():
    """40.1 - 39.8 is 0.3 to a reader, though not to binary arithmetic."""
    rule = Rule(id="r", subject="runs", column="value", possible=(-0.3, 0.3), **WORDS)

    assert answers_of([rule], pl.DataFrame({"value": [40.1 - 39.8]})) == {}


@pytest.mark.parametrize(
    ("span", "below", "out"),
    [
        ((0.2, 0.8), False, [0, 4]), ((0.2, 0.8), True, [0, 1, 3, 4]), ((0.2, float("inf")), False, [0]),
        ((0.2, float("inf")), True, [0, 1]), ((float("-inf"), 0.8), False, [4]), ((float("-inf"), 0.8), True, [3, 4]),
    ],
)  # fmt: skip
def test_a_bound_is_within_unless_the_law_says_less_or_more_than_it(span, below, out):
    """On each side that has one."""
    rule = Rule(id="r", subject="runs", column="value", possible=span, below=below, **WORDS)

    answers = answers_of([rule], pl.DataFrame({"value": [0.1, 0.2, 0.5, 0.8, 0.9]}))

    assert answers == {("r", row): "out" for row in out}


@pytest.mark.parametrize(("value", "expected"), [(85.9, {}), (86.0, {("r", 0): "out"})])
def test_a_bound_may_itself_be_outside(value, expected):
    """Less than 86 does not mean 86."""
    rule = Rule(id="r", subject="runs", column="value", possible=(float("-inf"), 86.0), below=True, **WORDS)

    assert answers_of([rule], pl.DataFrame({"value": [value]})) == expected


def test_a_subject_without_rows_is_counted_as_nothing():
    """A rule that found no record says 0, and does not fail."""
    frame = pl.DataFrame(schema={"value": pl.Float64, "most": pl.Float64})

    answers, counts = evaluate([SPAN], {"runs": frame})

    assert answers.is_empty()
    assert counts.rows() == [("span", 0)]


def test_a_rule_whose_rows_are_all_passed_over_is_counted_as_nothing():
    """Rows that a rule does not look at are not within; they are not its records."""
    rule = Rule(id="r", subject="runs", column="value", where={"text": "a"}, possible=(0.0, 1.0), **WORDS)

    answers, counts = evaluate([rule], {"runs": pl.DataFrame({"value": [5.0, None], "text": ["b", None]})})

    assert answers.is_empty()
    assert counts.rows() == [("r", 0)]


def test_a_rule_looks_at_the_rows_of_its_time():
    """In force from the first date, included, to before the second; a row without a date is none of its business."""
    rule = Rule(id="r", subject="runs", column="value", possible=(0.0, 1.0), in_force_from=date(2025, 1, 10),
                in_force_until=date(2026, 1, 1), dated="at", **WORDS)  # fmt: skip
    times = [datetime(2025, 1, 9, 23), datetime(2025, 1, 10), datetime(2025, 12, 31, 23), datetime(2026, 1, 1), None]
    frame = pl.DataFrame({"value": [5.0] * 5, "at": times})

    answers, counts = evaluate([rule], {"runs": frame})

    assert answers["row"].to_list() == [1, 2]
    assert counts.rows() == [("r", 2)]


values = st.none() | st.floats(-2, 2)


@settings(max_examples=15, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.tuples(values, values), min_size=1, max_size=12))
def test_counts_add_up_and_nothing_missing_is_within(rows):
    """Records = within + doubtful + out + not evaluated, and the not evaluated are just the rows with a gap."""
    frame = pl.DataFrame(rows, schema={"value": pl.Float64, "most": pl.Float64}, orient="row")
    answers, looked_at = evaluate([SPAN], {"runs": frame})

    counts = rule_counts((SPAN,), answers, looked_at).row(0, named=True)

    assert counts["records"] == len(rows)
    assert counts["records"] == sum(counts[name] for name in ("within", "doubtful", "out", "not_evaluated"))
    assert counts["not_evaluated"] == sum(None in row for row in rows)
