"""A book of a small house, made by hand: no files, no pipeline, only rows that a test puts there."""

import contextlib
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from shutil import copytree
from typing import Any

import duckdb
import polars as pl
import pytest
from by_hand import put_batch, put_row

from gaugebook.checks.evaluation.subjects import (
    SUBJECTS,
    columns_of,
    subject_frame,
    subject_frames,
    tables_for_subjects,
)
from gaugebook.checks.rulebook.published_limits import read_limits
from gaugebook.checks.rulebook.rule import Rule
from gaugebook.checks.rulebook.rulebook import read_rulebook
from gaugebook.pipeline.book.database import Book, open_book
from gaugebook.pipeline.derived.build_state import note_made
from gaugebook.pipeline.house.settings import parse_house

SCHEMAS = ("received", "landed", "typed", "derived/casks", "derived/goods", "derived")
CHECKS = Path(__file__).parents[2] / "gaugebook" / "checks"
PIPELINE = Path(__file__).parents[2] / "gaugebook" / "pipeline"
HOUSE = """
[house]
name = "A small house, made up"
time_zone = "UTC"
site_pressure_kpa = 101.325

[[stills]]
code = "S1"
name = "Strip still"
capacity_l = 2800.0
log_interval_s = 60

[[people]]
code = "AQ"
role = "distiller"

[[people]]
code = "EV"
role = "qa lead"

[[people]]
code = "FW"
role = "owner"

[[instruments]]
code = "HYD-1"
kind = "alcoholmeter"
name = "Alcoholmeter"
u = 0.15
unit = "pct_vol"

[[recipes]]
name = "gin"
stage = "botanical"
charge_strength_pct_vol = 50.0
ingredients = [
    { material = "juniper berry", g_per_lpa = 28.0, condition = "dried" },
    { material = "lemon peel", g_per_lpa = 6.0, condition = "fresh" },
]

[[recipes]]
name = "quince steep"
stage = "steep"
charge_strength_pct_vol = 60.0
steep_days = 7.0

[[products]]
code = "VODKA"
name = "Vodka"
category = "vodka"
jurisdiction = "EU"
label_strength_pct_vol = 40.0
nominal_ml = 700.0
laboratory = ["strength", "methanol"]

[[products]]
code = "APPLE"
name = "Apple spirit"
category = "fruit spirit apple"
jurisdiction = "EU"
label_strength_pct_vol = 42.0
nominal_ml = 500.0

[[products]]
code = "STEEP"
name = "Quince steep"
category = "spirit drink with fruit"
jurisdiction = "EU"
label_strength_pct_vol = 30.0
nominal_ml = 500.0
macerated = true
"""

Put = Callable[..., None]


def make_book(book: Book, house: str = HOUSE) -> None:
    """The pipeline's tables, empty, and the house profile."""
    for schema in SCHEMAS:
        book.run_file(PIPELINE / schema / "schema.sql")
    note_made(book, "by hand")
    book.execute("INSERT INTO received.houses VALUES (1, 'made up', 'house.toml', ?)", [house])


@pytest.fixture(scope="session")
def empty_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of a book of the small house without any record, made once and copied for each test."""
    folder = tmp_path_factory.mktemp("empty") / "book"
    with open_book(folder, writing=True) as opened:
        make_book(opened)
    return folder


@pytest.fixture
def start(empty_book: Path) -> Path:
    """Folder that the test's book begins as a copy of; a module may give its own, made once with `made_once`."""
    return empty_book


@pytest.fixture(scope="session")
def made_once(
    tmp_path_factory: pytest.TempPathFactory, empty_book: Path, memory: dict[str, pl.DataFrame]
) -> Callable[[Callable[[Book], None]], Path]:
    """Folder of a book that a function fills, made by the first test that asks for it."""
    made: dict[Callable[[Book], None], Path] = {}

    def folder_of(fill: Callable[[Book], None]) -> Path:
        if fill not in made:
            folder = tmp_path_factory.mktemp(fill.__name__) / "book"
            copytree(empty_book, folder)
            with open_book(folder, writing=True) as opened, remembered(opened, memory):
                fill(opened)
            made[fill] = folder
        return made[fill]

    return folder_of


