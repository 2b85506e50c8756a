"""The commands check and batches: what they print, and their exit status."""

import json
from datetime import datetime

import pytest
from click.testing import CliRunner

from gaugebook.checks.commands.check_commands import _print_batches, batches_command, check_command
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import BookError

pytestmark = pytest.mark.usefixtures("remembering")


@pytest.fixture
def folder(tmp_path, book, bottle, put):
    """The folder of a book with one vodka, without its required results, and one run of an unknown hand."""
    bottle("V-1", "VODKA", "PROOF-1", laboratory_strength_pct_vol=40.0, u_laboratory_strength_pct_vol=0.05,
           label_deviation_pct_vol=0.0)  # fmt: skip
    put("typed.runs", run="STR-1", stage="strip", equipment="S9", started_at="2031-01-01", operator="ZZ")
    book._connection.close()
    return tmp_path / "book"


@pytest.fixture
def odd_folder(tmp_path, book, bottle, put):
    """The folder of a book whose batch, product and hand have names that a screen could take for orders."""
    bottle("V[red]1[/]\x1b[2J", "VODKA", "PROOF-1", laboratory_strength_pct_vol=40.0,
           u_laboratory_strength_pct_vol=0.05, label_deviation_pct_vol=0.0)  # fmt: skip
    put("typed.runs", run="S[/]1", stage="strip", equipment="S9", started_at="2031-01-01", operator="Z[/bold]Z")
    book._connection.close()
    return tmp_path / "book"


def given(command, folder, *arguments):
    return CliRunner().invoke(command, arguments, obj=folder)


def test_check_prints_what_stops_a_release_and_leaves_status_1(folder):
    """What stops a release is printed with its batch and rule, and the status says that it needs attention."""
    result = given(check_command, folder)

    assert result.exit_code == 1
    assert "Stops release: 2" in result.output
    assert "V-1" in result.output
    assert "people-known" in result.output
    assert "Found nothing to look at" in result.output


def test_names_are_printed_as_they_are_written(odd_folder):
    """No markup, no escape: a name that ends in [/] stops nothing, and none prints as another batch."""
    checked, listed = given(check_command, odd_folder), given(batches_command, odd_folder)

    assert (checked.exit_code, listed.exit_code) == (1, 0)
    assert "S[/]1" in checked.output
    assert "V[red]1[/]" in listed.output.replace("\n", "") and "\\x1b[2J" in listed.output
    assert "\x1b[2J" not in checked.output + listed.output


def test_check_as_json_holds_flags_batches_and_counts(folder):
    """Each flag comes with the batches it stands before; each rule with its counts."""
    result = given(check_command, folder, "--json")

    told = json.loads(result.stdout)
    missing = [flag for flag in told["flags"] if flag["rule"] == "laboratory-complete"]
    assert {flag["record"]: flag["batches"] for flag in missing} == {
        "batch V-1, methanol": ["V-1"], "batch V-1, strength": ["V-1"],
    }  # fmt: skip
    assert told["summary"]["flags"]["stops release"] == 2
    assert len(told["rules"]) == told["summary"]["rules"]


def test_check_of_a_book_without_faults_leaves_status_0(tmp_path, book):
    """Nothing to stop and nothing to explain is status 0."""
    book._connection.close()

    assert given(check_command, tmp_path / "book").exit_code == 0


@pytest.mark.parametrize("arguments", [("--rules",), ("--rules", "--json")])
def test_the_rule_book_prints_without_a_check(folder, arguments):
    """The rules in force are printed, and nothing is judged or kept."""
    result = given(check_command, folder, *arguments)

    assert result.exit_code == 0
    assert "methanol-limit" in result.output
    with open_book(folder) as again:
        assert again.value("SELECT count(*) FROM information_schema.tables WHERE table_schema = 'flagged'") == 0


def test_batches_lists_each_batch_with_its_standing(folder):
    """As JSON a list of objects with the key batch; as a table the same for people."""
    given(check_command, folder)

    (batch,) = json.loads(given(batches_command, folder, "--json").stdout)
    assert (batch["batch"], batch["product"], batch["standing"]) == ("V-1", "VODKA", "stopped")
    assert (batch["stops_release"], batch["bottled_at"]) == (2, "2031-03-01 00:00:00")
    assert "V-1" in given(batches_command, folder).output


def test_batches_of_a_book_not_yet_checked_says_what_to_do(folder):
    """Without a check there is no standing, which is said and not shown as clear."""
    with pytest.raises(BookError, match='run "gaugebook check" first'):
        CliRunner().invoke(batches_command, [], obj=folder, catch_exceptions=False)


def test_batches_bear_the_day_of_the_house(capsys):
    """Bottled on 31 January at 17:00 in Denver, which is the first of February by UTC."""
    row = {"batch": "V-1", "product": "VODKA", "bottled_at": datetime(2026, 2, 1), "standing": "clear",
           "verdict": "waiting", "stops_release": 0, "needs_explanation": 0, "for_information": 0}  # fmt: skip
    _print_batches([row], "America/Denver")
    shown = capsys.readouterr().out

    assert "2026-01-31" in shown and "2026-02-01" not in shown
