"""Documents as the register knows them: made from a state of the book, told apart by the hash of their bytes."""

from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from gaugebook.pipeline.book import register
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.book.register import Event
from gaugebook.pipeline.book.table_digests import begin
from gaugebook.reports.page.pages import write
from gaugebook.reports.page.provenance import rule_files_sha256, software_version

KIND, SIGNED = "document", "signature"  # kinds of entries


@dataclass(frozen=True)
class Document:
    """A finished document that is not signed: its bytes, and what it was made from."""

    what: str  # dossier, account
    subject: str  # the batch, the month
    name: str  # of its file
    content: bytes
    data_sha256: str  # of the data attached to it
    state_sha256: str | None  # head of the register that it was made from

    @property
    def event(self) -> Event:
        """What the register says of it."""
        payload = {
            "document": self.what, "subject": self.subject, "name": self.name,
            "sha256": sha256(self.content).hexdigest(), "size_bytes": len(self.content),
            "data_sha256": self.data_sha256, "state_sha256": self.state_sha256,
            "software": software_version(), "rule_files_sha256": rule_files_sha256(),
        }  # fmt: skip
        return Event(KIND, f"{self.what} {self.subject}", payload)


def issue(book_folder: Path, documents: Sequence[Document], out: Path) -> list[Path]:
    """Write the files of documents, and enter them in the register."""
    paths = [write(out, document.name, document.content) for document in documents]
    append_events(book_folder, [document.event for document in documents])
    return paths


def append_events(book_folder: Path, events: Sequence[Event]) -> None:
    """Enter documents in the register, those that it does not know: the same one is entered once.

    Raises
    ------
    BookError
        If the book cannot be written.
    """
    with open_book(book_folder, writing=True) as book, book.transaction():
        begin(book)
        known = {entry.data["sha256"] for entry in register.entries(book, KIND)}
        by_hash = {item.data["sha256"]: item for item in events}
        register.append(book, [item for digest, item in by_hash.items() if digest not in known])
