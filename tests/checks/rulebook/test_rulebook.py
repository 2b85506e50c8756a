"""The rule book: what it refuses, what a house may change, and that each rule says what a reader needs."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pytest

from gaugebook.checks.rulebook import toml_location
from gaugebook.checks.rulebook.rule import SEVERITIES, Rule
from gaugebook.checks.rulebook.rulebook import FILES, FOLDER, read_rulebook
from gaugebook.checks.rulebook.toml_location import TomlLocation, build_at
from gaugebook.pipeline.errors import SettingsError

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


@pytest.mark.parametrize(("low", "high"), [("0.0", "1.0"), ("0.5", "0.5")])
def test_a_span_may_reach_to_its_edges(tmp_path, low, high):
    """What is in range may begin where the possible does, and may be one value."""
    text = GOOD.replace("[0.93, 1.0]", f"[{low}, {high}]").replace('"1 + 3 u_recovery"', "1.0")

    (rule,) = rulebook_of(tmp_path, text)

    assert [side.number for side in rule.spans["doubtful"]] == [float(low), float(high)]


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
        ('column = "recovery"', 'column = "recovery"\nrequired_by = "me"', 'neither "law" nor "profile"'),
    ],
)
def test_a_bad_rule_is_refused_with_file_and_id(tmp_path, old, new, message):
    """The sentence names the file, the rule and what is wrong."""
    assert old in GOOD
    with pytest.raises(SettingsError, match=r"rules/recovery\.toml:\d+: strip-recovery") as caught:
        rulebook_of(tmp_path, GOOD.replace(old, new, 1))

    assert message in str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        ('quantity = "recovery"', 'quantty = "recovery"', 8),
        ("in_range = [0.93, 1.0]", "in_range = [1.0, 0.93]", 7),
        ('citation = "Made up"', 'citation = ""', 11),
        ('column = "recovery"', 'column = "recovered"', 5),
        ('reason = "A made-up reason."', "reason = 3", 10),
        ('reason = "A made-up reason."\n', "", 2),
        ('to_do = "Nothing."', "to_do = Nothing.", 12),
    ],
)
def test_the_line_at_fault_is_named(tmp_path, old, new, line):
    """The line is that of the key that is wrong, or of the rule where a key is missing."""
    with pytest.raises(SettingsError, match=rf"^rules/recovery\.toml:{line}: "):
        rulebook_of(tmp_path, GOOD.replace(old, new, 1))


def test_a_rule_stands_once(tmp_path):
    """Two rules of one id are refused."""
    with pytest.raises(SettingsError, match=r"recovery\.toml:15: strip-recovery: the rule stands in the book twice"):
        rulebook_of(tmp_path, GOOD + GOOD)


@pytest.mark.parametrize(("text", "message"), [("id = 1", "expected"), ("[[rules]", "cannot be read")])
def test_a_file_that_is_no_rule_book_is_refused(tmp_path, text, message):
    """A file without [[rules]], or that is not TOML, is refused by name."""
    with pytest.raises(SettingsError, match=rf"rules/recovery\.toml(:1)?: .*{message}"):
        rulebook_of(tmp_path, text)


def test_a_house_may_change_limits_and_it_shows(tmp_path):
    """A change by id is in force, and the citation says whose it is."""
    (rule,) = rulebook_of(tmp_path, GOOD, strip_recovery={"in_range": [0.9, 1.0]})

    assert rule.in_range == (0.9, 1.0)
    assert rule.citation == "Made up; changed by the house profile"


def test_a_change_that_cannot_be_is_told_of_the_house_profile(tmp_path):
    """And not of the book's file, which says what it always said."""
    with pytest.raises(SettingsError, match=r"^house profile: \[rules\.strip-recovery\]: the span 1 to 0\.9 holds no"):
        rulebook_of(tmp_path, GOOD, strip_recovery={"in_range": [1.0, 0.9]})


