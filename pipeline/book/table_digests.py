"""What the register says of the book's tables: how many rows, and the SHA-256 over them, whatever their order.

A state is [rows, SHA-256]: of each row's JSON the SHA-256 in hex, sorted, joined, hashed once more.
"""

from collections.abc import Iterable, Mapping, Sequence
from hashlib import sha256
from pathlib import Path
from typing import Any

import polars as pl

from gaugebook.pipeline.book import register
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.book.register import Event

State = list[Any]  # [rows, SHA-256]
OF_FILES = """
    SELECT table_schema || '.' || table_name AS name, bool_or(column_name = 'file_id') AS has_file_id
    FROM information_schema.columns JOIN information_schema.tables USING (table_schema, table_name)
    WHERE table_type = 'BASE TABLE' AND table_schema IN ('received', 'landed', 'typed')
        AND table_name <> 'amendments' AND column_name IN ('file_id', 'source_id')
    GROUP BY ALL ORDER BY ALL
"""
WHOLE = """
    SELECT table_schema || '.' || table_name AS name FROM information_schema.tables
    WHERE table_type = 'BASE TABLE' AND table_schema <> 'register' ORDER BY name
"""
BLOCK_BYTES = 2**20


def states_of(book: Book, names: Iterable[str]) -> dict[str, State]:
    """State of each of these whole tables."""
    parts = [
        f"SELECT '{name}' AS name, sha256(to_json(t)::VARCHAR) AS digest FROM {name} AS t" for name in sorted(names)
    ]
    return {name: [0, sha256().hexdigest()] for name in sorted(names)} | {
        name: [rows, digest] for name, rows, digest in _summed(book, "name", parts)
    }


def states_of_files(book: Book, files: Sequence[int] | None = None) -> dict[int | None, dict[str, State]]:
    """For each received file the state of its part of every table that holds some of its rows.

    Parameters
    ----------
    files : sequence of int, optional
        Files asked for; every one where it is left out, and under None the rows that belong to no file.
    """
    parts = []
    for name, has_file_id in book.frame(OF_FILES).iter_rows():
        owner, join = ("t", "") if has_file_id else ("s", "LEFT JOIN landed.sources AS s ON s.source_id = t.source_id")
        asked = "" if files is None else f"JOIN asked_files ON asked_files.file_id = {owner}.file_id"
        parts.append(
            f"SELECT {owner}.file_id, '{name}' AS name, sha256(to_json(t)::VARCHAR) AS digest "
            f"FROM {name} AS t {join} {asked}"
        )
    states: dict[int | None, dict[str, State]] = {file: {} for file in files or ()}
    with book.with_temp_view("asked_files", pl.DataFrame({"file_id": files or []}, schema={"file_id": pl.Int32})):
        for file, name, rows, digest in _summed(book, "file_id, name", parts):
            states.setdefault(file, {})[name] = [rows, digest]
    return states


def tables_of(book: Book, schema: str) -> list[str]:
    """The tables of a schema, views left out."""
    return [name for name in whole_tables(book) if name.startswith(f"{schema}.")]


def whole_tables(book: Book) -> list[str]:
    """Every table of the book, views and the register itself left out."""
    return book.frame(WHOLE)["name"].to_list()


def file_tables(book: Book) -> list[str]:
    """The tables whose rows belong to received files."""
    return book.frame(OF_FILES)["name"].to_list()


def file_events(book: Book, files: Sequence[int], kind: str = "file received") -> list[Event]:
    """What the register says of files just recorded: their hash, what they gave, and the logs kept beside the book."""
    columns = "file_id, sha256, name, origin, size_bytes, map, map_sha256, received_by, times_read"
    with book.with_temp_view("asked_files", pl.DataFrame({"file_id": files}, schema={"file_id": pl.Int32})):
        rows = book.frame(
            f"SELECT {columns} FROM received.files SEMI JOIN asked_files USING (file_id) ORDER BY file_id"
        )
        logs = book.frame("""
            SELECT s.file_id, l.file FROM typed.log_files AS l JOIN landed.sources AS s USING (source_id)
            SEMI JOIN asked_files USING (file_id) ORDER BY l.file
        """)
    states = states_of_files(book, files)
    events = []
    for row in rows.iter_rows(named=True):
        payload = row | {"rows": states[row["file_id"]]}
        own = logs.filter(pl.col("file_id") == row["file_id"])["file"]
        if len(own):
            payload["logs"] = {name: digest_of(book.folder / name) for name in own}
        events.append(Event(kind, row["name"], payload))
    return events


def append_events(
    book: Book, events: Sequence[Event], tables: Iterable[str] | Mapping[str, State] = (), at: Any = None
) -> None:
    """Enter these, the last one with the state of the whole tables named; inside the transaction that changed them.

    A book from before the register gets one first, which takes what stands in the book as it stands.

    Parameters
    ----------
    tables : iterable of str or mapping
        Names of the tables; or their states, where they were taken just before in the same transaction.
    """
    begin(book)
    if not events:
        return
    states = tables if isinstance(tables, Mapping) else states_of(book, tables)
    last = events[-1]
    with_states = Event(last.kind, last.subject, last.data | ({"tables": dict(states)} if states else {}))
    register.append(book, [*events[:-1], with_states], at)


def begin(book: Book) -> None:
    """Make the register where there is none."""
    if register.is_kept(book):
        return
    register.make_table(book)
    known = whole_tables(book)
    files: list[int] = []
    if "received.files" in known:
        files = book.frame("SELECT file_id FROM received.files ORDER BY file_id")["file_id"].to_list()
    if files:
        whole = states_of(book, sorted(set(known) - set(file_tables(book))))
        begun = Event("begun", "a book that was begun without a register", {"files": len(files), "tables": whole})
        register.append(book, [begun, *file_events(book, files, "file held")])


def digest_of(path: Path) -> str:
    """SHA-256 of a file, read block by block."""
    digest = sha256()
    with path.open("rb") as stream:
        while block := stream.read(BLOCK_BYTES):
            digest.update(block)
    return digest.hexdigest()


def _summed(book: Book, by: str, parts: list[str]) -> list[tuple[Any, ...]]:
    if not parts:
        return []
    rows = " UNION ALL ".join(parts)
    return book.frame(
        f"SELECT {by}, count(*), sha256(string_agg(digest, '' ORDER BY digest)) FROM ({rows}) GROUP BY ALL ORDER BY ALL"
    ).rows()


def last_stated(book: Book, names: Iterable[str]) -> dict[str, State]:
    """What the register last said of each of these whole tables."""
    wanted, stated = set(names), {}
    for entry in reversed(register.entries(book)):
        for name, state in entry.data.get("tables", {}).items():
            if name in wanted and name not in stated:
                stated[name] = state
        if len(stated) == len(wanted):
            break
    return stated


def last_stated_of_files(book: Book) -> dict[int, dict[str, State]]:
    """What the register last said of each received file's part of the tables."""
    return {entry.data["file_id"]: entry.data["rows"] for entry in register.entries(book) if "rows" in entry.data}
