"""The oracle book: received, amended, checked, explained and decided by the commands that people use, once a
session."""

from collections.abc import Iterator
from pathlib import Path

import duckdb
import pytest
from click.testing import CliRunner

from gaugebook.reports.cli import main
from tests.oracle.book_by_hand import BookByHand
from tests.oracle.house_by_hand import HOUSE
from tests.oracle.series_by_hand import write_series

LEMON_FLAG = "F-0458e9ea"  # botanical-condition of BOT-1, lemon peel


def gaugebook(folder: Path, *words: str) -> str:
    """What a command prints; it must not fail (1: done, and something needs attention)."""
    result = CliRunner().invoke(main, ["--book", str(folder), *words])
    assert result.exit_code in (0, 1), result.output
    return result.output


def make_book(folder: Path, house: Path = HOUSE) -> None:
    """All that happens to the oracle book, in its order."""
    photograph = folder.parent / "photograph.txt"
    photograph.write_text("what the bag of peel looked like")
    gaugebook(folder, "receive", str(house))
    gaugebook(
        folder, "amend", "gauges.csv:22", "strength_reading", "36.3", "--by", "KM", "--reason", "digits changed over"
    )
    gaugebook(folder, "check", "--summary")
    gaugebook(
        folder,
        "explain",
        LEMON_FLAG,
        "--by",
        "KM",
        "--reason",
        "fresh peel was not to be had",
        "--attach",
        str(photograph),
    )
    gaugebook(folder, "decide", "GIN-A", "--hold", "--by", "OP", "--reason", "methanol is awaited")
    gaugebook(folder, "check", "--summary")


@pytest.fixture(scope="session")
def oracle_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of the oracle book; tests only read it."""
    folder = tmp_path_factory.mktemp("oracle") / "book"
    make_book(folder)
    return folder


@pytest.fixture(scope="session")
def oracle_book(oracle_folder: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """The oracle book, open for reading."""
    with duckdb.connect(str(oracle_folder / "gauges.duckdb"), read_only=True) as connection:
        connection.execute("SET TimeZone = 'UTC'")
        yield connection


@pytest.fixture(scope="session")
def series_book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[duckdb.DuckDBPyConnection]:
    """The book of fourteen strip runs, received and open for reading."""
    folder = tmp_path_factory.mktemp("series")
    write_series(folder / "site")
    gaugebook(folder / "book", "receive", str(folder / "site"))
    with duckdb.connect(str(folder / "book" / "gauges.duckdb"), read_only=True) as connection:
        connection.execute("SET TimeZone = 'UTC'")
        yield connection


@pytest.fixture(scope="session")
def by_hand() -> BookByHand:
    """The same house worked out by hand."""
    return BookByHand()
