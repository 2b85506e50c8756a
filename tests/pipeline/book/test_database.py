"""The book under use by others, and out of room."""

import errno
import subprocess
import sys
import textwrap
from unittest.mock import Mock

import duckdb
import pytest

from gaugebook.pipeline.book import database
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import BookError


def test_no_book_yet(tmp_path):
    """Reading where there is no book says how to make one."""
    with pytest.raises(BookError, match="gaugebook receive"), open_book(tmp_path / "book"):
        pass


def test_a_book_in_use_names_the_holder(tmp_path, monkeypatch):
    """While another process writes, a second one waits a stated time and then names that process."""
    monkeypatch.setattr(database, "WAIT_S", 0.3)
    with open_book(tmp_path / "book", writing=True) as book:
        book.execute("CREATE TABLE t (i INTEGER)")
    holder = subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(f"""
            import duckdb, sys
            held = duckdb.connect({str(tmp_path / "book" / database.FILE_NAME)!r})
            print("held", flush=True)
            sys.stdin.read()
        """)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        assert holder.stdout is not None and holder.stdout.readline() == "held\n"
        with pytest.raises(BookError, match=f"in use by process {holder.pid}"), open_book(tmp_path / "book"):
            pass
    finally:
        holder.communicate()
    with open_book(tmp_path / "book") as book:  # no lock outlives its process
        assert book.value("SELECT count(*) FROM t") == 0


def test_a_damaged_book_is_one_sentence(tmp_path):
    """A file that is no book is named, without a traceback of the database."""
    (tmp_path / "book").mkdir()
    (tmp_path / "book" / database.FILE_NAME).write_bytes(b"not a book" * 1000)

    with pytest.raises(BookError, match="could not be used"), open_book(tmp_path / "book"):
        pass


@pytest.mark.parametrize("folder", ["block 7", "no space left", "locks"])
def test_words_in_a_damaged_books_path_do_not_make_it_in_use(tmp_path, folder):
    """Whether a book is held or its disk is full is asked of the system: words in its path say nothing of it."""
    (tmp_path / folder).mkdir()
    (tmp_path / folder / database.FILE_NAME).write_bytes(b"not a book" * 1000)

    with pytest.raises(BookError, match="could not be used"), open_book(tmp_path / folder):
        pass


@pytest.mark.parametrize("table", ["barrel_lock", '"no space left"'])
def test_words_in_a_statement_do_not_make_the_book_in_use(tmp_path, table):
    """A statement that fails is told as it failed, whatever the names in it."""
    with pytest.raises(BookError, match="could not be used"), open_book(tmp_path, writing=True) as book:
        book.execute(f"SELECT * FROM {table}")


def test_a_full_disk_is_found_by_writing_not_by_the_wording(tmp_path, monkeypatch):
    """A fault of input or output where nothing can be written is a full disk, in whatever words; else it is not."""

    def fail():
        with open_book(tmp_path, writing=True):
            raise duckdb.IOException("das Lesen ging schief")

    with pytest.raises(BookError, match=r"could not be used \(das Lesen ging schief\)"):
        fail()
    for number in (errno.ENOSPC, errno.EDQUOT):
        full = OSError(number, "Kein Platz")
        monkeypatch.setattr(database.tempfile, "TemporaryFile", Mock(side_effect=full))
        with pytest.raises(BookError, match="is full: make room"):
            fail()


def test_the_holder_is_named_in_whatever_words_the_database_refuses(tmp_path, monkeypatch):
    """The process that holds the book comes from the system's own list of locks."""
    monkeypatch.setattr(database, "WAIT_S", 0.3)
    refuse = Mock(side_effect=duckdb.IOException("belegt"))
    monkeypatch.setattr(database.duckdb, "connect", refuse)
    monkeypatch.setattr(database, "lock_holder", lambda file: 4711)
    (tmp_path / database.FILE_NAME).touch()

    with pytest.raises(BookError, match="in use by process 4711"), open_book(tmp_path):
        pass


def test_a_transaction_is_all_or_nothing(tmp_path):
    """An error inside leaves nothing of what was written in the same transaction."""
    with open_book(tmp_path / "book", writing=True) as book:
        book.execute("CREATE TABLE t (i INTEGER)")
        with pytest.raises(ZeroDivisionError), book.transaction():
            book.execute("INSERT INTO t VALUES (1)")
            raise ZeroDivisionError
        assert book.value("SELECT count(*) FROM t") == 0


def test_a_long_query_prints_nothing(tmp_path):
    """What a command prints is its own: no progress of a query stands among it."""
    with open_book(tmp_path, writing=True) as book:
        assert book.frame("SELECT current_setting('enable_progress_bar') AS is_on")["is_on"].to_list() == [False]
