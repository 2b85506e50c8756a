"""The command line as a whole: which commands there are, and how faults and broken pipes end."""

import errno
import inspect
import os
import subprocess
import sys
from importlib import import_module

import click
import pytest
from click.testing import CliRunner

from gaugebook.reports import cli
from gaugebook.reports.cli import COMMANDS, main

TABLE = ["tables", "VIIIb", "--rows", "0:99:0.5", "--columns", "0:39:0.2", "--json"]  # some hundred thousand characters
START = "import sys; sys.argv[0] = 'gaugebook'; from gaugebook.reports.cli import run; run()"


def run_with(monkeypatch, capsys, *words: str) -> tuple[int, str, str]:
    """Exit status, output and errors of the program with these words."""
    monkeypatch.setattr(sys, "argv", ["gaugebook", *words])
    with pytest.raises(SystemExit) as ended:
        cli.run()
    said = capsys.readouterr()
    return int(ended.value.code or 0), said.out, said.err


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_of_the_table_is_there_and_says_what_it_does(name):
    """Its module has it, under its name, with help; the line of the list is a sentence."""
    module, line = COMMANDS[name]
    command = getattr(import_module(f"gaugebook.{module}"), f"{name.replace('-', '_')}_command")
    result = CliRunner().invoke(main, [name, "--help"])

    assert isinstance(command, click.Command)
    assert result.exit_code == 0, result.output
    assert result.output.startswith(f"Usage: main {name}")
    assert inspect.cleandoc(command.help or "").split("\n")[0].split()[0] in result.output
    assert line.endswith(".") and len(line) < 70


def test_the_list_of_commands_imports_none_of_them():
    """The help of the whole program is there at once: no table library, no database."""
    code = (
        "import sys; from click.testing import CliRunner; from gaugebook.reports.cli import main, COMMANDS\n"
        "out = CliRunner().invoke(main, ['--help']).output\n"
        "print(all(f'  {name} ' in out and line in out for name, (_, line) in COMMANDS.items()),"
        " sorted({'polars', 'duckdb', 'numpy', 'babel', 'pydantic'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert done.stdout == "True []\n"


def test_commands_stand_in_the_order_of_the_work():
    """As the table has them, not by the alphabet, in the help too."""
    told = CliRunner().invoke(main, ["--help"]).output.split("Commands:\n")[1]

    assert main.list_commands(click.Context(main)) == list(COMMANDS)
    assert [line.split()[0] for line in told.splitlines()] == list(COMMANDS)


def test_an_unknown_command_is_one_sentence(monkeypatch, capsys):
    """Exit status 2, and no traceback."""
    status, out, said = run_with(monkeypatch, capsys, "distil")

    assert (status, out) == (2, "")
    assert "No such command 'distil'" in said


def test_a_fault_in_use_is_one_sentence(monkeypatch, capsys, tmp_path):
    """A book that is not there: its path and what to do, exit status 2."""
    status, out, said = run_with(monkeypatch, capsys, "--book", str(tmp_path / "none"), "batches")

    assert (status, out) == (2, "")
    assert said.startswith("gaugebook: ") and str(tmp_path / "none") in said
    assert len(said.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (PermissionError(errno.EACCES, "Permission denied", "a.csv"), 'could not use "a.csv": Permission denied.'),
        (OSError(errno.ENOSPC, "No space left on device"), "could not use: No space left on device."),
        (OSError("the device is gone"), "could not use: the device is gone."),
    ],
)
def test_what_the_machine_refuses_is_one_sentence(monkeypatch, capsys, error, said):
    """With the file where it is known and the reason in words, exit status 2."""

    def refuse(**_: str) -> None:
        raise error

    monkeypatch.setattr(cli, "main", refuse)

    assert run_with(monkeypatch, capsys) == (2, "", f"gaugebook: {said}\n")


def test_a_csv_into_a_folder_that_is_not_there_is_one_sentence(monkeypatch, capsys, tmp_path):
    """The real thing: the file system's refusal goes through the program to its end."""
    path = tmp_path / "none" / "i.csv"
    status, _, said = run_with(monkeypatch, capsys, "tables", "IVb", "--rows", "40", "--csv", str(path))

    assert (status, said) == (2, f'gaugebook: could not use "{path}": No such file or directory.\n')


@pytest.mark.parametrize("characters", [0, 10, 70_000])
def test_a_reader_that_goes_away_is_no_fault(characters):
    """As in "gaugebook … | head -1": exit status 0 and not a word, whether the pipe breaks at once or later."""
    reading, writing = os.pipe()
    with subprocess.Popen([sys.executable, "-c", START, *TABLE], stdout=writing, stderr=subprocess.PIPE) as started:
        os.close(writing)
        left = characters
        while left:
            left -= len(os.read(reading, left))
        os.close(reading)
        assert started.stderr is not None
        said = started.stderr.read()

    assert (started.returncode, said) == (0, b"")


def test_what_was_still_to_be_written_goes_nowhere(monkeypatch, tmp_path):
    """Once the reader has gone, the rest of the output is dropped, not written again when the program ends."""

    def gone(*_: object) -> None:
        raise BrokenPipeError(errno.EPIPE, "Broken pipe")

    monkeypatch.setattr(click, "echo", gone)
    with (tmp_path / "out").open("w") as stdout:
        monkeypatch.setattr(sys, "stdout", stdout)
        with pytest.raises(SystemExit) as ended:
            main(["tables"])
        stdout.write("the rest")

    assert ended.value.code == 0
    assert (tmp_path / "out").read_text() == ""


def test_the_book_may_come_from_the_environment(monkeypatch, capsys, tmp_path):
    """GAUGEBOOK_BOOK names it where --book does not."""
    monkeypatch.setenv("GAUGEBOOK_BOOK", str(tmp_path / "by-environment"))
    status, _, said = run_with(monkeypatch, capsys, "batches")

    assert status == 2 and "by-environment" in said


def test_the_module_itself_is_the_program():
    """`python -m gaugebook.reports.cli` is the same as the command."""
    done = subprocess.run(
        [sys.executable, "-m", "gaugebook.reports.cli", "tables", "IVb", "--rows", "40"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip

    assert done.stdout.startswith("OIML R 22 (1975), Table IVb")
