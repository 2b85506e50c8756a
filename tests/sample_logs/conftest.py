"""What the tests of the generator share."""

from pathlib import Path

import pytest

from gaugebook.pipeline.book.database import open_book

ROOT = Path(__file__).parents[2]


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


@pytest.fixture(scope="module")
def rows(second_book):
    """Rows of a query of the second house's book, as dicts."""

    def of(sql: str) -> list[dict]:
        with open_book(second_book) as book:
            return book.frame(sql).to_dicts()

    return of
