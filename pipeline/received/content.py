"""The bytes of a file to be read: at rest, or of a copy that another thread is still writing.

A long log is read as far as its copy has come, so that what is read is what is kept and the disk keeps nobody waiting.
"""

import io
from concurrent.futures import Future
from dataclasses import dataclass
from pathlib import Path
from threading import Condition
from typing import BinaryIO


@dataclass(frozen=True)
class FileAtRest:
    """A file that nobody is writing."""

    path: Path

    @property
    def size_bytes(self) -> int:
        """Its size."""
        return self.path.stat().st_size

    def open(self) -> BinaryIO:
        """Its bytes from the beginning."""
        return self.path.open("rb")

    def whole(self) -> Path:
        """Where it stands."""
        return self.path


class CopyInMaking:
    """A copy that one thread writes and others read behind it.

    Parameters
    ----------
    path : Path
        Of the copy; it exists already, perhaps without content.
    size_bytes : int
        That it will have.
    """

    def __init__(self, path: Path, size_bytes: int) -> None:
        self.path, self.size_bytes = path, size_bytes
        self.sha256: Future[str] = Future()  # in hex, once all of it is written
        self._written_bytes = 0
        self._changed = Condition()

    def grow(self, count: int) -> None:
        """So many bytes more can be read."""
        with self._changed:
            self._written_bytes += count
            self._changed.notify_all()

    def finish(self, sha256: str) -> None:
        """All of it is written."""
        self.sha256.set_result(sha256)
        self.grow(0)

    def fail(self, error: BaseException) -> None:
        """It will never be whole; whoever reads it is told why."""
        self.sha256.set_exception(error)
        self.grow(0)

    def wait_for(self, position: int) -> None:
        """Wait until the bytes before this position can be read, or all that there are.

        Raises
        ------
        GaugebookError
            If the copy failed.
        """
        wanted = min(position, self.size_bytes)
        with self._changed:
            self._changed.wait_for(lambda: self._written_bytes >= wanted or self.sha256.done())
        if self.sha256.done():
            self.sha256.result()

    def open(self) -> BinaryIO:
        """Its bytes from the beginning; who reads them waits for those that are not there yet."""
        return io.BufferedReader(_Behind(self))

    def whole(self) -> Path:
        """Where it stands, once it is whole."""
        self.sha256.result()
        return self.path


Content = FileAtRest | CopyInMaking


class _Behind(io.RawIOBase):
    """A reader that never overtakes the writer."""

    def __init__(self, copy: CopyInMaking) -> None:
        self._copy, self._stream = copy, copy.path.open("rb", buffering=0)

    def readable(self) -> bool:
        return True

    def tell(self) -> int:
        return self._stream.tell()

    def readinto(self, buffer: memoryview) -> int:  # type: ignore[override]
        self._copy.wait_for(self._stream.tell() + len(buffer))
        return self._stream.readinto(buffer)

    def close(self) -> None:
        self._stream.close()
        super().close()
