"""What changed in a house profile is told key by key, when files are received and in the register."""

import json

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from small_house import HOUSE, write_house

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.house.profile_changes import profile_changes
from gaugebook.pipeline.house.settings import parse_house
from gaugebook.reports.cli import main

PERSON = '\n[[people]]\ncode = "QA"\nrole = "qa lead"\n'


@pytest.mark.parametrize(
    ("more", "changes"),
    [
        ("", ()),
        (
            '\n[rules.label-strength]\nseverity = "for information"\nlaw = [-0.5, 0.5]\n',
            (
                "rule label-strength, severity: as in the rule book -> for information",
                "rule label-strength, law: as in the rule book -> -0.5, 0.5",
            ),
        ),
        (
            '\n[decisions]\nmay_decide = ["qa lead", "owner"]\nmay_overrule = ["AB"]\n',
            ("decisions, may_decide: qa lead -> qa lead, owner", "decisions, may_overrule: nothing -> AB"),
        ),
        (PERSON, ("person QA, code: not there -> QA", "person QA, role: not there -> qa lead")),
    ],
)
def test_each_key_that_changed_is_told(more, changes):
    """Rules, decisions and people, each with what it was and what it is; and the same the other way round."""
    held, new = parse_house(HOUSE, "old"), parse_house(HOUSE + more, "new")

    assert profile_changes(held, new) == changes
    assert len(profile_changes(new, held)) == len(changes)


@given(st.floats(35, 60), st.floats(35, 60))
def test_a_change_of_a_product_is_told_and_no_other(old, new):
    """A changed label is one line of its product; the same label is none."""
    texts = [HOUSE.replace("label_strength_pct_vol = 40.0", f"label_strength_pct_vol = {at!r}") for at in (old, new)]

    told = profile_changes(*(parse_house(text, "made up") for text in texts))

    expected = (f"product RYE, label_strength_pct_vol: {old} -> {new}",)
    assert told == (() if old == new else expected)


@pytest.mark.parametrize(
    ("more", "line"),
    [
        (
            '\n[rules.label-strength]\nseverity = "for information"\n',
            "rule label-strength, severity: as in the rule book -> for information",
        ),
        (
            '\n[decisions]\nmay_decide = ["head distiller", "qa lead"]\n',
            "decisions, may_decide: qa lead -> head distiller, qa lead",
        ),
    ],
)
def test_a_first_profile_that_lowers_a_rule_or_widens_who_decides_is_told(tmp_path, more, line):
    """Before any file, once; nothing else of a first profile is."""
    write_house(tmp_path / "site", {"house.toml": HOUSE + more})
    command = ["--book", str(tmp_path / "book"), "receive", str(tmp_path / "site")]

    first, again = (CliRunner().invoke(main, command).output for _ in range(2))

    assert first.startswith(f"The house profile differs from the rule book:\n{line}\n")
    assert first.count(" -> ") == 1
    assert " -> " not in again


def test_receiving_prints_what_changed_and_the_register_keeps_it(tmp_path):
    """A first profile by the rule book is no change; a laxer rule in the next is printed before the files, once."""
    write_house(tmp_path / "site")
    command = ["--book", str(tmp_path / "book"), "receive", str(tmp_path / "site")]
    first = CliRunner().invoke(main, command)
    profile = tmp_path / "site" / "house.toml"
    softer = '\n[rules.label-strength]\nseverity = "for information"\n'
    profile.write_text(profile.read_text(encoding="utf-8") + softer, encoding="utf-8")
    second, third = CliRunner().invoke(main, command), CliRunner().invoke(main, command)

    change = "rule label-strength, severity: as in the rule book -> for information"
    assert "house profile" not in first.output
    assert second.output.startswith(f"The house profile has changed:\n{change}\n")
    assert "house profile has changed" not in third.output
    with open_book(tmp_path / "book") as book:
        said = book.value(
            "SELECT payload FROM register.entries WHERE kind = 'house profile' ORDER BY number DESC LIMIT 1"
        )
    assert json.loads(said)["changed"] == [change]
