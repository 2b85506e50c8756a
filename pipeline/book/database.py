"""The book: one DuckDB file in a folder, opened here and nowhere else.

One process writes, many read; DuckDB lets no other process in while one writes, so writers are brief and the
sentence of a refused opening names the holder. Times are UTC throughout.
"""

import errno
import logging
import os
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import Any

import duckdb
import polars as pl
from filelock import FileLock, Timeout

from gaugebook.pipeline.book.lock_holder import lock_holder
from gaugebook.pipeline.errors import BookError

FILE_NAME = "gauges.duckdb"
WAIT_S = 5.0  # how long a second process waits for the first before it says who holds the book
_TRIES = 3  # at a file that nobody holds: between the database's look and ours its holder may have let it go
_ROOM_BYTES = 1_000_000  # less than this and the database cannot go on


_log = logging.getLogger(__name__)


@contextmanager
def _timed(statement: str) -> Iterator[None]:
    """Tell developers a statement and what time it took, also where it fails."""
    if not _log.isEnabledFor(logging.DEBUG):
        yield
        return
    begun = time.perf_counter()
    try:
        yield
    finally:
        _log.debug("%.1f ms: %s", 1000 * (time.perf_counter() - begun), statement)


class Book:
    """An open book; queries come back as polars frames."""

    def __init__(self, connection: duckdb.DuckDBPyConnection, folder: Path) -> None:
        self._connection = connection
        self.folder = folder

    def frame(self, sql: str, parameters: Sequence[Any] | dict[str, Any] | None = None) -> pl.DataFrame:
        """Rows of a SELECT as a polars frame."""
        with _timed(sql):
            rows = pl.from_arrow(self._connection.sql(sql, params=parameters).to_arrow_table())
        assert isinstance(rows, pl.DataFrame)
        return rows

    def value(self, sql: str, parameters: Sequence[Any] | dict[str, Any] | None = None) -> Any:
        """First column of the first row, or None where there is no row."""
        with _timed(sql):
            rows = self._connection.execute(sql, parameters).fetchall()
        return rows[0][0] if rows else None

    def has_column(self, table: str, column: str) -> bool:
        """Whether there is a table of this name, such as derived.lots, with such a column."""
        columns = "SELECT 1 FROM information_schema.columns WHERE table_schema || '.' || table_name = ?"
        return bool(self.value(f"{columns} AND column_name = ?", [table, column]))

    def execute(self, sql: str, parameters: Sequence[Any] | dict[str, Any] | None = None) -> None:
        """One statement without a result."""
        with _timed(sql):
            self._connection.execute(sql, parameters)

    def run_file(self, path: Path) -> None:
        """Every statement of a .sql file, in order."""
        with _timed(f"the statements of {path.parent.name}/{path.name}"):
            self._connection.execute(path.read_text(encoding="utf-8"))

    def append(self, table: str, frame: pl.DataFrame) -> None:
        """Add the frame's rows to a table, column by name; columns the frame lacks stay NULL."""
        if frame.is_empty():
            return
        columns = ", ".join(f'"{name}"' for name in frame.columns)
        with self.with_temp_view("appended_rows", frame):
            self.execute(f"INSERT INTO {table} ({columns}) SELECT {columns} FROM appended_rows")

    @contextmanager
    def with_temp_view(self, name: str, frame: pl.DataFrame) -> Iterator[None]:
        """Let SQL see a frame as a table of this name for a while."""
        self._connection.register(name, frame.to_arrow())
        try:
            yield
        finally:
            self._connection.unregister(name)

    @contextmanager
    def transaction(self) -> Iterator[None]:
        """All or nothing: what was written inside is kept only if the block ends without an error."""
        self.execute("BEGIN")
        try:
            yield
        except BaseException:
            self.execute("ROLLBACK")
            raise
        self.execute("COMMIT")


@contextmanager
def writing_turn(folder: Path) -> Iterator[None]:
    """Be the one writer of this book; the turn ends with the process, however that ends.

    The book itself is opened only for moments within a turn, so that readers are not kept out.

    Raises
    ------
    BookError
        If another process has had the turn for longer than WAIT_S.
    """
    _make_folder(folder)
    holder = folder / "writer"
    lock = FileLock(folder / "writer.lock", timeout=WAIT_S, is_singleton=True)
    try:
        with lock:
            if lock.lock_counter == 1:
                holder.write_text(str(os.getpid()))
            yield
    except Timeout as error:
        who = f"process {holder.read_text()}" if holder.exists() else "another process"
        raise BookError(_in_use(folder, who)) from error
    except PermissionError as error:
        raise BookError(f'The book in "{folder}" cannot be written: {error.strerror}.') from error


@contextmanager
def open_book(folder: Path, *, writing: bool = False) -> Iterator[Book]:
    """Open the book in this folder; a writer makes it where there is none.

    Raises
    ------
    BookError
        If there is no book to read, another process holds it, it is damaged, or the disk is full.
    """
    file = folder / FILE_NAME
    if "," in str(folder):  # DuckDB's search path is a list with commas
        raise BookError(f'The folder "{folder}" has a comma in its name, which the database cannot read: rename it.')
    if not writing and not is_book(folder):
        raise BookError(
            f'There is no book in "{folder}" yet: run "gaugebook receive FILE…" first, or name its folder with --book.'
        )
    with writing_turn(folder) if writing else nullcontext():
        connection = _connect(file, writing)
        try:
            connection.execute("SET TimeZone = 'UTC'")
            connection.execute("SET enable_progress_bar = false")  # it is printed among what a command prints
            connection.execute("SET file_search_path = ?", [str(folder)])
            yield Book(connection, folder)
        except duckdb.Error as error:
            raise BookError(_sentence(error, folder)) from error
        finally:
            connection.close()


def is_book(folder: Path) -> bool:
    """Whether a book stands in this folder."""
    return (folder / FILE_NAME).exists()


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BookError(f'The folder "{folder}" for the book cannot be made: {error.strerror}.') from error


def _connect(file: Path, writing: bool) -> duckdb.DuckDBPyConnection:
    give_up_at, tries = time.monotonic() + WAIT_S, 0
    while True:
        try:
            return duckdb.connect(str(file), read_only=not writing)
        except duckdb.IOException as error:
            holder = lock_holder(file)
            tries += holder is None
            if holder is not None and time.monotonic() > give_up_at:
                raise BookError(_in_use(file.parent, f"process {holder}")) from error
            if tries >= _TRIES:
                raise BookError(_sentence(error, file.parent)) from error
            _log.debug("%s cannot be opened yet, held by %s: %s", file, holder, error)
            time.sleep(0.1)
        except duckdb.Error as error:
            raise BookError(_sentence(error, file.parent)) from error


def _in_use(folder: Path, who: str) -> str:
    return (
        f'The book in "{folder}" is in use by {who}, and was for {WAIT_S:.0f} s: '
        "wait until that command has ended, or end it, then try again. Nothing was changed."
    )


def _sentence(error: duckdb.Error, folder: Path) -> str:
    if isinstance(error, duckdb.IOException) and not _has_room(folder):
        return f'The disk under "{folder}" is full: make room and give the command again. Nothing was lost.'
    first_line = str(error).splitlines()[0]
    return f'The book in "{folder}" could not be used ({first_line}). Nothing was changed.'


def _has_room(folder: Path) -> bool:
    """Whether something can still be written here; tried, since a quota may end before the disk does."""
    try:
        with tempfile.TemporaryFile(dir=folder) as file:
            file.write(bytes(_ROOM_BYTES))
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        return error.errno not in (errno.ENOSPC, errno.EDQUOT)
    return True
