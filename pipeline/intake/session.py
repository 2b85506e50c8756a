"""Where files become rows of the book: each is read without the book, then recorded with others in one transaction.

The book is opened only for moments, several files at a time, so that readers are not kept out while a long log is
read. A process that dies leaves either all of a file or nothing of it.
"""

import getpass
import itertools
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import polars as pl

from gaugebook.pipeline.book.database import Book, open_book
from gaugebook.pipeline.book.register import Event
from gaugebook.pipeline.book.table_digests import append_events, file_events
from gaugebook.pipeline.errors import BookError, FileRefused
from gaugebook.pipeline.house.settings import House
from gaugebook.pipeline.intake.file_outcome import FileOutcome, Outcome
from gaugebook.pipeline.landed.tables import TextTable, has_signature, open_tables
from gaugebook.pipeline.received.content import Content, FileAtRest
from gaugebook.pipeline.received.files import (
    IncomingFile,
    Keeper,
    held_file,
    kept_path,
    readable,
    require_name,
    sha256_of,
    size_of,
)
from gaugebook.pipeline.received.source_map import Section, SourceMap, maps_for
from gaugebook.pipeline.typed.amendments import amend_again, amended_in
from gaugebook.pipeline.typed.dst_fold import LogClock
from gaugebook.pipeline.typed.kinds import RECORDS
from gaugebook.pipeline.typed.log_store import (
    LogFile,
    forget_unfinished,
    forget_unnamed,
    incoming_log,
    log_path,
    show_readings,
)
from gaugebook.pipeline.typed.logs import CarefulLog, StagedLog
from gaugebook.pipeline.typed.plain_numbers import number_columns
from gaugebook.pipeline.typed.recording import RowCounts, StagedSection, forget_file
from gaugebook.pipeline.typed.section import TypedSection, type_section

FILES_AT_ONCE = 40
SECONDS_AT_ONCE = 1.0  # of reading, before what was read is recorded


@dataclass
class StagedTable:
    """One table of a file, read and typed."""

    source_id: int
    table: TextTable
    rows: list[pl.DataFrame] = field(default_factory=list)  # as text; none for logs, which the kept file holds
    sections: list[StagedSection | StagedLog] = field(default_factory=list)


@dataclass
class StagedFile:
    """A file that was read and waits to be recorded."""

    file: IncomingFile
    file_id: int
    times_read: int
    source_map: SourceMap
    outcome: FileOutcome
    tables: list[StagedTable] = field(default_factory=list)


