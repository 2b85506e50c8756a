"""What a document was made by and rests on: versions, the hash of the rule book, the state of the register."""

from dataclasses import dataclass
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path

from gaugebook import checks

SOFTWARE = "gaugebook"
LIBRARIES = ("babel", "duckdb", "numpy", "polars", "pydantic", "scipy", "weasyprint")
STANDARDS = (  # what figures are computed by, whatever the house; limits name their own source
    "OIML R 22 (1975): density of mixtures of ethanol and water, volume and strength at 20 °C",
    "JCGM 100:2008 (GUM): propagation and statement of uncertainty",
    "JCGM 106:2012: guard bands at legal limits",
    "RFC 8785: canonical form of the data",
    "ISO 19005-3: this file (PDF/A-3)",
)


@dataclass(frozen=True)
class Provenance:
    """What a dossier rests on besides its figures: the state of the register, and what a decision would freeze now."""

    head: str | None  # of the last entry that tells of the book itself; None where the book has no register
    entry: int | None  # its number
    profile_sha256: str
    evidence: str  # canonical JSON

    @property
    def evidence_sha256(self) -> str:
        return sha256(self.evidence.encode()).hexdigest()


def software_version() -> str:
    return f"{SOFTWARE} {version(SOFTWARE)}"


def rule_files_sha256() -> str:
    """SHA-256 over the rules and the published limits, file by file in the order of their names."""
    root = Path(checks.__file__).parent
    digest = sha256()
    for path in sorted([*root.glob("rules/*.toml"), *root.glob("limits/*.toml")]):
        text = path.read_bytes().replace(b"\r\n", b"\n")
        digest.update(f"{path.parent.name}/{path.name} {len(text)}\n".encode())
        digest.update(text)
    return digest.hexdigest()


def libraries() -> dict[str, str]:
    """Versions of what the numbers and the bytes of a document depend on besides our own code."""
    from gaugebook.reports.page.renderer import pango

    number = pango.pango_version()  # 1.50.12 is 15012
    versions = {name: version(name) for name in LIBRARIES}
    return versions | {"pango": f"{number // 10_000}.{number // 100 % 100}.{number % 100}"}
