"""Files copied into the book while they are read: the same bytes, or a reason."""

import errno
import hashlib
import os
import threading
from pathlib import Path

import pytest
from small_house import write_house

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import BookError, FileRefused, SettingsError
from gaugebook.pipeline.intake.flow import receive
from gaugebook.pipeline.received import files
from gaugebook.pipeline.received.content import CopyInMaking
from gaugebook.pipeline.received.files import (
    IncomingFile,
    Keeper,
    files_below,
    held_file,
    keep_copy,
    kept_path,
    sha256_of,
    size_of,
)

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


def refused(path, ask) -> FileRefused:
    """The refusal that a question about this path ends in; its sentence names the path."""
    with pytest.raises(FileRefused) as found:
        ask(path)
    assert f'"{path}"' in str(found.value)
    return found.value


def test_a_size_is_that_of_a_readable_file(log):
    """In bytes, as the file system has it."""
    assert size_of(log) == len(LONG)


def test_what_is_no_file_is_refused_by_its_kind(tmp_path, monkeypatch):
    """A folder, a pipe, a name without a file, an empty file and one too large each have their own code and remedy."""
    pipe, empty, large = tmp_path / "pipe", tmp_path / "empty.csv", tmp_path / "large.csv"
    os.mkfifo(pipe)
    empty.touch()
    large.write_bytes(b"four")
    monkeypatch.setattr(files, "LARGEST_BYTES", 3)

    found = {path.name: refused(path, size_of) for path in (tmp_path, pipe, tmp_path / "gone.csv", empty, large)}

    assert {name: error.code for name, error in found.items()} == {
        tmp_path.name: "file.not-a-file", "pipe": "file.not-a-file", "gone.csv": "file.unreadable",
        "empty.csv": "file.empty", "large.csv": "file.too-large",
    }  # fmt: skip
    assert "save what it gives to one first" in str(found["pipe"])
    assert "No such file or directory" in str(found["gone.csv"])
    assert "export it from the device again" in str(found["empty.csv"])
    assert "has 4 bytes; expected at most 3" in str(found["large.csv"])


def test_a_file_of_just_the_largest_size_is_taken(log, monkeypatch):
    """The limit itself is no fault."""
    monkeypatch.setattr(files, "LARGEST_BYTES", len(LONG))
    assert size_of(log) == len(LONG)


def test_the_hash_is_over_all_blocks(log, tmp_path):
    """SHA-256 as hashlib has it of the whole; of nothing the one that FIPS 180-4's examples give (from memory)."""
    (tmp_path / "empty").touch()

    assert sha256_of(log) == hashlib.sha256(LONG).hexdigest()
    assert sha256_of(tmp_path / "empty") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    assert refused(tmp_path, sha256_of).code == "file.unreadable"


def test_a_file_that_the_book_holds_is_read_from_its_copy(keeper, tmp_path):
    """It has size and hash at once, is whole, is read where it is kept, and placing it again moves nothing."""
    content = b"lot,no,ml\n"
    digest = hashlib.sha256(content).hexdigest()
    kept = kept_path(digest, tmp_path / "book")
    kept.parent.mkdir(parents=True)
    kept.write_bytes(content)

    file = held_file(tmp_path / "elsewhere.csv", len(content), digest, tmp_path / "book")
    keeper.place(file)

    assert (file.sha256, file.is_whole, file.copy.size_bytes, file.copy.whole()) == (digest, True, len(content), kept)
    with file.copy.open() as stream:
        assert stream.read() == content
    assert kept.read_bytes() == content


def test_a_file_is_not_whole_before_it_is_written(tmp_path):
    """Neither while it is written nor when that failed; the hash is there once it is."""
    (tmp_path / "copy").touch()
    making, broken = CopyInMaking(tmp_path / "copy", 3), CopyInMaking(tmp_path / "copy", 3)
    states = [IncomingFile(tmp_path / "a.csv", 3, making, making.sha256).is_whole]
    making.finish("ab" * 32)
    states.append(IncomingFile(tmp_path / "a.csv", 3, making, making.sha256).is_whole)
    broken.fail(BookError("no room"))
    states.append(IncomingFile(tmp_path / "a.csv", 3, broken, broken.sha256).is_whole)

    assert states == [False, True, False]
    assert making.whole() == tmp_path / "copy"
    with pytest.raises(BookError, match="no room"):
        broken.whole()


def test_a_reader_gets_what_there_is_of_a_shorter_copy(tmp_path):
    """Who asks for more than the file will ever have is not kept waiting; the reader says where it stands."""
    path = tmp_path / "copy"
    path.write_bytes(b"abc")
    copy = CopyInMaking(path, 3)
    copy.grow(3)
    with copy.open() as stream:
        assert stream.readable()
        assert stream.read(2) == b"ab"
        assert stream.tell() == 2
        assert stream.read(100) == b"c"
        assert stream.read(1) == b""


