"""What became of a file that was to be received."""

from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path

from gaugebook.pipeline.typed.recording import RowCounts


class Outcome(StrEnum):
    """What can become of a file."""

    RECEIVED = "received"
    HELD = "already held"
    REFUSED = "refused"


@dataclass
class FileOutcome:
    """What became of one file.

    Attributes
    ----------
    reason : str
        In a sentence, why it was refused or what needs attention; nothing goes by it.
    lost_amendments : tuple of int
        Amendments whose records are not there any more in what was read anew.
    """

    path: Path
    outcome: Outcome
    reason: str = ""
    counts: list[RowCounts] = field(default_factory=list)
    lost_amendments: tuple[int, ...] = ()

    @property
    def needs_attention(self) -> bool:
        """Whether it was refused, whole or in part, or lost an amendment."""
        is_refused = self.outcome is Outcome.REFUSED or any(counts.refused for counts in self.counts)
        return is_refused or bool(self.lost_amendments)
