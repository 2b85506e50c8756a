"""What the tests of the generator share."""

from pathlib import Path

import pytest

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import receive

ROOT = Path(__file__).parents[2]
SECOND_HOUSE = ROOT / "sample_logs" / "second_house"


@pytest.fixture(scope="session")
def house():
    """The house at the end of the simulated period."""
    from sample_logs.generator.simulation import simulate

    return simulate()


@pytest.fixture(scope="session")
def outputs():
    """All files of the demo as the generator makes them now."""
    from sample_logs.generator.files import outputs

    return outputs()


@pytest.fixture(scope="session")
def sample_logs():
    """The committed folder."""
    return ROOT / "sample_logs"


@pytest.fixture(scope="session")
def second_book(tmp_path_factory):
    """Folder of a book with every file of the house received and checked; tests only read it."""

    from gaugebook.checks.run import run_checks

    folder = tmp_path_factory.mktemp("second") / "book"
    receive(folder, [SECOND_HOUSE / "files"], SECOND_HOUSE / "house.toml")
    with open_book(folder, writing=True) as book:
        run_checks(book)
    return folder


@pytest.fixture(scope="session")
def rows(second_book):
    """Rows of a query, as dicts."""

    def of(sql: str) -> list[dict]:
        with open_book(second_book) as book:
            return book.frame(sql).to_dicts()

    return of
