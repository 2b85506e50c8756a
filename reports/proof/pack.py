"""The auditor's pack of a month: dossiers, account, register, checksums, and how to check them with public tools."""

import io
import zipfile
from collections.abc import Iterable
from datetime import date
from hashlib import sha256
from pathlib import Path

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.book.register import Entry, as_line

REGISTER = "register.jsonl"
SUMS = "SHA256SUMS"
README = Path(__file__).parents[1] / "page" / "templates" / "pack_readme.txt"
FIXED = (1980, 1, 1, 0, 0, 0)  # date of every file in a zip: the earliest that one can have
BATCHES = """
    SELECT batch FROM derived.bottlings
    WHERE strftime(timezone($zone, timezone('UTC', bottled_at)), '%Y-%m') = $month
    UNION
    SELECT batch FROM history.decisions
    WHERE strftime(timezone($zone, timezone('UTC', decided_at)), '%Y-%m') = $month
    ORDER BY batch
"""


def batches_of(book: Book, month: date, zone: str) -> list[str]:
    """Batches bottled or decided on in the month, by the house's calendar."""
    return book.frame(BATCHES, {"month": f"{month:%Y-%m}", "zone": zone})["batch"].to_list()


def packed(documents: dict[str, bytes], chain: Iterable[Entry], house: str, month: date) -> dict[str, bytes]:
    """Every file of the pack by its name: the documents, the register, how to check them, and last the checksums."""
    entries = list(chain)
    register = "".join(f"{as_line(entry)}\n" for entry in entries)
    pdfs = sorted((name for name in documents if name.endswith(".pdf")), key=lambda name: ("/" not in name, name))
    text = README.read_text(encoding="utf-8").format(
        house=house, month=f"{month:%Y-%m}", example=pdfs[0],
        head=entries[-1].own_sha256 if entries else "",
    )  # fmt: skip
    files = documents | {REGISTER: register.encode(), "README.txt": text.encode()}
    sums = "".join(f"{sha256(content).hexdigest()}  {name}\n" for name, content in sorted(files.items()))
    return dict(sorted(files.items())) | {SUMS: sums.encode()}


def zipped(files: dict[str, bytes], folder: str) -> bytes:
    """The files in one zip, in one folder; the same files give the same bytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:  # stored: compressed bytes differ by the library
        for name, content in files.items():
            entry = zipfile.ZipInfo(f"{folder}/{name}", FIXED)
            entry.create_system, entry.external_attr = 3, 0o644 << 16  # as on Unix, whatever the machine
            archive.writestr(entry, content)
    return out.getvalue()
