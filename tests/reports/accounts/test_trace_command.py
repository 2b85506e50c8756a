"""gaugebook trace --epcis: what is written where, and what is said when it cannot be."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from gaugebook.pipeline.errors import GaugebookError
from gaugebook.reports.cli import main


@pytest.fixture
def run(tmp_path: Path, received):
    """Give a command to the book of the small house."""
    received()

    def give(*words: str) -> Result:
        return CliRunner().invoke(main, ["--book", str(tmp_path / "book"), *words])

    return give


def test_events_go_to_the_screen_alone(run):
    """Without a file the document is all that is printed, so that a program can read it."""
    result = run("trace", "RYE-1", "--epcis")

    assert result.exit_code == 0
    assert len(json.loads(result.stdout)["epcisBody"]["eventList"]) == 6  # five runs and a receipt


def test_events_go_to_a_file_beside_the_trace(run, tmp_path):
    """With a file the trace is printed as ever, and the file is the same document."""
    result = run("trace", "RYE-1", "--epcis", str(tmp_path / "e.jsonld"))

    assert "mock recall" in result.stdout
    assert "e.jsonld: 6 events" in result.stderr
    assert (tmp_path / "e.jsonld").read_text(encoding="utf-8") == run("trace", "RYE-1", "--epcis").stdout


def test_a_month_of_events(run):
    """Instead of a lot: all that happened in January, which for the small house is the same."""
    month = run("trace", "--month", "2026-01", "--epcis")

    assert json.loads(month.stdout) == json.loads(run("trace", "RYE-1", "--epcis").stdout)


def test_what_is_left_out_is_named_and_needs_attention(received, tmp_path):
    """A run without an end: the document has no event of it, the command says so, and its status is 1."""
    runs = "run,stage,equipment,product,recipe,started,ended,operator\nSTR-1,strip,S1,,,2026-01-12 10:00,,AB\n"
    moves = "run,dir,lot,part,vessel,L,tV,S,kind,tS,kg\nSTR-1,out,SPIRIT-1,hearts,T1,118,20,80,pct_vol_20c,,\n"
    none = {"bottling.csv": "lot,run,product,at,bottles,rejected\n", "fills.csv": "lot,no,ml\n"}
    received(none | {"runs.csv": runs, "moves.csv": moves})
    words = ["--book", str(tmp_path / "book"), "trace", "--month", "2026-01", "--epcis", str(tmp_path / "e.jsonld")]
    result = CliRunner().invoke(main, words)

    assert result.exit_code == 1
    assert "Not in the events: run STR-1: no record says when it ended or was gauged." in result.stderr
    assert len(json.loads((tmp_path / "e.jsonld").read_text())["epcisBody"]["eventList"]) == 1  # the malt


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "either a lot, or --month"),
        (["RYE-1", "--month", "2026-01", "--epcis"], "either a lot, or --month"),
        (["--month", "2026-01"], "--month goes with --epcis"),
        (["--month", "2026-01", "--epcis", "x", "--pdf"], "of one lot"),
        (["RYE-1", "--json", "--epcis"], "give --epcis a file"),
        (["--month", "January", "--epcis"], "is no month"),
        (["NONE", "--epcis"], "holds no lot"),
    ],
)
def test_what_cannot_be_done_is_said_in_one_sentence(run, words, says):
    """Two questions at once, none, or one that has no answer."""
    result = run("trace", *words)

    assert isinstance(result.exception, GaugebookError)
    assert says in str(result.exception)
