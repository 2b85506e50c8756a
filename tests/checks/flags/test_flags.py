"""Flags in words: value, limits and sentence as a reader sees them."""

import pytest

from gaugebook.checks.flags import flags
from gaugebook.checks.flags.flags import COLUMNS, flag, flag_name
from gaugebook.checks.rulebook.rule import Rule

WORDS = {"severity": "stops release", "reason": "A reason.", "citation": "made up", "to_do": "Nothing."}
PLACE = {
    "record": "lot A-1", "run": None, "lot": "A-1", "batch": None, "equipment": None, "note": None,
    "source_id": 3, "line": 7,
}  # fmt: skip


def rule(**more) -> Rule:
    return Rule(id="r", subject="lots", **({"column": "value", "quantity": "strength", "unit": "% vol"} | WORDS | more))


@pytest.mark.parametrize(
    ("more", "row", "answer", "value", "limits", "message"),
    [
        ({"possible": (37.5, float("inf")), "decimals": 1}, {"value": 37.0}, "out", "37.0", "37.5 or more",
         "Lot A-1: strength is 37.0 % vol; allowed is 37.5 or more."),
        ({"possible": (float("-inf"), "most + 2 u_value"), "decimals": 1},
         {"value": 13.04, "most": 10.0, "u_value": 1.0}, "out", "13.0", "10.0 or less",
         "Lot A-1: strength is 13.0 % vol; allowed is 10.0 or less, with 2.0 allowed for uncertainty."),
        # one limit: that of the rule, which its citation names too; what uncertainty excuses stands beside it
        ({"in_range": ("0.915 - 3 u_value", float("inf")), "decimals": 3},
         {"value": 0.88, "u_value": 0.0066}, "doubtful", "0.880", "0.915 or more",
         "Lot A-1: strength is 0.880 % vol; in range is 0.915 or more, with 0.020 allowed for uncertainty."),
        ({"in_range": ("-3 u_value", "0.03 + 3 u_value")}, {"value": -0.09, "u_value": 0.02}, "doubtful", "-0.09",
         "0.00 to 0.03",
         "Lot A-1: strength is -0.09 % vol; in range is 0.00 to 0.03, with 0.06 allowed for uncertainty."),
        ({"possible": (0.0, "1.0 + 3 u_value")}, {"value": -0.09, "u_value": 0.02}, "out", "-0.09",
         "0.00 to 1.00", "Lot A-1: strength is -0.09 % vol; allowed is 0.00 to 1.00."),
        # where uncertainty alone is the limit, that is what is named
        ({"in_range": ("-3 u_value", "3 u_value")}, {"value": 0.09, "u_value": 0.02}, "doubtful", "0.09",
         "-0.06 to 0.06", "Lot A-1: strength is 0.09 % vol; in range is -0.06 to 0.06."),
        ({"possible": (0.0, 1.1), "in_range": (0.93, 1.0)}, {"value": 0.9}, "doubtful", "0.90", "0.93 to 1.00",
         "Lot A-1: strength is 0.90 % vol; in range is 0.93 to 1.00."),
        ({"possible": (float("-inf"), 86.0), "below": True, "decimals": 1}, {"value": 90.0}, "out", "90.0",
         "less than 86.0", "Lot A-1: strength is 90.0 % vol; allowed is less than 86.0."),
        # rounded alike, value and limit get the digits that tell them apart
        ({"possible": (37.5, float("inf")), "decimals": 1}, {"value": 37.48}, "out", "37.48", "37.50 or more",
         "Lot A-1: strength is 37.48 % vol; allowed is 37.50 or more."),
        ({"one_of": ("received", "produced"), "unit": ""}, {"value": "unknown"}, "out", "unknown",
         "received or produced", "Lot A-1: strength is unknown; expected received or produced."),
        ({"equals": "wanted", "unit": ""}, {"value": "dried", "wanted": "fresh"}, "out", "dried", "fresh",
         "Lot A-1: strength is dried; expected fresh."),
        ({"present": True}, {"value": None}, "out", None, "on record", "Lot A-1: strength is missing."),
        ({"present": True, "shows": "operator"}, {"value": None, "operator": "ZZ"}, "out", "ZZ", "on record",
         "Lot A-1: strength is missing (found ZZ)."),
        ({"present": True, "shows": "nominal_ml", "unit": "mL", "decimals": 0, "quantity": "listed size equal to it"},
         {"value": None, "nominal_ml": 650.0}, "out", "650", "on record",
         "Lot A-1: listed size equal to it is missing (found 650 mL)."),
        ({"possible": (0.0, "most_l")}, {"value": None, "most_l": None}, "not evaluated", None, None,
         "Lot A-1: strength could not be judged, since value and most are not known."),
    ],
)  # fmt: skip
def test_a_flag_says_what_it_means(more, row, answer, value, limits, message):
    """Record, value and limit stand in one sentence; where nothing was judged the sentence says what is missing."""
    made = flag(rule(**more), PLACE | row, answer)

    assert (made["value"], made["limits"], made["message"]) == (value, limits, message)


