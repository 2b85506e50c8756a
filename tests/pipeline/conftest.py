"""A book of empty tables, for one query on rows put in by hand."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import duckdb
import pytest
from by_hand import put_row

from gaugebook.pipeline import typed
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived import rebuild

DERIVED = Path(rebuild.__file__).parent
SCHEMAS = (Path(str(typed.__file__)).parent / "schema.sql", *rebuild.SCHEMAS)


@pytest.fixture
def empty_book() -> Iterator[Book]:
    """Tables of typed.* and derived.* without a row, in memory; the house keeps UTC."""
    with duckdb.connect() as connection:
        book = Book(connection, Path())
        for schema in SCHEMAS:
            book.run_file(schema)
        book.execute("SET VARIABLE house_zone = 'UTC'")
        yield book


@pytest.fixture
def put(empty_book: Book) -> Callable[..., None]:
    """Put a row into a table of the empty book, column by name."""

    def put_by_name(table: str, **row: Any) -> None:
        put_row(empty_book, table, **row)

    return put_by_name


@pytest.fixture
def made_by(empty_book: Book) -> Callable[..., list[dict[str, Any]]]:
    """Run a SQL file of `pipeline/derived`; the rows of the table that it fills, else of its SELECT."""

    def rows_of(name: str, where: str = "true") -> list[dict[str, Any]]:
        path = DERIVED / f"{name}.sql"
        text = path.read_text(encoding="utf-8")
        if "INSERT INTO" not in text:
            return empty_book.frame(text).to_dicts()
        empty_book.execute(text)
        return empty_book.frame(f"SELECT * FROM derived.{name} WHERE {where}").to_dicts()

    return rows_of
