"""A book of a small house, made by hand: no files, no pipeline, only rows that a test puts there."""

import contextlib
from collections.abc import Callable, Iterator
from pathlib import Path
from shutil import copytree
from typing import Any

import duckdb
import polars as pl
import pytest

from checks.limits import read_limits
from checks.rule import Rule
from checks.rulebook import read_rulebook
from checks.subjects import columns_of, subject_frames
from pipeline.database import Book, open_book
from pipeline.settings import parse_house

SCHEMAS = ("received", "landed", "typed", "derived")
CHECKS = Path(__file__).parents[2] / "checks"
PIPELINE = Path(__file__).parents[2] / "pipeline"
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
    book.execute("CREATE OR REPLACE TABLE derived.made_from AS SELECT 'by hand' AS fingerprint")
    book.execute("INSERT INTO received.houses VALUES (1, 'made up', 'house.toml', ?)", [house])


@pytest.fixture(scope="session")
def empty_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of a book of the small house without any record, made once and copied for each test."""
    folder = tmp_path_factory.mktemp("empty") / "book"
    with open_book(folder, writing=True) as opened:
        make_book(opened)
    return folder


@pytest.fixture
def book(tmp_path: Path, empty_book: Path) -> Iterator[Book]:
    """An open book of the small house without any record."""
    copytree(empty_book, tmp_path / "book")
    with open_book(tmp_path / "book", writing=True) as opened:
        yield opened


@pytest.fixture(scope="session")
def memory() -> dict[str, pl.DataFrame]:
    """What the checks of earlier tests have judged, by table."""
    return {}


@pytest.fixture
def remembering(book: Book, memory: dict[str, pl.DataFrame]) -> Iterator[None]:
    """Let the book know what earlier tests have judged, as a book knows its earlier checks; spares judging it anew."""
    book.run_file(CHECKS / "judged.sql")
    for table, rows in memory.items():
        book.append(table, rows)
    yield
    with contextlib.suppress(duckdb.ConnectionException):  # a test may have closed its book
        memory.update(
            {table: book.frame(f"SELECT DISTINCT * FROM {table}") for table in ("judged.rows", "judged.answers")}
        )


@pytest.fixture
def put(book: Book) -> Put:
    """Put rows into a table: put("typed.runs", run="R1", ...); times are texts, columns left out stay NULL."""
    return lambda table, **row: put_row(book, table, **row)


def put_row(book: Book, table: str, **row: Any) -> None:
    """One row; source_id and line are 1 where the table needs them and the test says nothing."""
    if table.startswith("typed."):
        row = {"source_id": 1, "line": 1} | row
    names = ", ".join(row)
    marks = ", ".join("?" for _ in row)
    book.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", list(row.values()))


def frames_of(book: Book, house: str = HOUSE) -> dict[str, pl.DataFrame]:
    """Every subject's frame of the book."""
    return subject_frames(book, parse_house(house, "house.toml"), read_limits())


@pytest.fixture
def frames(book: Book) -> Callable[[], dict[str, pl.DataFrame]]:
    """The subjects' frames of the book as it stands when called."""
    return lambda: frames_of(book)


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

    def make(batch: str, product: str, liquid: str, **bottling: Any) -> None:
        run = f"BOT-{batch}"
        put(
            "typed.bottling",
            lot=batch,
            run=run,
            product=product,
            bottled_at="2031-03-01",
            nominal_ml=700,
            label_strength_pct_vol=40,
            bottles_filled=100,
            bottles_rejected=1,
            operator="AQ",
        )
        put(
            "derived.bottlings",
            batch=batch,
            run=run,
            product=product,
            bottled_at="2031-03-01",
            **({"nominal_ml": 700.0, "label_strength_pct_vol": 40.0} | bottling),
        )
        put("typed.movements", run=run, direction="in", lot=liquid, part="liquid")
        put("derived.gauges", run=run, direction="in", lot=liquid, part="liquid")
        put("derived.lineage", batch=batch, run=run, lot=liquid, into_lot=batch, depth=1)

    return make


@pytest.fixture
def row_of() -> Callable[..., dict[str, Any]]:
    """The one row of a frame with these values: row_of(frame, lot="A")."""

    def only(frame: pl.DataFrame, **keys: Any) -> dict[str, Any]:
        found = frame.filter(**keys)
        assert len(found) == 1, found
        return found.row(0, named=True)

    return only
