"""Files copied into the book while they are read: the same bytes, or a reason."""

import errno
import hashlib
import threading

import pytest
from small_house import write_house

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import BookError, FileRefused
from gaugebook.pipeline.intake.flow import receive
from gaugebook.pipeline.received.content import CopyInMaking
from gaugebook.pipeline.received.files import Keeper, kept_path

LONG = b"".join(b"%d,60.0\n" % number for number in range(400_000))


@pytest.fixture
def keeper(tmp_path):
    """Of a book that stands beside the test's files."""
    keeper = Keeper(tmp_path / "book")
    yield keeper
    keeper.close()


@pytest.fixture
def log(tmp_path):
    """A file of several megabytes."""
    path = tmp_path / "log.csv"
    path.write_bytes(LONG)
    return path


def test_what_is_read_behind_the_copy_is_the_file(keeper, log, tmp_path):
    """The bytes read while the copy is made, the copy in its place and the file are the same."""
    file = keeper.take(log)
    with file.copy.open() as stream:
        assert stream.read() == LONG
    keeper.place(file)
    keeper.settle()

    assert file.sha256 == hashlib.sha256(LONG).hexdigest()
    assert kept_path(file.sha256, tmp_path / "book").read_bytes() == LONG


def test_a_reader_waits_for_the_writer(tmp_path):
    """Who asks for more than is written gets it once it is there, and never less."""
    path = tmp_path / "copy"
    copy = CopyInMaking(path, 6)
    read: list[bytes] = []
    with path.open("wb", buffering=0) as target, copy.open() as stream:
        reader = threading.Thread(target=lambda: read.append(stream.read(6)))
        reader.start()
        for piece in (b"ab", b"cd", b"ef"):
            reader.join(0.02)
            assert not read
            target.write(piece)
            copy.grow(2)
        reader.join(10)
    assert read == [b"abcdef"]


def test_a_file_that_changes_while_it_is_read_is_refused_and_not_kept(tmp_path, monkeypatch):
    """A device that goes on writing is told so; the file is taken once it is complete."""
    write_house(tmp_path / "site")
    path = tmp_path / "site" / "fills.csv"
    path.write_text("lot,no,ml\nRYE-1,1,500\n", encoding="utf-8")
    grow = CopyInMaking.grow

    def grow_and_write_on(copy: CopyInMaking, count: int) -> None:
        with path.open("a", encoding="utf-8") as stream:
            stream.write("RYE-1,2,500\n")
        grow(copy, count)

    with monkeypatch.context() as during:
        during.setattr(CopyInMaking, "grow", grow_and_write_on)
        (outcome,) = receive(tmp_path / "book", [path], None)

    assert outcome.outcome == "refused" and "was changed while it was read" in outcome.reason
    assert not [item for item in (tmp_path / "book" / "kept").rglob("*") if item.is_file()]
    with open_book(tmp_path / "book") as book:
        assert book.value("SELECT sha256 FROM received.refused_files") is None
        assert book.value("SELECT count(*) FROM typed.fills") == 0
    assert receive(tmp_path / "book", [path], None)[0].outcome == "received"


def test_a_disk_that_takes_no_copy_stops_whoever_reads_it(keeper, log, monkeypatch):
    """What went wrong with the copy is said to its reader, in one sentence."""

    def full(copy: CopyInMaking, count: int) -> None:
        if count:
            raise OSError(errno.ENOSPC, "No space left on device")
        grow(copy, count)

    grow = CopyInMaking.grow
    monkeypatch.setattr(CopyInMaking, "grow", full)
    file = keeper.take(log)

    with pytest.raises(BookError, match="cannot be kept"), file.copy.open() as stream:
        stream.read()
    with pytest.raises(BookError, match="Make room"):
        keeper.place(file)


def test_a_copy_that_nobody_waits_for_is_given_up(log, tmp_path, monkeypatch):
    """An interrupted turn leaves no copy and does not copy to the end first."""
    keeper = Keeper(tmp_path / "book")
    with monkeypatch.context() as at_once:
        at_once.setattr(keeper, "_is_closing", True)
        file = keeper.take(log)
        keeper.close()

    with pytest.raises(BookError, match="not received to its end"):
        file.copy.whole()
    assert not (tmp_path / "book" / "kept" / "incoming.partial").exists()


def test_a_file_that_vanishes_is_one_sentence(keeper, tmp_path):
    """A path that cannot be opened is said by its name."""
    with pytest.raises((BookError, FileRefused), match=r"gone\.csv"):
        keeper.take(tmp_path / "gone.csv")
