"""Files kept unchanged under their SHA-256; the same bytes are received once."""

import hashlib
import os
import stat
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from gaugebook.pipeline.errors import BookError, FileRefused, SettingsError
from gaugebook.pipeline.received.content import Content, CopyInMaking, FileAtRest

LARGEST_BYTES = 2**36  # beyond this something else was given by mistake
BLOCK_BYTES = 2**16  # larger ones cost fresh memory each time, and a tenth of all the time of a long log
COPIED_AT_ONCE = 8


@dataclass(frozen=True)
class IncomingFile:
    """A file on its way in: where it came from, its size, and the copy that is read, perhaps still in the making."""

    path: Path
    size_bytes: int
    copy: Content
    _digest: Future[str]

    @property
    def is_whole(self) -> bool:
        """Whether the copy was made to its end."""
        return self._digest.done() and self._digest.exception() is None

    @property
    def sha256(self) -> str:
        """Of the copy, in hex; waits where the copy is still in the making."""
        return self._digest.result()


def held_file(path: Path, size_bytes: int, sha256: str, book_folder: Path) -> IncomingFile:
    """A file whose copy the book keeps already."""
    digest: Future[str] = Future()
    digest.set_result(sha256)
    return IncomingFile(path, size_bytes, FileAtRest(kept_path(sha256, book_folder)), digest)


def size_of(path: Path) -> int:
    """The file's size [bytes].

    Raises
    ------
    FileRefused
        If it is not a readable file, is empty or is absurdly large.
    """
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise FileRefused("file.not-a-file", f'"{path}" is no file that stays; save what it gives to one first.')
        with path.open("rb") as stream:
            size = os.fstat(stream.fileno()).st_size
    except OSError as error:
        raise _unreadable(path, error) from error
    if size > LARGEST_BYTES:
        raise FileRefused("file.too-large", f'"{path}" has {size} bytes; expected at most {LARGEST_BYTES}.')
    if not size:
        raise FileRefused("file.empty", f'"{path}" is empty; export it from the device again.')
    return size


def sha256_of(path: Path) -> str:
    """The SHA-256 of a file's bytes in hex, read block by block.

    Raises
    ------
    FileRefused
        If it cannot be read.
    """
    digest = hashlib.sha256()
    try:
        with path.open("rb") as stream:
            while block := stream.read(BLOCK_BYTES):
                digest.update(block)
    except OSError as error:
        raise _unreadable(path, error) from error
    return digest.hexdigest()


def keep_copy(path: Path, folder: Path) -> tuple[str, Path]:
    """Copy one file under its SHA-256, with its own suffix: whole and on the disk, or not at all.

    A copy of that name that is not what its name says (cut off by a full disk) is replaced.

    Returns
    -------
    tuple of str and Path
        SHA-256 in hex of what was copied, and where it stands.

    Raises
    ------
    FileRefused
        If the file is none that stays (a pipe, a device), is empty or cannot be read.
    BookError
        If the disk does not take it; nothing is left of it then.
    """
    size_of(path)
    incoming, digest = folder / "incoming.partial", hashlib.sha256()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with path.open("rb") as source, incoming.open("wb") as target:
            while block := source.read(BLOCK_BYTES):
                digest.update(block)
                target.write(block)
            target.flush()
            os.fsync(target.fileno())
        kept = folder / f"{digest.hexdigest()}{path.suffix}"
        if not kept.exists() or sha256_of(kept) != digest.hexdigest():
            incoming.replace(kept)
    except OSError as error:
        raise _cannot_keep(path, folder, error) from error
    finally:
        incoming.unlink(missing_ok=True)
    return digest.hexdigest(), kept


