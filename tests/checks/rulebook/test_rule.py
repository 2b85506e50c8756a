"""A rule as it is in force: what it compares, in what words, and how grave each answer is."""

import pytest

from gaugebook.checks.rulebook.rule import Rule

WORDS = {"quantity": "q", "severity": "stops release", "reason": "A reason.", "citation": "made up", "to_do": "No."}
INF = float("inf")


def rule(**more):
    return Rule(**{"id": "r", "subject": "runs", "column": "value", **WORDS} | more)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"present": True}, "on record"),
        ({"one_of": ("oak", "acacia")}, "oak or acacia"),
        ({"equals": "label_strength"}, "equal to label strength"),
        ({"possible": (0.93, 1.0)}, "possible 0.93 to 1.0"),
        ({"possible": (-INF, "most + 2 u")}, "possible most + 2 u or less"),
        ({"possible": (3, INF)}, "possible 3 or more"),
        ({"possible": (0, 9), "in_range": (1, 2)}, "possible 0 to 9; in range 1 to 2"),
        ({"in_range": (1, 2)}, "in range 1 to 2"),
        ({"law": (40.0, INF), "u": "u"}, "the law's 40.0 or more; 2 u as guard band, on both sides of the limit"),
        ({"law": (40.0, INF), "u": "u", "guard": "inside", "coverage": 1.5},
         "the law's 40.0 or more; 1.5 u as guard band, inside the limit"),
        ({"law": (40.0, INF), "u": "u", "guard": "outside"},
         "the law's 40.0 or more; 2 u as guard band, beyond the limit"),
        ({"law": (40.0, INF), "u": "u", "coverage": 0}, "the law's 40.0 or more; no guard band"),
    ],
)  # fmt: skip
def test_what_a_value_is_compared_with(more, words):
    """As the rule book writes it."""
    assert rule(**more).with_what == words


@pytest.mark.parametrize(
    ("guard", "out", "doubtful"),
    [
        ("both", ((40.0, -2.0), (60.0, 2.0)), ((40.0, 2.0), (60.0, -2.0))),
        ("inside", ((40.0,), (60.0,)), ((40.0, 2.0), (60.0, -2.0))),
        ("outside", ((40.0, -2.0), (60.0, 2.0)), ((40.0,), (60.0,))),
    ],
)
def test_guard_bands_of_a_law(guard, out, doubtful):
    """Twice u on the side that the guard names; without coverage the limit alone, an open side stays open."""
    spans = rule(law=(40.0, 60.0), u="u", guard=guard).spans

    def factors(answer):
        return tuple(tuple(factor for factor, _ in side.terms) for side in spans[answer])

    assert (factors("out"), factors("doubtful")) == (out, doubtful)
    assert list(rule(law=(40.0, 60.0), u="u", guard=guard, coverage=0.0).spans) == ["out"]
    assert rule(law=(40.0, INF), u="u", guard=guard).spans["out"][1].is_open


def test_what_a_rule_needs_of_a_row():
    """Its value, what it should equal and what its bounds are made of, but not the uncertainty of a law's limit; of a
    rule of presence nothing."""
    assert rule(possible=(0.0, "most - 2 u_most"), in_range=("least", 1.0)).compared == (
        "value",
        "most",
        "u_most",
        "least",
    )
    assert rule(equals="other").compared == ("value", "other")
    assert rule(law=(0.0, "most"), u="u_value").compared == ("value", "most")
    assert rule(present=True, possible=(0.0, "most")).compared == ()


def test_conditions_are_lists():
    """One text or several."""
    assert rule(where={"stage": "strip", "kind": ["a", "b"]}).conditions == {"stage": ["strip"], "kind": ["a", "b"]}


def test_how_grave_an_answer_is():
    """A reading that somebody requires is as grave where it is missing as where it fails."""
    plain, required = rule(), rule(required_by="law")

    assert [plain.severity_of(answer) for answer in ("out", "doubtful", "not evaluated")] == [
        "stops release", "needs explanation", "for information",
    ]  # fmt: skip
    assert required.severity_of("not evaluated") == "stops release"
