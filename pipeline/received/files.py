"""Files kept unchanged under their SHA-256; the same bytes are received once."""

import hashlib
import os
import shutil
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import BookError, FileRefused

LARGEST_BYTES = 2**36  # beyond this something else was given by mistake
BLOCK_BYTES = 2**20
FLUSHED_AT_ONCE = 8


@dataclass(frozen=True)
class IncomingFile:
    """A file on its way in: where it lies, its size, its SHA-256 in hex, and when it was last changed."""

    path: Path
    size_bytes: int
    sha256: str
    changed_ns: int


def look_at(path: Path) -> IncomingFile:
    """The file's size and SHA-256, read block by block.

    Raises
    ------
    FileRefused
        If it is not a readable file, is empty or is absurdly large.
    """
    try:
        status = path.stat()
        if status.st_size > LARGEST_BYTES:
            raise FileRefused(
                "file.too-large", f'"{path}" has {status.st_size} bytes; expected at most {LARGEST_BYTES}.'
            )
        digest = hashlib.sha256()
        with path.open("rb") as stream:
            while block := stream.read(BLOCK_BYTES):
                digest.update(block)
    except OSError as error:
        raise FileRefused("file.unreadable", f'"{path}" cannot be read: {error.strerror}.') from error
    if not status.st_size:
        raise FileRefused("file.empty", f'"{path}" is empty; export it from the device again.')
    return IncomingFile(path, status.st_size, digest.hexdigest(), status.st_mtime_ns)


class Keeper:
    """Copies received files into a book's folder under their SHA-256, each whole or not at all.

    The disk is told to hold them for good in threads, beside the reading; `settle` waits for that, and the book may
    speak of a file only afterwards.
    """

    def __init__(self, book_folder: Path) -> None:
        self.folder = book_folder
        self._threads = ThreadPoolExecutor(max_workers=FLUSHED_AT_ONCE)
        self._flushing: list[tuple[IncomingFile, Future[None]]] = []

    def keep(self, file: IncomingFile) -> Path:
        """Copy the bytes; the copy's path.

        Raises
        ------
        BookError
            If the copy cannot be written, for example because the disk is full.
        FileRefused
            If the file was changed while it was being read.
        """
        kept = kept_path(file.sha256, self.folder)
        partial = kept.with_suffix(".partial")
        try:
            kept.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(file.path, partial)
            status = file.path.stat()
            if (status.st_size, status.st_mtime_ns) != (file.size_bytes, file.changed_ns):
                raise FileRefused(
                    "file.changing", f'"{file.path}" was changed while it was read; give it when it is complete.'
                )
            partial.replace(kept)
        except OSError as error:
            raise self._cannot_keep(file, error) from error
        finally:
            partial.unlink(missing_ok=True)
        self._flushing.append((file, self._threads.submit(_flush, kept)))
        return kept

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
                raise self._cannot_keep(file, error) from error

    def close(self) -> None:
        """Let the threads go."""
        self._threads.shutdown()

    def _cannot_keep(self, file: IncomingFile, error: OSError) -> BookError:
        return BookError(
            f'"{file.path}" cannot be kept in "{self.folder}": {error.strerror}. '
            "Make room or give another --book; what was received before is safe."
        )


def _flush(path: Path) -> None:
    with path.open("rb") as stream:
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
