"""The rule book: what it refuses, what a house may change, and that each rule says what a reader needs."""

from pathlib import Path

import pytest

from checks.rulebook import FILES, SEVERITIES, Rule, read_rulebook
from pipeline.errors import SettingsError

COLUMNS = {"runs": {"run": False, "stage": False, "recovery": True, "u_recovery": True, "ended_at": False}}
GOOD = """
[[rules]]
id = "strip-recovery"
subject = "runs"
column = "recovery"
possible = [0.0, "1 + 3 u_recovery"]
in_range = [0.93, 1.0]
quantity = "recovery"
severity = "needs explanation"
reason = "A made-up reason."
citation = "Made up"
to_do = "Nothing."
"""


def rulebook_of(tmp_path: Path, text: str, **changes: dict) -> tuple[Rule, ...]:
    (tmp_path / "recovery.toml").write_text(text, encoding="utf-8")
    return read_rulebook(COLUMNS, {name.replace("_", "-"): change for name, change in changes.items()}, tmp_path)


def test_a_good_rule_is_read(tmp_path):
    """A rule becomes a record whose spans are bounds and whose compared columns include those of its limits."""
    (rule,) = rulebook_of(tmp_path, GOOD)

    assert rule.compared == ("recovery", "u_recovery")
    assert rule.spans["doubtful"][0].number == 0.93


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("quantity =", "quantty =", 'unknown key "quantty"'),
        ('subject = "runs"', 'subject = "rums"', 'unknown subject "rums"'),
        ('column = "recovery"', 'column = "recovered"', 'has no column "recovered"'),
        ('"1 + 3 u_recovery"', '"1 + 3 u_recovered"', 'has no column "u_recovered"'),
        ('"1 + 3 u_recovery"', '"1 * 3"', '"1 * 3" is no sum'),
        ("possible = [0.0,", "possible = [0.0, 0.5,", "needs a lower and an upper bound"),
        ("in_range = [0.93, 1.0]", "in_range = [1.0, 0.93]", "the span 1 to 0.93 holds no value"),
        ("in_range = [0.93, 1.0]", "in_range = [-0.1, 1.0]", "in_range -0.1 lies outside possible 0"),
        ("in_range = [0.93, 1.0]", "in_range = [-inf, inf]", "open on both sides can never fail"),
        ("in_range = [0.93, 1.0]", "in_range = [0.93, true]", "neither a number nor a sum"),
        ('reason = "A made-up reason."', 'reason = " "', "reason is empty"),
        ('reason = "A made-up reason."\n', "", 'the key "reason" is missing'),
        ('citation = "Made up"', 'citation = ""', "citation is empty"),
        ('citation = "Made up"\n', "", 'the key "citation" is missing'),
        ('severity = "needs explanation"', 'severity = "bad"', 'severity "bad" is none of'),
        ('severity = "needs explanation"', 'severity = "needs explanation"\npresent = true', "give one of"),
        ('possible = [0.0, "1 + 3 u_recovery"]\nin_range = [0.93, 1.0]\n', "", "give one of"),
        ('column = "recovery"', 'column = "stage"', 'column "stage" holds no numbers'),
        ('column = "recovery"', 'column = "recovery"\nwhere = { stag = "strip" }', 'has no column "stag"'),
        ('column = "recovery"', 'column = "recovery"\nshows = "who"', 'has no column "who"'),
        ('column = "recovery"', 'column = "recovery"\ndecimals = "two"', "decimals: expected int"),
    ],
)
def test_a_bad_rule_is_refused_with_file_and_id(tmp_path, old, new, message):
    """The sentence names the file, the rule and what is wrong."""
    assert old in GOOD
    with pytest.raises(SettingsError, match=r"rules/recovery\.toml: strip-recovery") as caught:
        rulebook_of(tmp_path, GOOD.replace(old, new, 1))

    assert message in str(caught.value)


def test_a_rule_stands_once(tmp_path):
    """Two rules of one id are refused."""
    with pytest.raises(SettingsError, match="strip-recovery: the rule stands in the book twice"):
        rulebook_of(tmp_path, GOOD + GOOD)


@pytest.mark.parametrize(("text", "message"), [("id = 1", "expected"), ("[[rules]", "cannot be read")])
def test_a_file_that_is_no_rule_book_is_refused(tmp_path, text, message):
    """A file without [[rules]], or that is not TOML, is refused by name."""
    with pytest.raises(SettingsError, match=rf"rules/recovery\.toml: .*{message}"):
        rulebook_of(tmp_path, text)


def test_a_house_may_change_limits_and_it_shows(tmp_path):
    """A change by id is in force, and the citation says whose it is."""
    (rule,) = rulebook_of(tmp_path, GOOD, strip_recovery={"in_range": [0.9, 1.0]})

    assert rule.in_range == (0.9, 1.0)
    assert rule.citation == "Made up; changed by the house profile"


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"strip_recovry": {"in_range": [0.9, 1.0]}}, r"\[rules.strip-recovry\] is no rule of the book"),
        ({"strip_recovery": {"subject": "lots"}}, 'cannot change "subject"'),
        ({"strip_recovery": {"in_range": [0.9, 0.8]}}, "holds no value"),
        ({"strip_recovery": {"in_rang": [0.9, 1.0]}}, 'unknown key "in_rang"'),
    ],
)
def test_a_bad_change_of_the_house_is_refused(tmp_path, changes, message):
    """A change is held to what a rule is held to."""
    with pytest.raises(SettingsError, match=message):
        rulebook_of(tmp_path, GOOD, **changes)


def test_the_book_that_ships_is_sound(rules):
    """All nine files are read; each rule gives a sentence as its reason and says what to do."""
    assert len(FILES) == 9
    assert all(rule.reason.endswith(".") and rule.to_do.endswith(".") for rule in rules.values())
    assert {rule.severity for rule in rules.values()} == set(SEVERITIES)


def test_what_is_from_memory_is_marked(rules):
    """A rule whose limit is cited from memory carries the mark."""
    assert {rule.id for rule in rules.values() if "from memory" in rule.citation} == {
        rule.id for rule in rules.values() if not rule.confirmed
    }
