"""Spoilt files, killed processes, full disks and two writers at once: nothing lost, nothing twice, no traceback."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner
from hostile import receive_spoilt
from killing import COMMAND, killed_and_resumed, tables
from mutations import zip_bomb
from small_house import keep_fills_in_a_workbook, write_house

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.commands.receive_commands import receive_command
from gaugebook.pipeline.errors import GaugebookError
from gaugebook.pipeline.intake.flow import receive


def test_spoilt_files_are_accounted_for(tmp_path):
    """Of 150 spoilt files each is received or refused with a reason, and every row is accounted for."""
    totals = receive_spoilt(tmp_path, 150, seed=1)

    assert totals["files"] == 150 + 7
    assert totals["refused"] > 10 and totals["rows refused"] > 10 and totals["rows kept"] > 30


def test_a_killed_process_leaves_all_of_a_file_or_nothing(tmp_path):
    """Killed at two random moments and resumed, the book is what it would have been."""
    write_house(tmp_path / "site")

    assert killed_and_resumed(tmp_path / "site", tmp_path, rounds=2, seed=3) == 2


@pytest.mark.skipif(os.name == "nt" or os.geteuid() != 0, reason="mounting a small disk needs root")
def test_a_full_disk_is_one_sentence_and_loses_nothing(tmp_path):
    """On a disk too small the command says so; with room again the book becomes what it would have been."""
    write_house(tmp_path / "site")
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=700k", "none", str(disk)], capture_output=True)
    if mounted.returncode:
        pytest.skip("no small disk can be mounted here")
    try:
        with pytest.raises(GaugebookError, match=r"full|cannot be kept|No space"):
            receive(disk / "book", [tmp_path / "site"], None)
        subprocess.run(["mount", "-o", "remount,size=50m", str(disk)], check=True)
        receive(disk / "book", [tmp_path / "site"], None)
        receive(tmp_path / "peace", [tmp_path / "site"], None)
        for name, frame in tables(tmp_path / "peace").items():
            assert frame.equals(tables(disk / "book")[name]), name
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def test_two_processes_at_once_lose_nothing_and_do_nothing_twice(tmp_path):
    """Both finish, or one says clearly that the other holds the book."""
    write_house(tmp_path / "site")
    two = [
        subprocess.Popen(
            [sys.executable, "-c", COMMAND, str(tmp_path / "book"), str(tmp_path / "site")],
            stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
        )
        for _ in range(2)
    ]  # fmt: skip
    ends = [(process.communicate()[1], process.returncode) for process in two]

    assert any(code == 0 for _, code in ends)
    assert all(code == 0 or "in use by process" in error for error, code in ends)
    with open_book(tmp_path / "book") as book:
        assert book.value("SELECT count(*) FROM received.files") == 7
        assert book.value("SELECT count(*) FROM typed.movements") == 15


def test_a_workbook_that_unpacks_to_an_absurd_size_is_refused(tmp_path):
    """Half a gigabyte in a few kilobytes is no run sheet; it is refused before it is unpacked."""
    write_house(tmp_path / "site")
    keep_fills_in_a_workbook(tmp_path / "site", "S")
    path = tmp_path / "site" / "fills.xlsx"
    path.write_bytes(zip_bomb())
    assert path.stat().st_size < 1_000_000

    outcomes = receive(tmp_path / "book", [path], None)

    assert "unpacks to" in outcomes[0].reason


def test_names_that_look_like_paths_stay_inside_the_book(tmp_path):
    """A lot named like a path is a name; nothing is written outside the book's folder."""
    write_house(tmp_path / "site", {"fills.csv": "lot,no,ml\n../../../evil,1,500\n/etc/passwd,2,500\n"})
    before = {path for path in tmp_path.rglob("*") if "book" not in path.parts}

    receive(tmp_path / "book", [tmp_path / "site"], None)

    with open_book(tmp_path / "book") as book:
        assert book.value("SELECT count(*) FROM typed.fills WHERE lot = '../../../evil'") == 1
    assert {path for path in tmp_path.rglob("*") if "book" not in path.parts} == before


def test_the_command_says_refusals_and_ends_with_one(tmp_path):
    """A file with a refused row ends the command with status 1 and the number of rows."""
    paths = write_house(tmp_path / "site", {"fills.csv": "lot,no,ml\nRYE-1,one,500\nRYE-1,2,500\n"})

    result = CliRunner().invoke(receive_command, [str(path) for path in paths], obj=Path(tmp_path / "book"))

    assert result.exit_code == 1
    assert "1 rows were refused" in result.output
