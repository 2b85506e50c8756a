"""Who holds the file of the book: asked of the system, which knows, and not read out of the database's sentences."""

import struct
import sys
from pathlib import Path

# struct flock of <fcntl.h>: format, and the places of its type and of the holder's process
_LINUX, _BSD = ("hhqqi", 0, 4), ("qqihh", 3, 2)


def lock_holder(file: Path) -> int | None:
    """Number of a process that holds a lock on a file which keeps this process from writing it; None where none does.

    Closing a file gives up what locks this process itself has on it, so ask only after it was refused one.

    Parameters
    ----------
    file : Path
        A file that may be read; where it cannot be, nobody is known to hold it.

    Source
    ------
    POSIX.1-2017, fcntl(), F_GETLK: the first lock that blocks the one described.

    Examples
    --------
    >>> lock_holder(Path(__file__)) is None
    True
    """
    if sys.platform == "win32":  # which has no such question; its locks are told as "could not be used"
        return None
    import fcntl

    form, type_at, process_at = _BSD if sys.platform == "darwin" else _LINUX
    wanted: list[int] = [0] * 5  # from the beginning to the end of the file
    wanted[type_at] = fcntl.F_WRLCK
    try:
        with file.open("rb") as stream:
            answer = struct.unpack(form, fcntl.fcntl(stream, fcntl.F_GETLK, struct.pack(form, *wanted)))
    except OSError:
        return None
    return None if answer[type_at] == fcntl.F_UNLCK else int(answer[process_at])
