"""A batch whose every text field holds the same hostile text, for tests of what text can do to a page."""

import dataclasses
from typing import Any

from gaugebook.reports.dossier.records import Batch, Stage

# What the book itself chooses among, hashes, and what Python reads as a name; no file can put another text there.
CHOSEN = {
    "stage", "severity", "answer", "direction", "basis", "origin", "standing", "reading_kind", "test",
    "sha256", "state_sha256", "evidence", "evidence_sha256", "attachment_sha256", "analyte", "part", "state", "verdict",
    "time_zone", "documents", "condition", "recipe_condition", "kind", "field", "changed", "uncertainty",
}  # fmt: skip
# By what records find each other: the text goes before the name, so that they still do.
NAMES = {
    "run", "lot", "into_lot", "flag", "made_by_run", "batch", "code", "reference_lot", "mash_run", "overruled",
}  # fmt: skip


def hostile(batch: Batch, text: str) -> Batch:
    """The batch with the text in every field that a file or a person can fill."""
    changed: Batch = _changed(batch, text, "batch")
    return changed


def _changed(value: Any, text: str, name: str) -> Any:
    if name in CHOSEN:
        return value
    if isinstance(value, str):
        return text + value if name in NAMES else text
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        # A stage's name is one of ours, a product's is not.
        keep = {"name": value.name} if isinstance(value, Stage) else {}
        fields = {f.name: _changed(getattr(value, f.name), text, f.name) for f in dataclasses.fields(value)}
        return dataclasses.replace(value, **{**fields, **keep})
    if isinstance(value, tuple):
        return tuple(_changed(item, text, name) for item in value)
    if isinstance(value, dict):
        keyed = name in ("balances", "ferments", "curves", "lots", "flag_states")
        return {(text + key if keyed else key): _changed(item, text, name) for key, item in value.items()}
    return value
