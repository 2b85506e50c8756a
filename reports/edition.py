"""What a document was made by: the program's version and the hash of the rule book."""

import hashlib
from importlib.metadata import version
from pathlib import Path

import checks

SOFTWARE = "gaugebook"


def software_version() -> str:
    return f"{SOFTWARE} {version(SOFTWARE)}"


def rule_book_sha256() -> str:
    """SHA-256 over the rules and the published limits, file by file in the order of their names."""
    root = Path(checks.__file__).parent
    digest = hashlib.sha256()
    for path in sorted([*root.glob("rules/*.toml"), *root.glob("limits/*.toml")]):
        text = path.read_bytes().replace(b"\r\n", b"\n")
        digest.update(f"{path.parent.name}/{path.name} {len(text)}\n".encode())
        digest.update(text)
    return digest.hexdigest()
