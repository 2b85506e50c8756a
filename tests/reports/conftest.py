"""Books in which people explained and decided, documents made from them, and a browser."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from shutil import copytree

import pytest
from browser import Browser, installed
from lived_book import issue_documents, write_lived_book

from gaugebook.checks.decisions.decisions import decide
from gaugebook.checks.flags.flag_lifecycle import explain
from gaugebook.checks.run import effective_rules
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import profile_in_force

DECIDED = {"VOD-2609A": "released", "GIN-2603A": "held", "AKV-2609B": "rejected"}


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Headless Chromium; without one the tests that need it are skipped and say so."""
    program = installed()
    if program is None:
        pytest.skip("no Chromium on this machine (Debian: apt-get install chromium)")
    started = Browser(program)
    yield started
    started.close()


@pytest.fixture(scope="session")
def lived_book(sample_book: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample book ten days after its first check: three batches decided on, a flag explained, one accepted."""
    folder = tmp_path_factory.mktemp("lived") / "book"
    copytree(sample_book, folder)
    with open_book(folder, writing=True) as book, book.transaction():
        house, (rules, _) = profile_in_force(book), effective_rules(book)
        at = book.value("SELECT checked_at FROM flagged.checked_from") + timedelta(days=1)
        for batch, verdict in DECIDED.items():
            decide(book, house, rules, batch, verdict, "EV", "as the panel found", at)
        flags = book.frame("SELECT flag FROM flagged.flags WHERE severity = 'needs explanation' ORDER BY flag")["flag"]
        explain(book, house, flags[0], "AQ", "the probe was changed", at)
        explain(book, house, flags[1], "EV", "seen and accepted", at, accept=True)
        book.execute("UPDATE flagged.checked_from SET checked_at = checked_at + INTERVAL 10 DAY")
    return folder


@pytest.fixture(scope="session")
def out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder for boards; one dossier lies in it, one in its folder of dossiers."""
    folder = tmp_path_factory.mktemp("out")
    (folder / "dossiers").mkdir()
    (folder / "VOD-2609A.pdf").write_bytes(b"%PDF-1.7")
    (folder / "dossiers" / "GIN-2603A.pdf").write_bytes(b"%PDF-1.7")
    return folder


@pytest.fixture(scope="session")
def lived_in(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small book of all that its register tells of; tests that change it undo that, or take a copy."""
    return write_lived_book(tmp_path_factory.mktemp("lived") / "book")


@pytest.fixture(scope="session")
def issued(lived_in: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the book from which a dossier and an account were made; they lie in `out` beside it."""
    folder = copytree(lived_in, tmp_path_factory.mktemp("issued") / "book")
    issue_documents(folder, folder.parent / "out")
    return folder
