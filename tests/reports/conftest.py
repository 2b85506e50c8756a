"""A small book in which everything has happened that its register tells of, and the documents made from it."""

from pathlib import Path
from shutil import copytree

import pytest
from lived_book import issue_documents, write_lived_book


@pytest.fixture(scope="session")
def lived_in(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of the book; tests that change it work on a copy, or undo what they did."""
    return write_lived_book(tmp_path_factory.mktemp("lived") / "book")


@pytest.fixture(scope="session")
def issued(lived_in: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the book from which a dossier and an account were made; they lie in `out` beside it."""
    folder = copytree(lived_in, tmp_path_factory.mktemp("issued") / "book")
    issue_documents(folder, folder.parent / "out")
    return folder
