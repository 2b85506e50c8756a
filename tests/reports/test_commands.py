"""The commands that write documents: paths printed, faults in one sentence, nothing half written."""

import errno

import pytest
from click.testing import CliRunner
from demo_book import EMPTY, GIN, HOUSE, VODKA, write_demo_book

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.book.table_digests import begin
from gaugebook.pipeline.errors import GaugebookError, UnknownRecord
from gaugebook.reports.dossier.dossier_command import dossier_command
from gaugebook.reports.page import pages
from gaugebook.reports.trends.trends_command import trends_command


@pytest.fixture(scope="module")
def book_folder(tmp_path_factory):
    folder = write_demo_book(tmp_path_factory.mktemp("book"))
    with open_book(folder, writing=True) as book:
        book.execute("INSERT INTO received.houses VALUES (1, repeat('0', 64), 'house.toml', ?)", [HOUSE])
        begin(book)
    return folder


def run(command, book_folder, *arguments):
    return CliRunner().invoke(command, list(map(str, arguments)), obj=book_folder, catch_exceptions=False)


def test_one_dossier(book_folder, tmp_path):
    """The path of the dossier is printed and the file is a PDF."""
    result = run(dossier_command, book_folder, EMPTY, "--out", tmp_path)
    assert result.exit_code == 0
    assert result.output.strip() == str(tmp_path / f"{EMPTY}.pdf")
    assert (tmp_path / f"{EMPTY}.pdf").read_bytes().startswith(b"%PDF-1.7")


def test_all_dossiers(book_folder, tmp_path):
    """--all writes every batch in processes of their own, the same bytes as one alone."""
    result = run(dossier_command, book_folder, "--all", "--out", tmp_path)
    assert result.output.split() == [str(tmp_path / f"{code}.pdf") for code in (VODKA, GIN, EMPTY)]
    run(dossier_command, book_folder, EMPTY, "--out", tmp_path / "alone")
    assert (tmp_path / "alone" / f"{EMPTY}.pdf").read_bytes() == (tmp_path / f"{EMPTY}.pdf").read_bytes()


def test_unknown_batch(book_folder, tmp_path):
    """An unknown batch names near ones, and nothing is written, not even of the known ones."""
    with pytest.raises(UnknownRecord, match="GIN-3105A"):
        run(dossier_command, book_folder, VODKA, "GIN-3105", "--out", tmp_path)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("arguments", [[], ["--all", VODKA]])
def test_which_batches(book_folder, arguments):
    """Neither and both of names and --all are refused with a word."""
    result = run(dossier_command, book_folder, *arguments)
    assert result.exit_code == 2
    assert "--all" in result.output


@pytest.mark.parametrize("command", [dossier_command, trends_command])
def test_book_that_changed_since_its_check(tmp_path, command):
    """Documents are not made from flags that are older than the book."""
    folder = write_demo_book(tmp_path / "book")
    with open_book(folder, writing=True) as book:
        book.execute("UPDATE derived.build_state SET fingerprint = 'another'")
    with pytest.raises(GaugebookError, match="changed since it was checked"):
        run(command, folder, *([EMPTY] if command is dossier_command else []), "--out", tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_trends(book_folder, tmp_path):
    """The trends are named for the month of the last run; tables and workbook go with them."""
    result = run(trends_command, book_folder, "--out", tmp_path)
    written = result.output.split()
    assert written[0] == str(tmp_path / "trends-2031-04.pdf")
    assert str(tmp_path / "trends-2031-04-months.csv") in written
    assert written[-1] == str(tmp_path / "trends-2031-04.xlsx")


@pytest.mark.parametrize(("code", "words"), [(errno.ENOSPC, "is full"), (errno.EACCES, "cannot be written")])
def test_disk_that_cannot_be_written(tmp_path, monkeypatch, code, words):
    """A full disk is one sentence; the older document stays and no temporary file is left."""
    (tmp_path / "a.pdf").write_bytes(b"older")

    def fail(_):
        raise OSError(code, "made to fail")

    monkeypatch.setattr(pages.os, "fsync", fail)
    with pytest.raises(GaugebookError, match=words):
        pages.write(tmp_path, "a.pdf", b"newer")
    assert (tmp_path / "a.pdf").read_bytes() == b"older"
    assert [path.name for path in tmp_path.iterdir()] == ["a.pdf"]


@pytest.mark.parametrize("code", ["../../etc/x", "a/b", "a b", "", ".", "é", "x" * 300])
def test_file_names_are_safe(code):
    """A batch's name never leads out of the folder, and another name gives another file."""
    name = pages.file_name(code)
    assert name.isascii()
    assert not set(name) & set("/\\ ")
    assert not name.startswith(".")
    assert 0 < len(name) < 100
    assert name != pages.file_name(code + "-")
