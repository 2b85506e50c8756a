"""Files kept unchanged under their SHA-256; the same bytes are received once."""

import hashlib
import os
import shutil
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from pipeline.errors import BookError, FileRefused

LARGEST_BYTES = 2**36  # beyond this something else was given by mistake
BLOCK_BYTES = 2**20
FLUSHED_AT_ONCE = 8


@dataclass(frozen=True)
class IncomingFile:
    """A file on its way in: where it came from, its size, the copy that is read, and the hash of that copy."""

    path: Path
    size_bytes: int
    copy: Path
    _digest: Future[str]

    @property
    def sha256(self) -> str:
        """In hex; waits where it is still in the making."""
        return self._digest.result()


def held_file(path: Path, size_bytes: int, sha256: str, book_folder: Path) -> IncomingFile:
    """A file whose copy the book keeps already."""
    digest: Future[str] = Future()
    digest.set_result(sha256)
    return IncomingFile(path, size_bytes, kept_path(sha256, book_folder), digest)


def size_of(path: Path) -> int:
    """The file's size [bytes].

    Raises
    ------
    FileRefused
        If it is not a readable file, is empty or is absurdly large.
    """
    try:
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


class Keeper:
    """Copies received files into a book's folder under their SHA-256, each whole or not at all.

    A copy is hashed in a thread while it is read, and the disk is told to hold it for good in another; `settle` waits
    for that, and the book may speak of a file only afterwards.
    """

    def __init__(self, book_folder: Path) -> None:
        self.folder = book_folder
        self._threads = ThreadPoolExecutor(max_workers=FLUSHED_AT_ONCE)
        self._flushing: list[tuple[IncomingFile, Future[None]]] = []

    def take(self, path: Path) -> IncomingFile:
        """Copy a file that is not held yet; `place` puts the copy under its hash.

        Raises
        ------
        BookError
            If the copy cannot be written, for example because the disk is full.
        FileRefused
            If the file was changed while it was being copied.
        """
        copy = self.folder / "kept" / "incoming.partial"
        try:
            before = path.stat()
            copy.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(path, copy)
            after = path.stat()
        except OSError as error:
            copy.unlink(missing_ok=True)
            raise self._cannot_keep(path, error) from error
        if (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns):
            copy.unlink(missing_ok=True)
            raise FileRefused("file.changing", f'"{path}" was changed while it was read; give it when it is complete.')
        file = IncomingFile(path, after.st_size, copy, self._threads.submit(sha256_of, copy))
        self._flushing.append((file, self._threads.submit(_flush, copy.open("rb"))))
        return file

    def place(self, file: IncomingFile) -> None:
        """Put a copy in its place, if it is not there.

        Raises
        ------
        BookError
            If it cannot be put there.
        """
        kept = kept_path(file.sha256, self.folder)
        if file.copy == kept:
            return
        try:
            kept.parent.mkdir(parents=True, exist_ok=True)
            file.copy.replace(kept)
        except OSError as error:
            raise self._cannot_keep(file.path, error) from error

    def settle(self) -> None:
        """Wait until every copy is on the disk.

        Raises
        ------
        BookError
            If the disk does not take one.
        """
        while self._flushing:
            file, flushed = self._flushing.pop()
            try:
                flushed.result()
            except OSError as error:
                kept_path(file.sha256, self.folder).unlink(missing_ok=True)
                raise self._cannot_keep(file.path, error) from error

    def close(self) -> None:
        """Let the threads go."""
        self._threads.shutdown()

    def _cannot_keep(self, path: Path, error: OSError) -> BookError:
        return BookError(
            f'"{path}" cannot be kept in "{self.folder}": {error.strerror}. '
            "Make room or give another --book; what was received before is safe."
        )


def _unreadable(path: Path, error: OSError) -> FileRefused:
    return FileRefused("file.unreadable", f'"{path}" cannot be read: {error.strerror}.')


def _flush(stream: BinaryIO) -> None:
    """Of an open file, because its name may change meanwhile."""
    with stream:
        os.fsync(stream.fileno())


def kept_path(sha256: str, book_folder: Path) -> Path:
    """Where the kept copy of a file with this SHA-256 stands."""
    return book_folder / "kept" / sha256[:2] / sha256


def files_below(paths: list[Path]) -> list[Path]:
    """The files named, and those in the folders named, in order of name; hidden ones are left out."""
    found: list[Path] = []
    for path in paths:
        if path.is_dir():
            inside = (item for item in path.rglob("*") if item.is_file())
            found += sorted(item for item in inside if not item.relative_to(path).as_posix().startswith("."))
        else:
            found.append(path)
    return list(dict.fromkeys(found))
