"""What a rule looks at, row by row: which rows concern it, which lack what it needs, the numbers that it compares."""

from datetime import date, datetime

import polars as pl
import pytest

from gaugebook.checks.evaluation.prepared import copy_column, known_column, looked_at, missing, prepared, sum_column
from gaugebook.checks.rulebook.bounds import bound
from gaugebook.checks.rulebook.rule import Rule

WORDS = {"quantity": "q", "severity": "needs explanation", "reason": "A reason.", "citation": "made up", "to_do": "No."}


def rule(**more):
    return Rule(**{"id": "r", "subject": "runs", "column": "value", **WORDS} | more)


def rows_of(own_rule, **columns):
    """The prepared rows of a rule, as dicts."""
    return prepared(pl.DataFrame(columns), [own_rule]).to_dicts()


def known(own_rule, **columns):
    return [row["r: known"] for row in rows_of(own_rule, **columns)]


def test_a_rule_has_its_own_copy_of_what_it_compares():
    """Value, what it should equal, and bounds that are sums; a bound that is a number needs no column."""
    own_rule = rule(possible=(0.0, "most - 2 u"), in_range=("least", 7.0), equals="other")
    (row,) = rows_of(own_rule, value=[1.0], other=[2.0], most=[10.0], u=[0.5], least=[3.0], unused=[1.0])

    assert row == {
        "row": 0, "r: known": True, "r: value": 1.0, "r: other": 2.0, "r: out: 1 most + -2 u": 9.0,
        "r: doubtful: 1 least": 3.0,
    }  # fmt: skip
    assert sum_column(own_rule, "out", bound("most - 2 u + 1")) == "r: out: 1 most + -2 u + 1"
    assert (known_column(own_rule), copy_column(own_rule, "value")) == ("r: known", "r: value")


def test_numbers_that_are_equal_on_paper_are_equal():
    """Nine decimals."""
    (row,) = rows_of(rule(possible=("a + b", 1.0)), value=[0.1 + 0.2], a=[0.7], b=[0.1])

    assert (row["r: value"], row["r: out: 1 a + 1 b"]) == (0.3, 0.8)


@pytest.mark.parametrize(
    ("more", "concerned"),
    [
        ({}, [True, True, True]),
        ({"where": {"kind": "x"}}, [True, None, None]),
        ({"where": {"kind": ["x", "y"]}}, [True, True, None]),
        ({"where_known": ("place",)}, [None, True, None]),
        ({"where": {"kind": ["x", "y"]}, "where_known": ("place",)}, [None, True, None]),
    ],
)
def test_rows_that_are_none_of_its_business_are_passed_over(more, concerned):
    """Those of another kind or of none, and those that lack what they must have to be looked at."""
    own_rule = rule(possible=(0.0, 1.0), **more)
    columns = {"value": [0.5, 0.5, 0.5], "kind": ["x", "y", None], "place": [None, "T1", None]}

    assert known(own_rule, **columns) == concerned
    frame = prepared(pl.DataFrame(columns), [own_rule])
    assert looked_at(frame, [own_rule]) == {"r": sum(answer is not None for answer in concerned)}
    assert [row["r: value"] for row in frame.to_dicts()] == [0.5 if answer else None for answer in concerned]


@pytest.mark.parametrize(
    ("span", "concerned"),
    [
        ((date(2025, 1, 1), None), [None, True, True, True, None]),
        ((None, date(2026, 1, 1)), [True, True, True, None, None]),
        ((date(2025, 1, 1), date(2026, 1, 1)), [None, True, True, None, None]),
    ],
)
def test_a_rule_is_in_force_from_its_first_day_to_before_its_last(span, concerned):
    """Rows without the date are passed over."""
    days = [datetime(2024, 12, 31, 23), datetime(2025, 1, 1), datetime(2025, 12, 31, 23), datetime(2026, 1, 1), None]
    own_rule = rule(possible=(0.0, 1.0), in_force_from=span[0], in_force_until=span[1], dated="on")

    assert known(own_rule, value=[0.5] * 5, on=days) == concerned


def test_a_row_without_what_the_rule_compares_is_not_evaluated():
    """The value, or a bound; a rule of presence says so itself, and an uncertainty may be missing."""
    by_bound = rule(possible=(0.0, "most"))
    by_presence = rule(id="p", present=True)
    by_law = rule(id="l", law=(0.0, 1.0), u="u")
    rules = [by_bound, by_presence, by_law]
    frame = prepared(
        pl.DataFrame(
            {"value": [1.0, None, 1.0], "most": [None, 2.0, 2.0], "u": [None, 0.1, None]},
            schema_overrides={"u": pl.Float64},
        ),
        rules,
    )

    assert missing(frame, rules).rows() == [
        ("r", 0, "not evaluated"), ("r", 1, "not evaluated"), ("l", 1, "not evaluated"),
    ]  # fmt: skip
    assert missing(frame, [by_presence]).rows() == []
    assert missing(frame, [by_presence]).columns == ["rule", "row", "answer"]
    assert missing(frame, []).schema == {"rule": pl.String, "row": pl.Int64, "answer": pl.String}


@pytest.mark.parametrize(
    ("guard", "out", "doubtful"),
    [
        # with u known: 40 and 60 less and plus 2 u; without it the law's own limits decide what is out, and nothing is
        # within, unless the law puts the method's uncertainty on top and has no inner band
        ("both", [(39.0, 61.0), (40.0, 60.0)], [(41.0, 59.0), (float("inf"), float("-inf"))]),
        ("inside", [(None, None), (None, None)], [(41.0, 59.0), (float("inf"), float("-inf"))]),
        ("outside", [(39.0, 61.0), (40.0, 60.0)], [(None, None), (None, None)]),
    ],
)
def test_without_an_uncertainty_a_value_may_be_out_and_never_within(guard, out, doubtful):
    """Of a law's span with guard bands of 2 x 0.5."""
    rows = rows_of(rule(law=(40.0, 60.0), u="u", guard=guard), value=[50.0, 50.0], u=[0.5, None])

    def bounds(row, answer):
        return tuple(row.get(f"r: {answer}: {edge}") for edge in names[answer])

    names = {"out": ("40 + -2 u", "60 + 2 u"), "doubtful": ("40 + 2 u", "60 + -2 u")}
    assert [bounds(row, "out") for row in rows] == out
    assert [bounds(row, "doubtful") for row in rows] == doubtful
    assert [row["r: known"] for row in rows] == [True, True]