def test_a_house_may_add_a_rule_of_its_own(tmp_path):
    """A table with a subject is a new rule, held to what every rule is held to."""
    own = {"subject": "runs", "column": "recovery", "possible": [0.5, 1.0], "quantity": "recovery", "reason": "Ours.",
           "severity": "for information", "citation": "House limit", "to_do": "Ask."}  # fmt: skip

    rules = rulebook_of(tmp_path, GOOD, own_rule=own)

    assert [rule.id for rule in rules] == ["strip-recovery", "own-rule"]
    with pytest.raises(SettingsError, match=r"^house profile: \[rules.own-rule\]: .*no column \"speed\""):
        rulebook_of(tmp_path, GOOD, own_rule=own | {"column": "speed"})


LAW = {"law": [0.0, 0.95], "u": "u_recovery", "possible": [], "in_range": []}


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ({"u": ""}, "a legal limit needs u"),
        ({"guard": "inwards"}, 'guard "inwards" is none of'),
        ({"coverage": -1.0}, "coverage -1 is below 0"),
        ({"in_force_from": date(2025, 1, 10)}, "go together"),
        ({"in_force_from": date(2025, 1, 10), "in_force_until": date(2025, 1, 10), "dated": "ended_at"},
         "never in force"),
        ({"u": "u_recovered"}, 'no column "u_recovered"'),
    ],
)  # fmt: skip
def test_a_bad_legal_limit_is_refused(tmp_path, more, message):
    """A limit of law has an uncertainty, a side for its guard band, and dates that can be."""
    rulebook_of(tmp_path, GOOD, strip_recovery=LAW)

    with pytest.raises(SettingsError, match=message):
        rulebook_of(tmp_path, GOOD, strip_recovery=LAW | more)


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
    """All files are read; each rule says why, what to do, what it computes and what the cause usually is."""
    assert sorted(FILES) == sorted(path.stem for path in FOLDER.glob("*.toml"))
    for rule in rules.values():
        assert all(text.endswith(".") for text in (rule.reason, rule.to_do, rule.computation, rule.causes)), rule.id
    assert {rule.severity for rule in rules.values()} == set(SEVERITIES)


def test_what_is_from_memory_is_marked(rules):
    """A rule whose limit is cited from memory carries the mark."""
    assert {rule.id for rule in rules.values() if "from memory" in rule.citation} == {
        rule.id for rule in rules.values() if not rule.confirmed
    }


def test_an_unknown_column_is_shown_where_it_stands(tmp_path):
    """The line is that of the key which names the column, not of one in whose text its letters happen to be."""
    text = GOOD.replace('quantity = "', 'quantity = "speed and ', 1).rstrip() + '\nshows = "speed"\n'
    line = 1 + text.splitlines().index('shows = "speed"')
    with pytest.raises(SettingsError, match=rf'recovery\.toml:{line}: strip-recovery: .* no column "speed"'):
        rulebook_of(tmp_path, text)


def test_the_line_of_a_key_at_fault_does_not_hang_on_the_sentence(monkeypatch):
    """A fault knows its key: in whatever words it is told, the line is that of the key."""
    place = TomlLocation("rules/lots.toml", "a: rule", 3, {"column": 6, "decimals": 9})

    @dataclass(frozen=True)
    class Made:
        column: str
        decimals: int = 2

    with pytest.raises(SettingsError, match=r"^rules/lots\.toml:9: a: rule: decimals: expected int") as fault:
        build_at(Made, {"column": "x", "decimals": "many"}, place)
    assert fault.value.key == "decimals"
    with pytest.raises(SettingsError, match=r'^rules/lots\.toml:6: a: rule: unknown key "column"'):
        build_at(SettingsError, {"column": "x"}, place)

    def refuse(*_):
        raise SettingsError("Das geht nicht.", "decimals")

    monkeypatch.setattr(toml_location, "build", refuse)
    with pytest.raises(SettingsError, match=r"^rules/lots\.toml:9: Das geht nicht\.$"):
        build_at(Made, {}, place)
