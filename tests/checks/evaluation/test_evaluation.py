"""What was judged once is not judged again, and is judged again where value or rule has changed."""

from dataclasses import replace

import polars as pl
import pytest

from gaugebook.checks.evaluation import expectations
from gaugebook.checks.evaluation.evaluation import evaluate, open_memory
from gaugebook.checks.rulebook.rule import Rule

WORDS = {"quantity": "q", "severity": "needs explanation", "reason": "A reason.", "citation": "made up",
         "to_do": "Nothing."}  # fmt: skip
RULE = Rule(id="span", subject="runs", column="value", possible=(0.0, 1.0), **WORDS)
ROWS = pl.DataFrame({"record": ["A", "B", "C"], "value": [0.5, 2.0, None]})


@pytest.fixture
def judged(monkeypatch):
    """How many rows Great Expectations was given, call by call."""
    seen = []
    failing = expectations.failing

    def counting(rules, prepared):
        seen.append(sum(len(rows) for rows in prepared.values()))
        return failing(rules, prepared)

    monkeypatch.setattr(expectations, "failing", counting)
    return seen


def answers_of(book, rules, frame):
    open_memory(book, rules)
    answers, counts = evaluate(rules, {"runs": frame}, book)
    return answers.rows(), counts.rows()


def test_a_second_check_judges_nothing_and_says_the_same(book, judged):
    """The answers come from memory, and the counts with them."""
    first = answers_of(book, [RULE], ROWS)
    again = answers_of(book, [RULE], ROWS)

    assert again == first == ([("span", 1, "out"), ("span", 2, "not evaluated")], [("span", 3)])
    assert judged == [3]


def test_only_what_is_new_is_judged(book, judged):
    """A new row and a changed one are judged; that the others moved in the frame does not matter."""
    answers_of(book, [RULE], ROWS)
    changed = pl.DataFrame({"record": ["Z", "A", "B", "C"], "value": [7.0, 0.5, 3.0, None]})

    answers, _ = answers_of(book, [RULE], changed)

    assert answers == [("span", 0, "out"), ("span", 2, "out"), ("span", 3, "not evaluated")]
    assert judged == [3, 2]


def test_rows_of_the_same_values_are_judged_once(book, judged):
    """Three records with one value: one judgement, three answers."""
    answers, _ = answers_of(book, [RULE], pl.DataFrame({"record": ["A", "B", "C"], "value": [2.0] * 3}))

    assert [row for _, row, _ in answers] == [0, 1, 2]
    assert judged == [1]


def test_a_changed_rule_forgets_what_was_judged_by_it(book, judged):
    """Under new limits every row is judged anew, and nothing of the old ones is kept."""
    answers_of(book, [RULE], ROWS)

    answers, _ = answers_of(book, [replace(RULE, possible=(0.0, 5.0))], ROWS)

    assert answers == [("span", 2, "not evaluated")]
    assert judged == [3, 3]
    assert book.value("SELECT count(DISTINCT suite) FROM eval_cache.rows") == 1


def test_a_missing_value_is_told_without_judging(book, judged):
    """NULL beside a value of 0 is not the same row."""
    answers_of(book, [RULE], ROWS.with_columns(value=pl.Series([0.0, 0.0, 0.0])))

    answers, _ = answers_of(book, [RULE], ROWS.with_columns(value=pl.Series([0.0, None, -0.0])))

    assert answers == [("span", 1, "not evaluated")]