def test_a_place_that_cannot_be_made_is_one_sentence(keeper, log, tmp_path):
    """Where the folder of the copies is barred by a file, the sentence names the file, the book and what to do."""
    digest = hashlib.sha256(LONG).hexdigest()
    (tmp_path / "book" / "kept").mkdir(parents=True)
    (tmp_path / "book" / "kept" / digest[:2]).touch()
    file = keeper.take(log)

    with pytest.raises(BookError, match=r'log\.csv" cannot be kept in ".*book".*Make room or give another --book'):
        keeper.place(file)


def test_a_disk_that_does_not_hold_a_copy_loses_it_again(keeper, log, tmp_path, monkeypatch):
    """What the disk did not confirm is not left in the book as if it were safe."""

    def no_disk(descriptor: int) -> None:
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(os, "fsync", no_disk)
    file = keeper.take(log)
    keeper.place(file)
    kept = kept_path(file.sha256, tmp_path / "book")
    assert kept.exists()

    with pytest.raises(BookError, match="Input/output error"):
        keeper.settle()
    assert not kept.exists()


def test_settling_leaves_out_what_its_reader_was_told_of(keeper, log, monkeypatch):
    """A copy that failed is no second error at the end."""

    def broken(copy: CopyInMaking, count: int) -> None:
        if count:
            raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(CopyInMaking, "grow", broken)
    file = keeper.take(log)
    with pytest.raises(BookError, match="cannot be kept"):
        _ = file.sha256

    keeper.settle()


def test_files_below_a_folder_come_by_name_and_once(tmp_path):
    """What is named comes in the order given, what lies in a folder by name, a pipe too, so that it is refused by name;
    hidden files and folders not at all."""
    for name in ("b.csv", "a.csv", ".hidden.csv", "deep/c.csv", ".trash/d.csv"):
        (tmp_path / "in" / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / "in" / name).touch()
    os.mkfifo(tmp_path / "in" / "pipe")

    named = [tmp_path / "in" / "b.csv", tmp_path / "in", tmp_path / "gone.csv"]
    found = [path.relative_to(tmp_path).as_posix() for path in files_below(named)]

    assert found == ["in/b.csv", "in/a.csv", "in/deep/c.csv", "in/pipe", "gone.csv"]


def test_a_folder_that_cannot_be_looked_into_stops_everything(tmp_path, monkeypatch):
    """Nothing is received by half: the sentence names the folder."""
    (tmp_path / "in" / "locked").mkdir(parents=True)
    look = os.scandir

    def barred(path):
        if str(path).endswith("locked"):
            raise PermissionError(errno.EACCES, "Permission denied", str(path))
        return look(path)

    monkeypatch.setattr(os, "scandir", barred)
    with pytest.raises(SettingsError, match=r'locked" cannot be read: Permission denied; nothing was received'):
        files_below([tmp_path / "in"])


def test_one_file_is_kept_whole_under_its_hash(tmp_path, log):
    """With its own suffix; nothing else stands beside it, and once more changes nothing."""
    for _ in range(2):
        digest, kept = keep_copy(log, tmp_path / "attachments")

    assert digest == hashlib.sha256(LONG).hexdigest()
    assert kept.read_bytes() == LONG and kept.name == f"{digest}.csv"
    assert [path.name for path in (tmp_path / "attachments").iterdir()] == [kept.name]


def test_a_stump_of_an_earlier_copy_is_replaced(tmp_path, log):
    """What a full disk or a killed program left under the name of the whole file is not taken for it."""
    stump = tmp_path / "attachments" / f"{hashlib.sha256(LONG).hexdigest()}.csv"
    stump.parent.mkdir()
    stump.write_bytes(LONG[:1000])

    assert keep_copy(log, tmp_path / "attachments")[1].read_bytes() == LONG


def test_a_full_disk_leaves_nothing(tmp_path, log, monkeypatch):
    """One sentence, and no file that only looks whole."""

    def full(_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(files.os, "fsync", full)
    with pytest.raises(BookError, match="No space left on device"):
        keep_copy(log, tmp_path / "attachments")
    assert list((tmp_path / "attachments").iterdir()) == []


@pytest.mark.parametrize("kind", ["pipe", "device"])
def test_what_is_no_file_that_stays_is_not_kept(tmp_path, kind):
    """A pipe would keep the book waiting, a device has no end: both are refused before they are opened."""
    path = tmp_path / "pipe"
    if kind == "pipe":
        os.mkfifo(path)
    with pytest.raises(FileRefused, match="is no file that stays"):
        keep_copy(path if kind == "pipe" else Path("/dev/zero"), tmp_path / "attachments")
