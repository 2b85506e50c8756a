"""Guard bands against the rule of JCGM 106 worked out by hand: within only where value ± 2u lies inside the limit."""

import numpy as np
import polars as pl
import pytest

from gaugebook.checks.evaluation.evaluation import evaluate
from gaugebook.checks.rulebook.rule import Rule

INF = float("inf")
WORDS = {"quantity": "q", "severity": "stops release", "reason": "A reason.", "citation": "made up",
         "to_do": "Nothing."}  # fmt: skip


def by_hand(value, low, high, u, guard):
    """What a value with a standard uncertainty is, beside a limit of law."""
    reach = 2 * u
    inside = low <= value - reach and value + reach <= high
    beyond = value + reach < low or value - reach > high
    conforms = low <= value <= high
    if guard == "inside":
        return "within" if inside else "doubtful" if conforms else "out"
    if guard == "outside":
        return "within" if conforms else "out" if beyond else "doubtful"
    return "within" if inside else "out" if beyond else "doubtful"


@pytest.mark.parametrize("guard", ["inside", "outside", "both"])
@pytest.mark.parametrize(("low", "high"), [(-INF, 10.0), (10.0, INF), (-3.0, 3.0)])
def test_each_value_falls_where_it_does_by_hand(guard, low, high):
    """Four hundred values and uncertainties about the limit (seeded), none of which touches it exactly."""
    rng = np.random.default_rng(106)
    values, u = rng.integers(-150, 150, 400) / 10 + 0.05, rng.integers(0, 20, 400) / 10
    rule = Rule(id="r", subject="s", column="value", law=(low, high), u="u_value", guard=guard, **WORDS)

    answers, _ = evaluate([rule], {"s": pl.DataFrame({"value": values, "u_value": u})})

    given = dict(answers.select("row", "answer").rows())
    expected = [by_hand(v, low, high, w, guard) for v, w in zip(values, u, strict=True)]
    assert set(expected) == {"within", "out", "doubtful"}
    assert [given.get(n, "within") for n in range(400)] == expected


@pytest.mark.parametrize(
    ("guard", "value", "answer"),
    # limit 10 or less, u = 0.5: the edges themselves
    [
        ("inside", 9.0, "within"), ("inside", 9.1, "doubtful"), ("inside", 10.0, "doubtful"), ("inside", 10.1, "out"),
        ("outside", 10.0, "within"), ("outside", 10.1, "doubtful"), ("outside", 11.0, "doubtful"),
        ("outside", 11.1, "out"), ("both", 9.0, "within"), ("both", 11.0, "doubtful"), ("both", 11.1, "out"),
    ],
)  # fmt: skip
def test_edges_belong_inside(guard, value, answer):
    """A value whose reach just touches the limit is on the better side of it."""
    rule = Rule(id="r", subject="s", column="value", law=(-INF, 10.0), u="u_value", guard=guard, **WORDS)

    answers, _ = evaluate([rule], {"s": pl.DataFrame({"value": [value], "u_value": [0.5]})})

    assert answers["answer"].to_list() == ([] if answer == "within" else [answer])


def test_without_coverage_the_limit_itself_decides():
    """Simple acceptance (JCGM 106, 8.2): coverage 0, no guard band and no uncertainty needed."""
    rule = Rule(id="r", subject="s", column="value", law=(-INF, 10.0), u="u_value", coverage=0.0, **WORDS)
    rows = pl.DataFrame({"value": [9.9, 10.0, 10.1], "u_value": [5.0, None, None]})

    answers, _ = evaluate([rule], {"s": rows})

    assert answers.rows() == [("r", 2, "out")]
