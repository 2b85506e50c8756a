"""Which edition of the code a book was worked on with: an edition that computes otherwise must not pass for another."""

from functools import cache
from hashlib import sha256
from pathlib import Path

CODE_SUFFIXES = (".py", ".sql", ".toml")


@cache
def code_sha256(package: Path) -> str:
    """SHA-256 over all code and rules in the folder of a package, in hex.

    >>> code_sha256(Path(__file__).parent) == code_sha256(Path(__file__).parent)
    True
    """
    code = sha256()
    for path in sorted(path for path in package.rglob("*") if path.suffix in CODE_SUFFIXES):
        code.update(path.read_bytes())
    return code.hexdigest()
