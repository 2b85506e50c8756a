"""Which edition of the code a book was worked on with: an edition that computes otherwise must not pass for another."""

from functools import cache
from hashlib import sha256
from pathlib import Path

CODE = ("**/*.py", "**/*.sql", "**/*.toml")


@cache
def code_sha256(package: Path, patterns: tuple[str, ...] = CODE) -> str:
    """SHA-256 over the code and rules in the folder of a package, or over some of its files, in hex.

    The same on every platform: line ends and the order of file names do not count.

    >>> code_sha256(Path(__file__).parent) == code_sha256(Path(__file__).parent)
    True
    """
    code = sha256()
    for path in sorted((path for pattern in patterns for path in package.glob(pattern)), key=Path.as_posix):
        code.update(path.read_bytes().replace(b"\r\n", b"\n"))
    return code.hexdigest()
