"""Files kept unchanged under their SHA-256; the same bytes are received once."""

import hashlib
import os
import shutil
from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import BookError, FileRefused

LARGEST_BYTES = 2**36  # beyond this something else was given by mistake
BLOCK_BYTES = 2**20


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


def keep(file: IncomingFile, book_folder: Path) -> Path:
    """Copy the bytes into the book's folder under their SHA-256, whole or not at all.

    Raises
    ------
    BookError
        If the copy cannot be written, for example because the disk is full.
    FileRefused
        If the file was changed while it was being read.
    """
    kept = kept_path(file.sha256, book_folder)
    if kept.exists() and kept.stat().st_size == file.size_bytes:
        return kept
    partial = kept.with_suffix(".partial")
    try:
        kept.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(file.path, partial)
        _flush(partial)
        status = file.path.stat()
        if (status.st_size, status.st_mtime_ns) != (file.size_bytes, file.changed_ns):
            raise FileRefused(
                "file.changing", f'"{file.path}" was changed while it was read; give it when it is complete.'
            )
        partial.replace(kept)
    except OSError as error:
        raise BookError(
            f'"{file.path}" cannot be kept in "{book_folder}": {error.strerror}. '
            "Make room or give another --book; what was received before is safe."
        ) from error
    finally:
        partial.unlink(missing_ok=True)
    return kept


def _flush(path: Path) -> None:
    """Have the bytes on the disk before the book says that they are there."""
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