class IngestSession:
    """A turn at taking files into one book."""

    def __init__(self, book_folder: Path, house: House, maps: list[SourceMap]) -> None:
        self.folder, self.house, self.maps = book_folder, house, maps
        self._keeper = Keeper(book_folder)
        forget_unfinished(book_folder)
        with open_book(book_folder) as book:
            held = book.frame("SELECT sha256, size_bytes FROM received.files")
            self._held, self._held_sizes = set(held["sha256"]), set(held["size_bytes"])
            self._file_id = book.value("SELECT coalesce(max(file_id), 0) FROM received.files")
            self._source_id = book.value("SELECT coalesce(max(source_id), 0) FROM landed.sources")

    def close(self) -> None:
        """Leave nothing running."""
        self._keeper.close()

    def take_in(self, paths: list[Path], on_file: Callable[[FileOutcome], None]) -> list[FileOutcome]:
        """Receive files in this order; each outcome is told as soon as the file is read."""
        outcomes: list[FileOutcome] = []
        waiting: list[StagedFile] = []
        begun = time.monotonic()
        try:
            for path in paths:
                staged = self._read_new(path, outcomes)
                if staged:
                    waiting.append(staged)
                on_file(outcomes[-1])
                if len(waiting) >= FILES_AT_ONCE or time.monotonic() - begun > SECONDS_AT_ONCE:
                    self._record(waiting)
                    waiting, begun = [], time.monotonic()
        except BookError:  # of the file that was being read; those read before it are not lost with it
            with suppress(BookError):
                self._record(waiting)
            raise
        self._record(waiting)
        return outcomes

    def read_again(self, on_file: Callable[[FileOutcome], None]) -> list[FileOutcome]:
        """Read kept files anew: those with refused or held rows, and those whose map has changed."""
        with open_book(self.folder) as book:
            known = book.frame((Path(__file__).parent / "to_read_again.sql").read_text(encoding="utf-8"))
            refused = book.frame("SELECT * FROM received.refused_files WHERE sha256 IS NOT NULL")
        changed_from = {(item.name, item.sha256) for item in self.maps}
        outcomes: list[FileOutcome] = []
        for row in known.iter_rows(named=True):
            if row["may_change"] or (row["map"], row["map_sha256"]) not in changed_from:
                self._read_known(row, outcomes)
                on_file(outcomes[-1])
        for row in refused.iter_rows(named=True):
            kept = kept_path(row["sha256"], self.folder)
            path = Path(row["origin"]) / row["name"]
            if row["sha256"] in self._held:  # the same bytes under another name
                outcomes.append(FileOutcome(path, Outcome.HELD))
            else:
                file = held_file(path, kept.stat().st_size, row["sha256"], self.folder)
                staged = self._stage_new(file, outcomes)
                self._record([staged] if staged else [])
            on_file(outcomes[-1])
        with open_book(self.folder) as book:
            forget_unnamed(book)
        return outcomes

    def _read_new(self, path: Path, outcomes: list[FileOutcome]) -> StagedFile | None:
        try:
            require_name(path)
            if size_of(path) in self._held_sizes and sha256_of(path) in self._held:
                outcomes.append(FileOutcome(path, Outcome.HELD))
                return None
            file = self._keeper.take(path)
        except FileRefused as error:
            outcomes.append(FileOutcome(readable(path), Outcome.REFUSED, str(error)))
            self._note_refused(readable(path), None, error)
            return None
        return self._stage_new(file, outcomes)

    def _stage_new(self, file: IncomingFile, outcomes: list[FileOutcome]) -> StagedFile | None:
        """Read a copy that is not in the book yet."""
        staged = self._stage(file, outcomes, self._file_id + 1, 1)
        if staged:
            self._file_id += 1
            self._held.add(file.sha256)
            self._held_sizes.add(file.size_bytes)
        return staged

    def _read_known(self, row: dict, outcomes: list[FileOutcome]) -> None:
        """Put a file's new reading in the place of its old one; amendments stand."""
        path = Path(row["origin"]) / row["name"]
        file = held_file(path, row["size_bytes"], row["sha256"], self.folder)
        staged = self._stage(file, outcomes, row["file_id"], row["times_read"] + 1)
        if staged:
            self._record([staged])

    def _stage(
        self, file: IncomingFile, outcomes: list[FileOutcome], file_id: int, times_read: int
    ) -> StagedFile | None:
        """Read and type the copy, without the book; None where the file is refused whole."""
        shown = f'"{file.path}"'
        source_id = self._source_id
        outcome = FileOutcome(file.path, Outcome.RECEIVED)
        outcomes.append(outcome)
        logs: list[LogFile] = []
        try:
            source_map = self._map_for(file.path, file.copy, shown)
            staged = StagedFile(file, file_id, times_read, source_map, outcome)
            for table in open_tables(file.copy, shown, source_map, number_columns(source_map)):
                self._source_id += 1
                staged.tables.append(self._stage_table(table, staged, logs))
            self._keeper.place(file)
        except BaseException as error:
            for log in logs:
                log.discard()
            if not isinstance(error, FileRefused):
                raise
            self._source_id = source_id
            outcome.outcome, outcome.reason = Outcome.REFUSED, str(error)
            self._note_refused(file.path, self._hash_if_kept(file), error)
            return None
        for section in itertools.chain.from_iterable(table.sections for table in staged.tables):
            if isinstance(section, StagedLog):
                section.log.path = log_path(self.folder, file.sha256, section.number, times_read)
        return staged

    def _hash_if_kept(self, file: IncomingFile) -> str | None:
        """Put a refused file's copy in its place all the same; None if the file was changed under the reading."""
        try:
            self._keeper.place(file)
        except FileRefused:
            return None
        return file.sha256

    def _map_for(self, path: Path, copy: Content, shown: str) -> SourceMap:
        fitting = maps_for(path, self.maps)
        if len(fitting) > 1:
            fitting = [item for item in fitting if has_signature(copy, shown, item)] or fitting
        if len(fitting) > 1:
            names = " and ".join(item.name for item in fitting)
            raise FileRefused("file.two-maps", f"{shown}: the maps {names} both take it; narrow their files or header.")
        return fitting[0]

    def _stage_table(self, table: TextTable, staged: StagedFile, logs: list[LogFile]) -> StagedTable:
        result = StagedTable(self._source_id, table)
        zone, read = self.house.time_zone, staged.source_map.read
        numbers = [staged.source_map.records.index(section) + 1 for section in table.sections]
        clocks = [LogClock() for _ in table.sections]
        for section, number in zip(table.sections, numbers, strict=True):
            result.sections.append(self._staging(section, number, staged, logs))
        is_log_only = all(RECORDS[section.kind].is_log for section in table.sections)
        for rows in table.rows:
            if not is_log_only:
                result.rows.append(rows.frame)
            for section, clock, target in zip(table.sections, clocks, result.sections, strict=True):
                typed = type_section(rows, table.header, section, read, zone, clock)
                if isinstance(target, StagedLog):
                    target.stage(typed)
                else:
                    target.typed.append(typed)
        for target in result.sections:
            if isinstance(target, StagedLog):
                target.log.write()
                target.log.settle()
        return result

    def _staging(
        self, section: Section, number: int, staged: StagedFile, logs: list[LogFile]
    ) -> StagedSection | StagedLog:
        record = RECORDS[section.kind]
        if not record.is_log:
            return StagedSection(record, self._source_id, number)
        logs.append(incoming_log(self.folder, self._source_id, number))
        return StagedLog(self._source_id, number, logs[-1])

    def _record(self, waiting: list[StagedFile]) -> None:
        self._keeper.settle()
        if not waiting:
            return
        with open_book(self.folder, writing=True) as book, book.transaction():
            for staged in waiting:
                if staged.times_read > 1:
                    self._record_anew(book, staged)
                else:
                    self._record_file(book, staged)
            show_readings(book)
            append_events(book, _events(book, waiting), ["received.refused_files", "received.maps", "typed.amendments"])

    def _record_anew(self, book: Book, staged: StagedFile) -> None:
        """In the place of the file's earlier reading; an amendment that finds its record no more is told."""
        amended = amended_in(book, staged.file_id)
        forget_file(book, staged.file_id)
        self._record_file(book, staged)
        lost = amended - amend_again(book, staged.file_id)
        if lost:
            staged.outcome.lost_amendments = tuple(sorted(lost))
            numbers = ", ".join(map(str, staged.outcome.lost_amendments))
            staged.outcome.reason = (
                f'"{staged.file.path}" was read anew, and amendment {numbers} finds its record no more: it is now read '
                "under another key or refused, or another record has the amended key. Amend the record that stands "
                "there now."
            )

    def _record_file(self, book: Book, staged: StagedFile) -> None:
        _register(book, staged)
        for table in staged.tables:
            _land(book, table, staged.file_id)
            for number, section in enumerate(table.sections):
                if isinstance(section, StagedLog) and (not section.is_in_order or section.overlaps(book)):
                    counts = self._record_carefully(book, staged, table, number)
                else:
                    counts = section.record_all(book)
                staged.outcome.counts.append(counts)

    def _record_carefully(self, book: Book, staged: StagedFile, table: StagedTable, number: int) -> RowCounts:
        """Read a log once more, now comparing each value with what the book holds."""
        staged_log = table.sections[number]
        assert isinstance(staged_log, StagedLog)
        log = LogFile(staged_log.log.path)
        careful = CarefulLog(staged_log, log, staged_log.behind.lines_of_set_backs(staged_log.log))
        staged_log.log.discard()
        section, clock = table.table.sections[number], LogClock()
        kept, shown = FileAtRest(kept_path(staged.file.sha256, self.folder)), f'"{staged.file.path}"'
        again = next(item for item in open_tables(kept, shown, staged.source_map) if section in item.sections)
        for rows in again.rows:
            typed: TypedSection = type_section(
                rows, again.header, section, staged.source_map.read, self.house.time_zone, clock
            )
            careful.take(book, typed)
        return careful.record_all(book)

    def _note_refused(self, path: Path, sha256: str | None, error: FileRefused) -> None:
        self._keeper.settle()
        with open_book(self.folder, writing=True) as book, book.transaction():
            place = [path.name, path.parent.as_posix()]
            book.execute("DELETE FROM received.refused_files WHERE name = ? AND origin = ?", place)
            book.execute(
                "INSERT INTO received.refused_files VALUES (?, ?, ?, ?, ?)", [sha256, *place, error.code, str(error)]
            )
            payload = {
                "name": path.name,
                "origin": place[1],
                "sha256": sha256,
                "code": error.code,
                "reason": str(error),
            }
            append_events(book, [Event("file refused", path.name, payload)], ["received.refused_files"])


