"""Logs into the log store: at the speed of the disk where they are in order, with care where they overlap others."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

import polars as pl

from pipeline.database import Book
from pipeline.typed.log_store import LogFile, spread, times_of_series
from pipeline.typed.readings import READINGS
from pipeline.typed.recording import RowCounts, append_of_source, count, judged, refuse, write_counts
from pipeline.typed.section import TypedSection


@dataclass
class StagedLog:
    """A section of readings, written to the log store as it is typed."""

    source_id: int
    number: int
    log: LogFile
    counts: RowCounts = field(default_factory=lambda: RowCounts("readings"))
    refused: list[pl.DataFrame] = field(default_factory=list)
    is_in_order: bool = True  # each series' own time goes one way throughout, so no reading stands twice
    _last: dict[str, datetime] = field(default_factory=dict)
    _falls: dict[str, bool] = field(default_factory=dict)

    def stage(self, section: TypedSection) -> None:
        """Take one typed frame: readings to the store, refusals for the book."""
        self.is_in_order = self.is_in_order and (section.kept.is_empty() or self._goes_on(section.kept))
        self.log.add(section.kept, self.source_id)
        self.refused.append(section.refused)
        count(self.counts, section, section.kept, 0, section.refused["line"].n_unique())

    def record_all(self, book: Book) -> RowCounts:
        """Put the log in its place, and write what became of its rows."""
        if self.refused:
            refuse(book, self.refused, self.source_id)
        self.log.close(book, self.source_id)
        write_counts(book, self.counts, self.source_id, self.number)
        return self.counts

    def _goes_on(self, kept: pl.DataFrame) -> bool:
        """Whether times go strictly one way within each series, on from those of the frames before."""
        named = ["equipment", "tag"] if "tag" in kept.columns else ["equipment"]
        for name, times in times_of_series(kept.select("read_at", *named)):
            before, steps = self._last.get(name), times.diff().drop_nulls()
            falls = self._falls.setdefault(name, times[-1] < (before or times[0]))
            if not (steps < timedelta() if falls else steps > timedelta()).all():
                return False
            if before is not None and not (times[0] < before if falls else times[0] > before):
                return False
            self._last[name] = times[-1]
        return True

    def overlaps(self, book: Book) -> bool:
        """Whether the book holds readings of the same equipment within this log's time."""
        return any(
            book.value(
                "SELECT 1 FROM typed.log_blocks WHERE equipment = ? AND first_at <= ? AND last_at >= ? LIMIT 1",
                [block.equipment, block.last_at, block.first_at],
            )
            for block in self.log.blocks
        )


@dataclass
class CarefulLog:
    """A section of readings compared value by value with what the book holds, frame by frame.

    Its blocks are those of the log as it was staged first; that staging is discarded.
    """

    staged: StagedLog
    log: LogFile
    counts: RowCounts = field(default_factory=lambda: RowCounts("readings"))

    def begin(self, book: Book) -> None:
        """Look up what the book holds within this log's time; its own accepted readings are added as they come."""
        book.execute("CREATE OR REPLACE TEMP TABLE known_readings AS FROM typed.readings WHERE false")
        for block in self.staged.log.blocks:
            book.execute(
                "INSERT INTO known_readings FROM typed.readings WHERE equipment = ? AND read_at BETWEEN ? AND ?",
                [block.equipment, block.first_at, block.last_at],
            )
        self.staged.log.discard()

    def take(self, book: Book, section: TypedSection) -> None:
        """Judge one typed frame and put its new readings into the store."""
        source_id = self.staged.source_id
        new, held, conflicts = judged(book, READINGS, spread(section.kept), "known_readings", source_id)
        append_of_source(book, "known_readings", new, source_id)
        self.log.add(new, source_id)
        count(self.counts, section, new, held, refuse(book, [section.refused, conflicts], source_id))

    def record_all(self, book: Book) -> RowCounts:
        """Put the log in its place, and write what became of its rows."""
        self.log.close(book, self.staged.source_id)
        write_counts(book, self.counts, self.staged.source_id, self.staged.number)
        return self.counts
