"""Readings beside the book: one Parquet file a log, one row an instant, one column a tag.

A log of hundreds of millions of rows is written and read by column, and without locking the book. Only files that
typed.log_files names are part of the book; typed.readings is a view of them, one value a row.
"""

import shutil
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.typed.readings import TAGS

FOLDER = "readings"
INCOMING = "incoming"
SCHEMA: dict[str, pl.DataType | type[pl.DataType]] = {
    "equipment": pl.String, "read_at": pl.Datetime("us"), "source_id": pl.Int32, "line": pl.Int32,
    **dict.fromkeys(TAGS, pl.Float64),
}  # fmt: skip
SILENCE = timedelta(minutes=90)  # a still that logs nothing for so long has ended its run
ROWS_A_GROUP = 120_000  # so that a query for one run reads little more than that run
ROWS_A_PART = 1_000_000
PAGE_BYTES = 2**17  # smaller and larger pages took longer to write, and more room
_WRITER = ThreadPoolExecutor(max_workers=1)  # parts are packed and written beside the reading of what follows


@dataclass(frozen=True, order=True)
class Block:
    """A stretch of a log without long silence."""

    equipment: str
    first_at: datetime
    last_at: datetime


@dataclass
class LogFile:
    """One log on its way into the store."""

    path: Path  # where it belongs, which may become known only while it is written
    blocks: list[Block] = field(default_factory=list)
    _waiting: list[pl.DataFrame] = field(default_factory=list)
    _parts: list[Path] = field(default_factory=list)
    _writing: Future[None] | None = None

    def add(self, readings: pl.DataFrame, source_id: int) -> None:
        """Append readings, wide or long; long ones are gathered by instant."""
        wide = gathered(readings) if "tag" in readings.columns else readings
        if wide.is_empty():
            return
        missing = {name: pl.lit(None, pl.Float64) for name in TAGS if name not in wide.columns}
        wide = wide.with_columns(pl.lit(source_id, pl.Int32).alias("source_id"), **missing)
        wide = wide.select(pl.col(name).cast(dtype) for name, dtype in SCHEMA.items())
        self.blocks = joined([*self.blocks, *_blocks(wide)])
        self._waiting.append(wide)
        if sum(frame.height for frame in self._waiting) >= ROWS_A_PART:
            self.write()

    def write(self) -> None:
        """Write what waits as one more part, in a thread; one at a time, so that memory stays small."""
        if not self._waiting:
            return
        self.settle()
        part = self.path.with_suffix(f".{len(self._parts)}.partial")
        part.parent.mkdir(parents=True, exist_ok=True)
        self._parts.append(part)
        self._writing = _WRITER.submit(_write_part, self._waiting, part)
        self._waiting = []

    def settle(self) -> None:
        """Wait until the last part is written; raises what went wrong with it."""
        if self._writing:
            self._writing.result()
        self._writing = None

    def rows_at(self, instants: pl.DataFrame) -> pl.DataFrame:
        """This log's own rows so far at these instants (equipment, read_at)."""
        self.settle()
        first, last = instants["read_at"].min(), instants["read_at"].max()
        parts = [*(pl.scan_parquet(part) for part in self._parts), *(frame.lazy() for frame in self._waiting)]
        if not parts:
            return pl.DataFrame(schema=SCHEMA)
        rows = pl.concat(parts).filter(pl.col("read_at").is_between(first, last))
        return rows.join(instants.lazy(), on=["equipment", "read_at"], how="semi").collect()

    def close(self, book: Book, source_id: int) -> None:
        """Put the parts in place and name them in the book; inside the file's transaction."""
        self.write()
        self.settle()
        self.path.parent.mkdir(parents=True, exist_ok=True)
        for number, part in enumerate(self._parts):
            final = self.path.with_name(f"{self.path.stem}-{number}.parquet")
            part.replace(final)
            name = final.relative_to(book.folder).as_posix()
            book.execute("INSERT INTO typed.log_files VALUES (?, ?)", [source_id, name])
        for block in self.blocks:
            values = [source_id, block.equipment, block.first_at, block.last_at]
            book.execute("INSERT INTO typed.log_blocks VALUES (?, ?, ?, ?)", values)

    def discard(self) -> None:
        """Remove what was written so far."""
        if self._writing:
            wait([self._writing])
        for part in self._parts:
            part.unlink(missing_ok=True)


def _write_part(frames: list[pl.DataFrame], part: Path) -> None:
    pl.concat(frames).write_parquet(
        part, compression="zstd", compression_level=1, row_group_size=ROWS_A_GROUP, data_page_size=PAGE_BYTES
    )


