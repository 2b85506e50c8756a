"""Fixtures that several tests share."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import settings
from small_house import write_house

from gaugebook.pipeline.book.database import Book, open_book
from gaugebook.pipeline.intake.flow import FileOutcome, receive

# Laws are tried here, not how busy the machine is.
settings.register_profile("gaugebook", deadline=None)
settings.load_profile("gaugebook")

SAMPLE_LOGS = Path(__file__).parents[1] / "sample_logs"


@pytest.fixture
def received(tmp_path: Path) -> Callable[..., list[FileOutcome]]:
    """Receive the small house into the book of this test; keyword `files` replaces or adds files."""

    def receive_files(files: dict[str, str] | None = None) -> list[FileOutcome]:
        write_house(tmp_path / "site", files)
        return receive(tmp_path / "book", [tmp_path / "site"], None)

    return receive_files


@pytest.fixture
def book(tmp_path: Path, received: Callable[..., list[FileOutcome]]) -> Iterator[Book]:
    """The book of the small house, open for reading."""
    received()
    with open_book(tmp_path / "book") as opened:
        yield opened


@pytest.fixture(scope="session")
def sample_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of a book with all sample logs received and checked; tests only read it."""
    from gaugebook.checks.run import run_checks

    folder = tmp_path_factory.mktemp("sample") / "book"
    receive(folder, sorted(SAMPLE_LOGS.glob("20*")), SAMPLE_LOGS / "house.toml")
    with open_book(folder, writing=True) as opened:
        run_checks(opened)
    return folder


@pytest.fixture(scope="session")
def second_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of a book with every file of the second house received and checked; tests only read it."""
    from gaugebook.checks.run import run_checks

    house = SAMPLE_LOGS / "second_house"
    folder = tmp_path_factory.mktemp("second") / "book"
    receive(folder, [house / "files"], house / "house.toml")
    with open_book(folder, writing=True) as opened:
        run_checks(opened)
    return folder