class Keeper:
    """Copies received files into a book's folder under their SHA-256, each whole or not at all.

    A file is copied and hashed in a thread, which then tells the disk to hold the copy for good; meanwhile the copy is
    read as far as it has come. `settle` waits for the disk, and the book may speak of a file only afterwards.
    """

    def __init__(self, book_folder: Path) -> None:
        self.folder, self._incoming = book_folder, book_folder / "kept" / "incoming.partial"
        self._threads = ThreadPoolExecutor(max_workers=COPIED_AT_ONCE)
        self._keeping: list[tuple[IncomingFile, Future[None]]] = []
        self._is_closing = False

    def take(self, path: Path) -> IncomingFile:
        """Begin to copy a file that is not held yet; `place` puts the copy under its hash.

        Raises
        ------
        BookError
            If the copy cannot be begun.
        """
        copy = self._incoming
        try:
            copy.parent.mkdir(parents=True, exist_ok=True)
            source, target = path.open("rb"), copy.open("wb")
            before = path.stat()
        except OSError as error:
            raise _cannot_keep(path, self.folder, error) from error
        making = CopyInMaking(copy, before.st_size)
        file = IncomingFile(path, before.st_size, making, making.sha256)
        self._keeping.append((file, self._threads.submit(self._keep, file, before, making, source, target)))
        return file

    def _keep(
        self, file: IncomingFile, before: os.stat_result, making: CopyInMaking, source: BinaryIO, target: BinaryIO
    ) -> None:
        """Copy, hash and flush; what goes wrong with the copy is told to those who read it."""
        digest, left = hashlib.sha256(), before.st_size
        with source, target:
            try:
                while block := source.read(min(BLOCK_BYTES, left)):
                    left -= len(block)
                    target.write(block)
                    target.flush()
                    digest.update(block)
                    making.grow(len(block))
                    if self._is_closing:
                        raise BookError(f'"{file.path}" was not received to its end.')
                after = file.path.stat()
                if (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns):
                    sentence = f'"{file.path}" was changed while it was read; give it when it is complete.'
                    raise FileRefused("file.changing", sentence)
            except BaseException as error:  # whatever it is, nobody may wait for this copy for ever
                making.fail(_cannot_keep(file.path, self.folder, error) if isinstance(error, OSError) else error)
                return
            making.finish(digest.hexdigest())
            os.fsync(target.fileno())  # of an open file, because its name may change meanwhile

    def place(self, file: IncomingFile) -> None:
        """Put a copy in its place once it is whole, if it is not there.

        Raises
        ------
        BookError
            If it cannot be put there, for example because the disk is full.
        FileRefused
            If the file was changed while it was being copied.
        """
        kept = kept_path(file.sha256, self.folder)
        if file.copy.path == kept:
            return
        try:
            kept.parent.mkdir(parents=True, exist_ok=True)
            file.copy.path.replace(kept)
        except OSError as error:
            raise _cannot_keep(file.path, self.folder, error) from error

    def settle(self) -> None:
        """Wait until every copy is on the disk.

        Raises
        ------
        BookError
            If the disk does not take one.
        """
        while self._keeping:
            file, kept = self._keeping.pop()
            wait([kept])
            if not file.is_whole:
                continue  # who read it was told
            try:
                kept.result()
            except OSError as error:
                kept_path(file.sha256, self.folder).unlink(missing_ok=True)
                raise _cannot_keep(file.path, self.folder, error) from error

    def close(self) -> None:
        """Let the threads go; a copy in the making is given up, one that was never placed removed."""
        self._is_closing = True
        self._threads.shutdown()
        self._incoming.unlink(missing_ok=True)


def _cannot_keep(path: Path, folder: Path, error: OSError) -> BookError:
    return BookError(
        f'"{path}" cannot be kept in "{folder}": {error.strerror}. '
        "Make room or give another --book; what was received before is safe."
    )


def _unreadable(path: Path, error: OSError) -> FileRefused:
    return FileRefused("file.unreadable", f'"{path}" cannot be read: {error.strerror}.')


def kept_path(sha256: str, book_folder: Path) -> Path:
    """Where the kept copy of a file with this SHA-256 stands."""
    return book_folder / "kept" / sha256[:2] / sha256


def readable(path: Path) -> Path:
    """The path as it can be printed and kept as text: bytes of a name that are no UTF-8 are written as \\xff.

    >>> readable(Path("log_\\udcff.csv")).name
    'log_\\\\xff.csv'
    """
    return Path(os.fsencode(path).decode("utf-8", "backslashreplace"))


def require_name(path: Path) -> None:
    """A name that is text, so that book and documents can name the file.

    Raises
    ------
    FileRefused
        If it holds bytes that are no UTF-8.
    """
    if readable(path) != path:
        raise FileRefused(
            "file.name-not-text", f'"{readable(path)}": its name holds bytes that are no UTF-8; rename it.'
        )


def files_below(paths: list[Path]) -> list[Path]:
    """The files named, and what stands in the folders named, in order of name; hidden files are left out.

    Pipes, devices and links to nothing are among them, so that they are refused by name.

    Raises
    ------
    SettingsError
        If a folder cannot be looked into.
    """
    files: list[Path] = []
    for path in paths:
        files += sorted(_inside(path)) if path.is_dir() else [path]
    return list(dict.fromkeys(files))


def _inside(folder: Path) -> Iterator[Path]:
    def refuse(error: OSError) -> None:
        raise SettingsError(f'The folder "{error.filename}" cannot be read: {error.strerror}; nothing was received.')

    for place, folders, names in os.walk(folder, onerror=refuse):
        folders[:] = [name for name in folders if not name.startswith(".")]
        yield from (Path(place) / name for name in names if not name.startswith("."))
