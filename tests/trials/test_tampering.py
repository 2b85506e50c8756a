"""Five hundred values and bytes altered, each alone; after each it is undone, and nothing may be found any more.

Prints what was altered and how much of it was named. The short version is among the tests of `reports`.
"""

import io
import random
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pikepdf
from click.testing import CliRunner
from lived_book import issue_documents, write_lived_book
from tampering import REGISTER, alter, any_byte, any_cell, changed, flipped

from gaugebook.pipeline.book import register
from gaugebook.pipeline.book.database import Book, open_book
from gaugebook.pipeline.book.table_digests import whole_tables
from gaugebook.reports.cli import main
from gaugebook.reports.proof.document_check import check_document
from gaugebook.reports.proof.signature import demo_certificate
from gaugebook.reports.proof.verification import verify_book

COUNTS = {"value of the book": 200, "value of the register": 50, "byte of a kept file": 50, "byte of a dossier": 60,
          "byte of an account": 40, "byte of a signed dossier": 60, "byte of the attached data": 40}  # fmt: skip


def test_five_hundred_alterations(tmp_path: Path) -> None:
    """Each is named, and after each is undone nothing is."""
    folder = write_lived_book(tmp_path / "book")
    documents = issued_and_signed(folder, tmp_path)
    named, alarms = Counter(), Counter()
    chance = random.Random(20261125)
    with open_book(folder, writing=True) as book:
        chain = register.entries(book)
        makers = {
            "value of the book": lambda: altered_value(book, chance, whole_tables(book)),
            "value of the register": lambda: altered_value(book, chance, [REGISTER]),
            "byte of a kept file": lambda: flipped(*any_byte(folder, chance), chance),
        }
        for kind, count in COUNTS.items():
            for _ in range(count):
                if kind in makers:
                    with makers[kind]():
                        named[kind] += not verify_book(book).holds
                    alarms[kind] += not verify_book(book).holds
                else:
                    content = documents[kind]
                    altered = (
                        with_altered_data(content, chance)
                        if kind == "byte of the attached data"
                        else changed(content, chance.randrange(len(content)), chance)
                    )
                    named[kind] += not check_document(altered, chain).holds
                    alarms[kind] += not check_document(content, chain).holds
    print()
    for kind, count in COUNTS.items():
        print(f"{kind:26} altered {count:4}, named {named[kind]:4}; untouched {count:4}, false alarms {alarms[kind]}")
    assert named == COUNTS
    assert sum(COUNTS.values()) == 500
    assert not sum(alarms.values())


def issued_and_signed(folder: Path, out: Path) -> dict[str, bytes]:
    """The documents by what is altered in them."""
    issue_documents(folder, out)
    key = out / "qa.p12"
    key.write_bytes(demo_certificate("Q. Assured", b"for the trial", datetime.now(UTC)))
    words = ["--book", str(folder), "sign", str(out / "RYE-1.pdf"), "--certificate", str(key)]
    result = CliRunner().invoke(main, words, env={"GAUGEBOOK_PASSPHRASE": "for the trial"})
    assert result.exit_code == 0, result.output
    dossier = (out / "RYE-1.pdf").read_bytes()
    return {
        "byte of a dossier": dossier,
        "byte of the attached data": dossier,
        "byte of an account": (out / "account-2026-01.pdf").read_bytes(),
        "byte of a signed dossier": (out / "RYE-1.signed.pdf").read_bytes(),
    }


@contextmanager
def altered_value(book: Book, chance: random.Random, tables: list[str]) -> Iterator[None]:
    """A value of one of the tables changed for a while."""
    cell = any_cell(book, chance, tables)
    book.execute("BEGIN")
    try:
        alter(book, cell)
        yield
    finally:
        book.execute("ROLLBACK")


def with_altered_data(content: bytes, chance: random.Random) -> bytes:
    """The document with a byte of its data another, packed anew as a PDF library does."""
    with pikepdf.open(io.BytesIO(content)) as document:
        names = document.Root.Names.EmbeddedFiles.Names
        spec = next(names[number] for number in range(1, len(names), 2) if str(names[number].UF) == "dossier.json")
        data = spec.EF.F.read_bytes()
        spec.EF.F.write(changed(data, chance.randrange(len(data)), chance))
        out = io.BytesIO()
        document.save(out)
    return out.getvalue()
