"""A flag on the screen: what was compared, what it was read from, what happened to it, and what was left out."""

from datetime import datetime

import pytest

from gaugebook.checks.flags.explanation_view import print_explanation

RULE = {
    "with_what": "most 10", "reason": "A reason.", "citation": "made up", "computation": "as read", "causes": "a leak",
    "to_do": "Look.",
}  # fmt: skip
EVENT = {
    "happened_at": datetime(2031, 2, 3, 4, 5), "happened": "explained", "person": "AQ", "role": "distiller",
    "reason": "A leak.", "attachment": "leak.jpg", "attachment_sha256": "0123456789abcdef", "value": "12.5",
}  # fmt: skip
NOBODY = EVENT | {"happened": "found", "person": None, "reason": None, "attachment": None, "value": None}


@pytest.fixture
def shown(capsys, monkeypatch):
    """What is printed of a flag with so many inputs, on a screen that is wide enough."""
    monkeypatch.setenv("COLUMNS", "160")

    def of(inputs, **more):
        told = {
            "flag": {"flag": "F-1", "rule": "lot-closes", "severity": "stops release", "message": "Lot [A] is short."},
            "rule": RULE, "numbers": {"value": 0.123456789, "limit": None},
            "inputs": [{"place": f"a.csv:{n}", "what": f"gauge {n}"} for n in range(1, inputs + 1)], "history": [],
        }  # fmt: skip
        print_explanation(told | more, places=3)
        return capsys.readouterr().out

    return of


def test_the_flag_and_its_rule_are_told_in_full(shown):
    """Name, rule, severity and sentence as they are; each word of the rule by its heading; numbers to six digits."""
    lines = [line.split() for line in shown(0).splitlines()]

    assert lines[:2] == [["F-1", "lot-closes,", "stops", "release"], ["Lot", "[A]", "is", "short."]]
    assert [" ".join(line) for line in lines[2:]] == [
        "Compared most 10", "Why A reason.", "Source made up", "Computed as read", "Usual causes a leak", "To do Look.",
        "value 0.123457", "limit not known",
    ]  # fmt: skip


@pytest.mark.parametrize(("inputs", "printed", "left"), [(2, 2, None), (3, 3, None), (5, 3, "and 2 more;")])
def test_of_many_inputs_the_first_are_shown_and_the_rest_counted(shown, inputs, printed, left):
    """Three are asked for; of five the fourth and the fifth are counted."""
    text = shown(inputs)

    assert "Read from" in text
    assert [f"gauge {n}" in text for n in range(1, inputs + 1)] == [n <= printed for n in range(1, inputs + 1)]
    assert ("more; --json" in text) == (left is not None)
    assert left is None or left in text


def test_what_happened_is_told_with_who_and_why(shown):
    """Person, role, reason, attachment and value stand where there are any, and nothing in their place else."""
    text = shown(0, history=[NOBODY, EVENT])

    assert "Read from" not in text
    assert "explained by AQ (distiller): A leak. [attached leak.jpg, 0123456789ab], value 12.5" in text
    assert text.count("2031-02-03 04:05") == 2
    assert next(line for line in text.splitlines() if "found" in line).replace("│", " ").split()[-1] == "found"
