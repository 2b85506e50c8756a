"""The commands explain and decide, and check --explain: what a person sees, and that machines get the same."""

import json
from datetime import datetime
from functools import partial
from pathlib import Path
from shutil import copytree

import pytest
from by_hand import put_batch, put_row
from click.testing import CliRunner

from gaugebook.checks.commands.check_commands import batches_command, check_command
from gaugebook.checks.commands.decision_commands import decide_command, explain_command
from gaugebook.checks.flags.flag_lifecycle import NotAllowed
from gaugebook.checks.run import run_checks
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import BookError


def stopped_vodka(book):
    """Vodka V-1 stopped by a missing result, with a file and line for its bottling, and one check of it."""
    put = partial(put_row, book)
    put_batch(put, "V-1", "VODKA", "PROOF-1", laboratory_strength_pct_vol=40.0, u_laboratory_strength_pct_vol=0.05,
              label_deviation_pct_vol=0.0)  # fmt: skip
    put("received.files", file_id=1, sha256="a" * 64, name="bottling.csv", origin="made up", size_bytes=1, map="m",
        map_sha256="b" * 64, received_at="2031-03-02", received_by="nobody", times_read=1)  # fmt: skip
    put("landed.sources", source_id=1, file_id=1, header_line=1, header=["a"])
    run_checks(book, datetime(2031, 3, 3))


@pytest.fixture
def folder(tmp_path, made_once):
    """The folder of a checked book with a stopped batch."""
    return Path(copytree(made_once(stopped_vodka), tmp_path / "book"))


def given(command, folder, *arguments):
    return CliRunner().invoke(command, arguments, obj=folder, catch_exceptions=False)


def missing_methanol(folder):
    with open_book(folder) as book:
        return book.value("SELECT flag FROM flagged.flags WHERE record = 'batch V-1, methanol'")


def test_a_flag_is_told_in_full(folder):
    """Sentence, rule, source file and line of its inputs, and what happened to it, as table and as JSON."""
    flag = missing_methanol(folder)

    told = json.loads(given(check_command, folder, "--explain", flag, "--json").stdout)
    seen = given(check_command, folder, "--explain", flag).output

    assert told["flag"]["rule"] == "laboratory-complete"
    assert {"what": "bottling of V-1", "place": "bottling.csv:1"} in told["inputs"]
    assert [event["happened"] for event in told["history"]] == ["opened"]
    assert told["rule"]["causes"] and told["rule"]["computation"]
    for words in ("laboratory-complete", "bottling.csv:1", "Usual causes", "opened"):
        assert words in seen


def test_an_explanation_is_told_with_its_flag(folder, tmp_path):
    """After explain the flag's history names person, role, reason and attachment."""
    flag = missing_methanol(folder)
    note = tmp_path / "note.txt"
    note.write_text("sent out", encoding="utf-8")

    said = given(
        explain_command, folder, flag, "--by", "AQ", "--reason", "At the outside laboratory.", "--attach", str(note)
    )

    assert said.exit_code == 0
    assert "is explained by AQ" in said.output
    last = json.loads(given(check_command, folder, "--explain", flag, "--json").stdout)["history"][-1]
    assert (last["happened"], last["person"], last["role"], last["attachment"]) == (
        "explained", "AQ", "distiller", "note.txt",
    )  # fmt: skip


def test_a_decision_shows_beside_the_standing(folder):
    """Waiting before, held after; and the same for machines."""
    before = json.loads(given(batches_command, folder, "--json").stdout)
    said = given(decide_command, folder, "V-1", "--hold", "--by", "EV", "--reason", "Methanol is not on record.")
    after = json.loads(given(batches_command, folder, "--json").stdout)

    assert "Decision 1: V-1 is held by EV (qa lead)." in said.output
    assert [(row["standing"], row["verdict"]) for row in before + after] == [
        ("stopped", "waiting"),
        ("stopped", "held"),
    ]
    assert "held" in given(batches_command, folder).output


def test_a_release_against_flags_is_refused(folder):
    """The sentence names how many stand in the way."""
    with pytest.raises(NotAllowed, match="V-1 cannot be released: flags stand in the way, 2 that stop a release"):
        given(decide_command, folder, "V-1", "--release", "--by", "EV", "--reason", "Let it go.")


def test_a_decision_must_say_which(folder):
    """None of --release, --hold and --reject is a fault of use."""
    said = CliRunner().invoke(decide_command, ["V-1", "--by", "EV", "--reason", "x"], obj=folder)

    assert said.exit_code == 2
    assert "--release, --hold or --reject" in said.output


@pytest.mark.parametrize(
    ("command", "arguments"),
    [
        (decide_command, ("V-1", "--release", "--by", "EV", "--reason", "x")),
        (explain_command, ("F-00000000", "--by", "EV", "--reason", "x")),
        (check_command, ("--explain", "F-00000000")),
    ],
)
def test_flags_of_yesterday_are_no_ground(folder, command, arguments):
    """What changed since the check must be checked before anybody explains it or decides on it."""
    with open_book(folder, writing=True) as book:
        book.execute("UPDATE derived.build_state SET fingerprint = 'another'")

    with pytest.raises(BookError, match='has changed since it was checked: run "gaugebook check" again'):
        given(command, folder, *arguments)
