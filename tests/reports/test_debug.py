"""The command line: what is said to people, and with --debug to developers."""

import logging
import subprocess
import sys

import pytest
from click.testing import CliRunner

from gaugebook.pipeline.book.database import open_book
from gaugebook.reports import cli


@pytest.fixture(autouse=True)
def quiet_afterwards():
    """No test leaves logging set up for others."""
    yield
    cli.log_to_standard_error(on=False)


@pytest.fixture
def book(tmp_path):
    with open_book(tmp_path, writing=True) as made:
        made.execute("CREATE SCHEMA received; CREATE TABLE received.refused_files (name VARCHAR)")
    return tmp_path


def gaugebook(*arguments, **more):
    return subprocess.run(
        [sys.executable, "-m", "gaugebook.reports.cli", *map(str, arguments)], capture_output=True, text=True, **more
    )


@pytest.mark.parametrize(("options", "environment"), [(["--debug"], {}), ([], {"GAUGEBOOK_DEBUG": "1"})])
def test_developers_see_the_traceback_of_an_error(tmp_path, monkeypatch, options, environment):
    """With the option or the variable the traceback goes before the sentence, on standard error; the status stays."""
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    shown = gaugebook(*options, "--book", tmp_path / "none", "batches")
    plain = gaugebook("--book", tmp_path / "none", "batches", env={"PATH": ""})
    assert (shown.returncode, shown.stdout) == (plain.returncode, plain.stdout) == (2, "")
    assert plain.stderr.startswith("gaugebook: There is no book in")
    assert plain.stderr.count("\n") == 1
    assert shown.stderr.endswith(plain.stderr)
    assert "Traceback (most recent call last)" in shown.stderr
    assert "gaugebook.pipeline.errors.BookError" in shown.stderr


def test_developers_see_statements_with_their_time(book):
    """With --debug each statement stands on standard error with its milliseconds and the module that gave it; without
    it nothing is written there."""
    shown = CliRunner().invoke(cli.main, ["--debug", "--book", str(book), "batches"])
    lines = [line for line in shown.stderr.splitlines() if "gaugebook.pipeline.book.database: " in line]
    assert lines
    times = [float(line.split("database: ")[1].split(" ms: ")[0]) for line in lines]
    assert all(0 <= time < 60_000 for time in times)
    quiet = CliRunner().invoke(cli.main, ["--book", str(book), "batches"])
    assert (quiet.stderr, quiet.stdout) == ("", shown.stdout)


def test_every_way_to_the_database_is_shown(book, caplog, tmp_path):
    """Rows, single values, statements, files, appended frames and transactions are all told, a statement that fails as
    well."""
    script = tmp_path / "made.sql"
    script.write_text("CREATE TABLE made (i INTEGER)")
    with caplog.at_level(logging.DEBUG, "gaugebook"), open_book(book, writing=True) as opened:
        with opened.transaction():
            opened.run_file(script)
            opened.append("made", opened.frame("SELECT 1::INTEGER AS i"))
        opened.execute("DELETE FROM made")
        assert opened.value("SELECT count(*) FROM made") == 0
        with pytest.raises(Exception, match="nowhere"):
            opened.value("SELECT * FROM nowhere")
    told = [record.getMessage().split(" ms: ", 1)[1] for record in caplog.records]
    assert told == [
        "BEGIN", f"the statements of {tmp_path.name}/made.sql", "SELECT 1::INTEGER AS i",
        'INSERT INTO made ("i") SELECT "i" FROM appended_rows', "COMMIT", "DELETE FROM made",
        "SELECT count(*) FROM made", "SELECT * FROM nowhere",
    ]  # fmt: skip
    assert {record.name for record in caplog.records} == {"gaugebook.pipeline.book.database"}


def test_only_our_own_modules_are_heard_and_once():
    """Other libraries stay silent, and a second command in one process does not say all of it twice."""
    for _ in range(2):
        cli.log_to_standard_error(on=True)
    assert len(logging.getLogger("gaugebook").handlers) == 1
    assert not logging.getLogger("weasyprint").isEnabledFor(logging.DEBUG)
    cli.log_to_standard_error(on=False)
    assert not logging.getLogger("gaugebook").handlers
    assert not logging.getLogger("gaugebook.pipeline.book.database").isEnabledFor(logging.DEBUG)
