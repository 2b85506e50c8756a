"""gaugebook run: what a log says, on the screen, for machines and on a page; clear words where there is none."""

import json

import pytest
from click.testing import CliRunner

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import UnknownRecord
from gaugebook.reports.cli import main
from sample_logs.generator.simulation import simulate

STUCK, LEFT = "REC-2607-01", "STR-2605-06"  # of the sample's planted faults: a stuck probe, a worn gasket


def call(book, *words):
    """The command on that book."""
    return CliRunner().invoke(main, ["--book", str(book), "run", *words])


def test_a_run_is_told(sample_book):
    """Sheet beside curve, log beside receivers in LPA, rates, band, findings; exit status 1 for what was found."""
    told = call(sample_book, LEFT)

    assert told.exit_code == 1
    [log] = [log for log in simulate().book.logs if log.run == LEFT]
    for words in (f"{LEFT}: strip on S2, log from {log.started:%Y-%m-%d %H:%M}", "by the log [LPA]", "LPA/h", "K/min",
                  "ideal stages", "beyond the limit", "left the band: vapour"):  # fmt: skip
        assert words in told.output


def test_a_finding_is_told_without_tags(sample_book):
    """What a page holds together with tags is plain text on the screen."""
    told = call(sample_book, LEFT).output
    assert "% vol from its mean" in told
    assert "<" not in told


def test_a_still_without_parrot_is_told_in_litres(sample_book):
    """Volume by flow meter against receivers, and the stuck probe."""
    told = call(sample_book, STUCK)

    assert "by the log [L]" in told.output
    assert "reflux ratio in the hearts" in told.output
    assert "1 finding:\n  stuck: column" in told.output


def test_a_run_whose_spirit_is_not_bottled_yet(sample_book):
    """The last run with a log that no batch rests on; nothing found, exit status 0."""
    with open_book(sample_book) as book:
        run = book.value("""
            SELECT run FROM derived.run_curves WHERE run NOT IN (SELECT run FROM derived.lineage) AND band = 'within'
            ORDER BY log_started_at DESC LIMIT 1
        """)
    told = call(sample_book, run)

    assert told.exit_code == 0
    assert "no findings" in told.output


def test_all_of_it_for_machines(sample_book):
    """The row of the run, its parts, and the lines of its figure."""
    told = json.loads(call(sample_book, LEFT, "--json").stdout)

    assert told["curve"]["hearts_to_by"] == "change of flow"
    assert [part["part"] for part in told["parts"]] == ["heads", "hearts", "tails", "all"]
    assert told["figure"]["band"]["strength_pct_vol"]["hours"]


def test_a_page_of_a_run(sample_book, tmp_path):
    """Written where it is said, the same bytes twice."""
    for name in "ab":
        told = call(sample_book, STUCK, "--pdf", "--out", str(tmp_path / name))
        assert told.output.splitlines()[-1] == str(tmp_path / name / f"run-{STUCK}.pdf")

    first, second = ((tmp_path / name / f"run-{STUCK}.pdf").read_bytes() for name in "ab")
    assert first == second
    assert first.startswith(b"%PDF")


@pytest.mark.parametrize(
    ("run", "words"),
    [
        ("MSH-2510-01", 'no log of run "MSH-2510-01" \\(mash on MT1\\)'),
        ("STR-2605-77", 'no run "STR-2605-77": did you mean .*STR-2605-07'),
    ],
)
def test_runs_without_a_curve_are_refused_in_words(sample_book, run, words):
    """One that is no still run, one that is not on record."""
    with pytest.raises(UnknownRecord, match=words):
        raise call(sample_book, run).exception
