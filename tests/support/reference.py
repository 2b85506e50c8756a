"""Reading of the published values in tests/reference."""

import csv
from pathlib import Path

REFERENCE = Path(__file__).parents[1] / "reference"


def rows(name: str) -> list[dict[str, str]]:
    """Rows of a table of published values; lines that begin with # say where they come from."""
    with (REFERENCE / name).open(newline="", encoding="utf-8") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))
