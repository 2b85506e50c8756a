"""The table that a record asks for, and the table that a book has."""

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.typed.record import Record

SQL_TYPES = {"text": "VARCHAR", "choice": "VARCHAR", "number": "DOUBLE", "integer": "INTEGER", "time": "TIMESTAMP"}
PLACE = {"source_id": ("INTEGER", "NO"), "line": ("INTEGER", "NO")}


def table_of(record: Record) -> dict[str, tuple[str, str]]:
    """Column -> type and whether it may be NULL, as the record asks for it."""
    columns = {item.name: (SQL_TYPES[item.type], "NO" if item.required else "YES") for item in record.fields}
    below = {item.below_field: ("BOOLEAN", "NO") for item in record.fields if item.below_field}
    return columns | below | PLACE


def columns_of(book: Book, table: str) -> dict[str, tuple[str, str]]:
    """Column -> type and whether it may be NULL, as the table has it."""
    rows = book.frame(
        "SELECT column_name, data_type, is_nullable FROM information_schema.columns "
        "WHERE table_schema || '.' || table_name = ?",
        [table],
    )
    return {name: (kind, nullable) for name, kind, nullable in rows.iter_rows()}
