"""What stands in a folder and is no ordinary file: refused by name, and the files beside it received."""

import os

import pytest
from click.testing import CliRunner
from small_house import write_house

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.file_outcome import Outcome
from gaugebook.pipeline.intake.flow import receive
from gaugebook.reports.cli import main

ODD = {
    "no UTF-8": (lambda folder: os.close(os.open(os.fsencode(folder) + b"/log_\xff.csv", os.O_CREAT)), "log_\\xff.csv"),
    "pipe": (lambda folder: os.mkfifo(folder / "pipe.csv"), "pipe.csv"),
    "link to nothing": (lambda folder: (folder / "gone.csv").symlink_to(folder / "nowhere"), "gone.csv"),
}


@pytest.mark.parametrize("make, name", ODD.values(), ids=ODD)
def test_an_odd_file_is_refused_by_name_and_the_others_received(tmp_path, make, name):
    """Once with its reason, in the book too; nothing hangs, and what is there besides is as without it."""
    site = tmp_path / "site"
    write_house(site)
    alone = {file.path.name: file.outcome for file in receive(tmp_path / "alone", [site], site / "house.toml")}
    make(site)
    outcomes = receive(tmp_path / "book", [site], site / "house.toml")

    together = {file.path.name: file.outcome for file in outcomes}
    assert together.pop(name) is Outcome.REFUSED
    assert together == alone
    with open_book(tmp_path / "book") as book:
        assert name in book.frame("SELECT name FROM received.refused_files")["name"].to_list()


def test_the_command_prints_a_name_that_is_no_text(tmp_path):
    """With its bytes, and exit status 1 as for any file that was refused."""
    site = tmp_path / "site"
    write_house(site)
    ODD["no UTF-8"][0](site)
    words = ["--book", str(tmp_path / "book"), "receive", str(site), "--house", str(site / "house.toml")]
    printed = CliRunner().invoke(main, words)

    assert printed.exit_code == 1, printed.output
    assert "log_\\xff.csv" in printed.output and "rename it" in printed.output