def forget_unfinished(book_folder: Path) -> None:
    """Remove what a process left that ended while it wrote a log; the one writer has the turn."""
    shutil.rmtree(book_folder / FOLDER / INCOMING, ignore_errors=True)


def forget_unnamed(book: Book) -> None:
    """Remove logs that the book names no more, since their files were read anew; the one writer has the turn."""
    named = {book.folder / name for name in book.frame("SELECT file FROM typed.log_files")["file"]}
    for path in (book.folder / FOLDER).rglob("*.parquet"):
        if path not in named:
            path.unlink()


def log_path(book_folder: Path, sha256: str, section: int, times_read: int) -> Path:
    """Where the readings of one section of a received file go; the same reading always goes to the same place."""
    return book_folder / FOLDER / sha256[:2] / f"{sha256}-{section}-{times_read}"


def incoming_log(book_folder: Path, source_id: int, section: int) -> LogFile:
    """A log whose file has no hash yet; it belongs nowhere until its path is set."""
    return LogFile(book_folder / FOLDER / INCOMING / f"{source_id}-{section}")


def _blocks(wide: pl.DataFrame) -> list[Block]:
    """The blocks of one frame; its rows need not be in order."""
    blocks = []
    for name, times in times_of_series(wide.select("equipment", "read_at")):
        times = times if times.is_sorted() else times.sort()
        begins = [0, *(times.diff() > SILENCE).arg_true()]
        ends = [*(begin - 1 for begin in begins[1:]), len(times) - 1]
        blocks += [Block(name, times[begin], times[end]) for begin, end in zip(begins, ends, strict=True)]
    return blocks


def times_of_series(rows: pl.DataFrame) -> Iterator[tuple[str, pl.Series]]:
    """The times of each series (equipment, or equipment and tag) in the order of the rows.

    Most logs are of one still; to group their rows by name would take longer than all else that is asked of them.
    """
    names = [rows[name] for name in rows.columns if name != "read_at"]
    if all((name == name[0]).all() for name in names):
        yield " ".join(name[0] for name in names), rows["read_at"]
        return
    for key, of_series in rows.group_by([name.name for name in names], maintain_order=True):
        yield " ".join(str(part) for part in key), of_series["read_at"]


def joined(blocks: list[Block]) -> list[Block]:
    """Blocks with no more than SILENCE between them made one."""
    result: list[Block] = []
    for block in sorted(blocks):
        last = result[-1] if result else None
        if last and last.equipment == block.equipment and block.first_at - last.last_at <= SILENCE:
            result[-1] = Block(last.equipment, last.first_at, max(last.last_at, block.last_at))
        else:
            result.append(block)
    return result


def gathered(readings: pl.DataFrame) -> pl.DataFrame:
    """Long readings as one row an instant; its line is the first of those that it was gathered from."""
    tags = {tag: pl.col("value").filter(pl.col("tag") == tag).first() for tag in readings["tag"].unique().sort()}
    return readings.group_by("equipment", "read_at", maintain_order=True).agg(pl.col("line").first(), **tags)


def spread(readings: pl.DataFrame) -> pl.DataFrame:
    """Wide readings as one row a value."""
    if "tag" in readings.columns:
        return readings
    tags = [name for name in readings.columns if name in TAGS]
    index = [name for name in ("line", "equipment", "read_at", "source_id") if name in readings.columns]
    long = readings.unpivot(tags, index=index, variable_name="tag", value_name="value")
    return long.filter(pl.col("value").is_not_null()).sort("line", maintain_order=True)


def show_readings(book: Book) -> None:
    """Make the view typed.readings anew over the files that the book names."""
    files = book.frame("SELECT file FROM typed.log_files ORDER BY source_id, file")["file"].to_list()
    columns = ", ".join(TAGS)
    nothing = ", ".join(f"NULL::DOUBLE AS {tag}" for tag in TAGS)
    rows = (
        "SELECT NULL::VARCHAR AS equipment, NULL::TIMESTAMP AS read_at, NULL::INTEGER AS source_id, "
        f"NULL::INTEGER AS line, {nothing} WHERE false"
    )
    if files:
        listed = ", ".join(f"'{name}'" for name in files)
        # A file that was written before a tag was known lacks its column: it has no value of it.
        rows += f" UNION ALL BY NAME SELECT * FROM read_parquet([{listed}], union_by_name = true)"
    book.execute(f"CREATE OR REPLACE VIEW typed.log_rows AS {rows}")
    book.execute(f"""
        CREATE OR REPLACE VIEW typed.readings AS
        SELECT equipment, read_at, tag, value, source_id, line
        FROM (UNPIVOT typed.log_rows ON {columns} INTO NAME tag VALUE value)
    """)