@pytest.mark.parametrize(
    ("u", "answer", "said"),
    [
        (0.1, "doubtful",
         "the law allows 37.5 or more, and its uncertainty of ±0.20 reaches across that limit, so it is not settled"),
        (None, "doubtful", "the law allows 37.5 or more, and with its uncertainty not known it is not settled"),
        (0.1, "out", "the law allows 37.5 or more"),
    ],
)  # fmt: skip
def test_a_limit_of_law_that_the_uncertainty_straddles_says_so(u, answer, said):
    """JCGM 106: twice the standard uncertainty either way of the value, beside the law's own limit."""
    law = rule(law=(37.5, float("inf")), u="u_value", decimals=1)

    made = flag(law, PLACE | {"value": 37.4, "u_value": u}, answer)

    assert made["message"] == f"Lot A-1: strength is 37.4 % vol; {said}."
    assert made["limits"] == "37.5 or more"


def test_the_note_of_a_record_stands_in_the_sentence():
    """What the subject has to say besides is put in brackets."""
    made = flag(rule(possible=(0.0, 1.0)), PLACE | {"value": 2.0, "note": "with run B"}, "out")

    assert made["message"] == "Lot A-1: strength is 2.00 % vol; allowed is 0.00 to 1.00 (with run B)."


def test_a_flag_has_the_columns_of_its_table():
    """Every column of flagged.flags but the name is made, and place and severity come through."""
    made = flag(rule(possible=(0.0, 1.0)), PLACE | {"value": 2.0}, "out")

    assert set(made) | {"flag"} == set(COLUMNS)
    assert (made["lot"], made["source_id"], made["line"], made["severity"]) == ("A-1", 3, 7, "stops release")


@pytest.mark.parametrize(
    ("answer", "severity"),
    [("out", "stops release"), ("doubtful", "needs explanation"), ("not evaluated", "for information")],
)
def test_each_answer_has_its_severity(answer, severity):
    """What is out weighs as the rule says; what is doubtful needs explaining; what was not judged is told."""
    made = flag(rule(possible=(0.0, 5.0), in_range=(0.0, 1.0)), PLACE | {"value": 2.0}, answer)

    assert made["severity"] == severity


@pytest.mark.parametrize(
    ("required_by", "severity", "said"),
    [
        ("", "for information", "since value is not known."),
        ("law", "stops release", "since value is not known; the law requires it."),
        ("profile", "stops release", "since value is not known; the house profile requires it."),
    ],
)
def test_a_missing_reading_that_is_required_is_as_grave_as_its_rule(required_by, severity, said):
    """Whoever requires the reading is named, and the flag weighs what the rule weighs."""
    made = flag(rule(possible=(0.0, 5.0), required_by=required_by), PLACE | {"value": None}, "not evaluated")

    assert made["severity"] == severity
    assert made["message"] == f"Lot A-1: strength could not be judged, {said}"


def test_names_stay_and_tell_records_apart():
    """The same rule and record give the same name; another record, or a second one so described, another."""
    names = [flag_name("r", "lot A"), flag_name("r", "lot A"), flag_name("r", "lot A", 2), flag_name("r", "lot B")]

    assert names[0] == names[1]
    assert len(set(names)) == 3


def test_value_and_limit_are_told_apart_whatever_the_limit_is_called(monkeypatch):
    """Digits are added where value and limit are rounded alike: by the numbers, not by the words around them."""
    monkeypatch.setattr(flags, "limits_in_words", lambda *_: "zwischen eins/zwei")
    near = rule(possible=(1.0, 2.0))
    assert flags.flag(near, PLACE | {"value": 2.0004}, "out")["value"] == "2.0004"
    assert flags.flag(near, PLACE | {"value": 2.4}, "out")["value"] == "2.40"