def _register(book: Book, staged: StagedFile) -> None:
    """The row of received.files, with the edition of the map that read it."""
    source_map, file = staged.source_map, staged.file
    if not book.value("SELECT 1 FROM received.maps WHERE map = ? AND sha256 = ?", [source_map.name, source_map.sha256]):
        book.execute(
            "INSERT INTO received.maps VALUES (?, ?, ?)", [source_map.name, source_map.sha256, source_map.text]
        )
    place = [file.path.name, file.path.parent.as_posix()]
    no_longer = "DELETE FROM received.refused_files WHERE sha256 = ? OR (name = ? AND origin = ?)"
    book.execute(no_longer, [file.sha256, *place])
    if staged.times_read > 1:
        book.execute(
            "UPDATE received.files SET map = ?, map_sha256 = ?, times_read = ? WHERE file_id = ?",
            [source_map.name, source_map.sha256, staged.times_read, staged.file_id],
        )
        return
    book.execute(
        "INSERT INTO received.files VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        [
            staged.file_id, file.sha256, *place, file.size_bytes, source_map.name, source_map.sha256,
            datetime.now(UTC).replace(tzinfo=None), _person(), 1,
        ],
    )  # fmt: skip


def _events(book: Book, recorded: list[StagedFile]) -> list[Event]:
    """What the register says of files just recorded, in the order in which they were given."""
    new = [staged.file_id for staged in recorded if staged.times_read == 1]
    again = [staged.file_id for staged in recorded if staged.times_read > 1]
    return [*file_events(book, new), *(file_events(book, again, "file read again") if again else [])]


def _person() -> str:
    try:
        return getpass.getuser()
    except (KeyError, OSError):  # no account name on this machine
        return "unknown"


def _land(book: Book, staged: StagedTable, file_id: int) -> None:
    table = staged.table
    book.execute(
        "INSERT INTO landed.sources VALUES (?, ?, ?, ?, ?)",
        [staged.source_id, file_id, table.sheet, table.header_line, table.header],
    )
    for frame in staged.rows:
        cells = [pl.col(name).fill_null("") for name in frame.columns if name not in ("line", "beyond")]
        rows = frame.select("line", pl.concat_list(*cells, "beyond").list.drop_nulls().alias("cells"))
        book.append("landed.rows", rows.with_columns(pl.lit(staged.source_id, pl.Int32).alias("source_id")))
