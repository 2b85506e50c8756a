"""Files kept unchanged under their SHA-256; the same bytes are received once."""

import hashlib
import os
from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import BookError, FileRefused

LARGEST_BYTES = 2**31  # one file of a log; beyond this something else was given by mistake


@dataclass(frozen=True)
class IncomingFile:
    """A file on its way in: where it lies, its bytes and their SHA-256 in hex."""

    path: Path
    content: bytes
    sha256: str


def read_incoming(path: Path) -> IncomingFile:
    """The file's bytes and their SHA-256.

    Raises
    ------
    FileRefused
        If it is not a readable file, is empty or is absurdly large.
    """
    try:
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            raise FileRefused("file.too-large", f'"{path}" has {size} bytes; expected at most {LARGEST_BYTES}.')
        content = path.read_bytes()
    except OSError as error:
        raise FileRefused("file.unreadable", f'"{path}" cannot be read: {error.strerror}.') from error
    if not content:
        raise FileRefused("file.empty", f'"{path}" is empty; export it from the device again.')
    return IncomingFile(path, content, hashlib.sha256(content).hexdigest())


def keep(file: IncomingFile, book_folder: Path) -> Path:
    """Copy the bytes into the book's folder under their SHA-256, whole or not at all.

    Raises
    ------
    BookError
        If the copy cannot be written, for example because the disk is full.
    """
    kept = kept_path(file.sha256, book_folder)
    if kept.exists():
        return kept
    partial = kept.with_suffix(".partial")
    try:
        kept.parent.mkdir(parents=True, exist_ok=True)
        with partial.open("wb") as stream:
            stream.write(file.content)
            stream.flush()
            os.fsync(stream.fileno())
        partial.replace(kept)
    except OSError as error:
        partial.unlink(missing_ok=True)
        raise BookError(
            f'"{file.path}" cannot be kept in "{book_folder}": {error.strerror}. '
            "Make room or give another --book; what was received before is safe."
        ) from error
    return kept


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
