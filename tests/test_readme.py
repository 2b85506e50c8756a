"""What the README says can be done, can be done as printed."""

import json
import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from gaugebook.reports.cli import COMMANDS, main

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
PRINTED = [
    line.strip().split("  ")[0]
    for line in README.splitlines()
    if re.match(r" *gaugebook [a-z]+ ?", line) and line.split()[1] in COMMANDS
]
# These write or need files of the reader's own; their commands are tried in the tests of their modules.
NOT_RUN = ("receive", "map", "check", "explain", "decide", "verify", "sign", "certificate", "pack")


def test_every_command_stands_in_the_readme():
    """A command that the README does not show will not be found."""
    missing = [name for name in COMMANDS if not re.search(rf"gaugebook {name}\b", README)]

    assert missing == []


def test_the_first_paragraph_states_the_job():
    """The README opens with one paragraph, no badge and no picture before it."""
    first = README.splitlines()[2]

    assert README.startswith("# gaugebook\n\n") and first.startswith("gaugebook turns the files")


@pytest.mark.parametrize("line", [line for line in PRINTED if line.split()[1] not in NOT_RUN])
def test_a_command_of_the_readme_runs_as_printed(line, sample_book, tmp_path, monkeypatch):
    """On the demo's book each printed command ends with 0 or 1 and says something."""
    monkeypatch.chdir(tmp_path)

    result = CliRunner().invoke(main, ["--book", str(sample_book), *shlex.split(line)[1:]])

    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert result.exit_code in (0, 1), result.output
    assert result.output.strip()


def test_batches_for_machines_is_a_list_of_objects(sample_book):
    """`gaugebook batches --json` is a list of objects with the key batch."""
    result = CliRunner().invoke(main, ["--book", str(sample_book), "batches", "--json"])

    batches = json.loads(result.output)
    assert len(batches) == 47
    assert all(item["batch"] and item["standing"] in ("clear", "to explain", "stopped") for item in batches)