@pytest.fixture
def book(tmp_path: Path, start: Path) -> Iterator[Book]:
    """An open book of the small house, at first as its module's tests begin: without any record, or with some."""
    copytree(start, tmp_path / "book")
    with open_book(tmp_path / "book", writing=True) as opened:
        yield opened


@pytest.fixture(scope="session")
def memory() -> dict[str, pl.DataFrame]:
    """What the checks of earlier tests have judged, by table."""
    return {}


@contextlib.contextmanager
def remembered(book: Book, memory: dict[str, pl.DataFrame]) -> Iterator[None]:
    """Let the book know what others have judged, as a book knows its earlier checks; spares judging it anew."""
    book.run_file(CHECKS / "evaluation" / "eval_cache.sql")
    for table, rows in memory.items():
        book.execute(f"DELETE FROM {table}")
        book.append(table, rows)
    yield
    with contextlib.suppress(duckdb.ConnectionException):  # a test may have closed its book
        memory.update(
            {
                table: book.frame(f"SELECT DISTINCT * FROM {table}")
                for table in ("eval_cache.rows", "eval_cache.answers")
            }
        )


@pytest.fixture
def remembering(book: Book, memory: dict[str, pl.DataFrame]) -> Iterator[None]:
    """Let the test's book know what earlier tests have judged."""
    with remembered(book, memory):
        yield


@pytest.fixture
def put(book: Book) -> Put:
    """Put rows into a table: put("typed.runs", run="R1", ...); times are texts, columns left out stay NULL."""
    return lambda table, **row: put_row(book, table, **row)


def frames_of(book: Book, house: str = HOUSE) -> dict[str, pl.DataFrame]:
    """Every subject's frame of the book."""
    return subject_frames(book, parse_house(house, "house.toml"), read_limits())


class FramesAsked(Mapping[str, pl.DataFrame]):
    """The subjects' frames of a book, each made when it is asked for."""

    def __init__(self, book: Book) -> None:
        self._book = book

    def __getitem__(self, name: str) -> pl.DataFrame:
        with tables_for_subjects(self._book, parse_house(HOUSE, "house.toml"), read_limits()):
            return subject_frame(self._book, name)

    def __iter__(self) -> Iterator[str]:
        return iter(SUBJECTS)

    def __len__(self) -> int:
        return len(SUBJECTS)


@pytest.fixture
def frames_with(book: Book) -> Callable[[str], dict[str, pl.DataFrame]]:
    """Every subject's frame of the book, for the small house with more in its profile."""
    return lambda more: frames_of(book, HOUSE + more)


@pytest.fixture
def frames(book: Book) -> Callable[[], Mapping[str, pl.DataFrame]]:
    """The subjects' frames of the book as it stands when one is asked for."""
    return lambda: FramesAsked(book)


@pytest.fixture(scope="session")
def empty_frames(empty_book: Path) -> dict[str, pl.DataFrame]:
    """Every subject's frame of a book without records: its columns and their types."""
    with open_book(empty_book) as opened:
        return frames_of(opened)


@pytest.fixture(scope="session")
def rules(empty_frames: dict[str, pl.DataFrame]) -> dict[str, Rule]:
    """The rule book as it ships, by id."""
    return {rule.id: rule for rule in read_rulebook(columns_of(empty_frames))}


@pytest.fixture
def bottle(put: Put) -> Put:
    """A batch of a product, bottled from a liquid: bottle("B-1", "VODKA", "PROOF-1")."""
    return lambda batch, product, liquid, **bottling: put_batch(put, batch, product, liquid, **bottling)


@pytest.fixture
def row_of() -> Callable[..., dict[str, Any]]:
    """The one row of a frame with these values: row_of(frame, lot="A")."""

    def only(frame: pl.DataFrame, **keys: Any) -> dict[str, Any]:
        found = frame.filter(**keys)
        assert len(found) == 1, found
        return found.row(0, named=True)

    return only
