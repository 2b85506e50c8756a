"""Logs into the log store: at the speed of the disk where they are in order, with care where they overlap others."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.typed.log_store import SCHEMA, LogFile, spread, times_of_series
from gaugebook.pipeline.typed.readings import READINGS, TAGS
from gaugebook.pipeline.typed.recording import RowCounts, count, judged, refuse, write_counts
from gaugebook.pipeline.typed.section import TypedSection
from gaugebook.pipeline.typed.set_back import RowsBehind, parted_by_held


@dataclass
class StagedLog:
    """A section of readings, written to the log store as it is typed."""

    source_id: int
    number: int
    log: LogFile
    counts: RowCounts = field(default_factory=lambda: RowCounts(READINGS.kind))
    refused: list[pl.DataFrame] = field(default_factory=list)
    is_in_order: bool = True  # each series' own time goes one way throughout, so no reading stands twice
    behind: RowsBehind = field(default_factory=RowsBehind)
    _last: dict[str, datetime] = field(default_factory=dict)
    _falls: dict[str, bool] = field(default_factory=dict)

    def stage(self, section: TypedSection) -> None:
        """Take one typed frame: readings to the store, refusals for the book."""
        self.is_in_order = self.is_in_order and (section.kept.is_empty() or self._goes_on(section.kept))
        if not section.kept.is_empty():
            self.behind.note(section.kept)
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
    """A section of readings compared with what the book holds and with its own earlier rows, frame by frame.

    Of most rows the instant is new, or held with the same values; only the others are compared value by value.
    """

    staged: StagedLog
    log: LogFile
    lines_of_set_backs: pl.Series
    counts: RowCounts = field(default_factory=lambda: RowCounts(READINGS.kind))

    def take(self, book: Book, section: TypedSection) -> None:
        """Judge one typed frame and put its new readings into the store."""
        kept = section.kept
        if kept.is_empty():
            count(self.counts, section, kept, 0, refuse(book, [section.refused], self.staged.source_id))
            return
        in_book, own = self._known(book, kept)
        is_after = kept["line"].is_in(self.lines_of_set_backs.implode())
        after, after_held = parted_by_held(kept.filter(is_after), in_book)
        kept, known = kept.filter(~is_after), pl.concat([in_book, own])
        plain, held, odd = kept.clear(), 0, kept
        if "tag" not in kept.columns:
            plain, held, odd = _parted(kept, known)
        new, odd_held, conflicts = self._by_value(book, odd, known)
        for rows in (plain, new, after):
            self.log.add(rows, self.staged.source_id)
        lines = pl.concat([rows.select("line") for rows in (plain, new, after)])
        refused = refuse(book, [section.refused, conflicts], self.staged.source_id)
        count(self.counts, section, lines, held + odd_held + after_held, refused)

    def _known(self, book: Book, kept: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
        """Rows of the book, and of this log so far, at the instants of these."""
        instants = kept.select("equipment", "read_at").unique()
        files = book.frame(
            "SELECT DISTINCT file FROM typed.log_files JOIN typed.log_blocks USING (source_id) "
            "WHERE list_contains(?, equipment) AND first_at <= ? AND last_at >= ? ORDER BY file",
            [instants["equipment"].unique().to_list(), instants["read_at"].max(), instants["read_at"].min()],
        )["file"].to_list()
        own = self.log.rows_at(instants)
        if not files:
            return own.clear(), own
        listed = ", ".join(f"'{name}'" for name in files)
        with book.with_temp_view("instants", instants):
            held = book.frame(f"""
                SELECT r.* FROM read_parquet([{listed}]) AS r SEMI JOIN instants USING (equipment, read_at)
                WHERE r.read_at BETWEEN (SELECT min(read_at) FROM instants) AND (SELECT max(read_at) FROM instants)
            """)
        return held.select(list(SCHEMA)), own

    def _by_value(self, book: Book, odd: pl.DataFrame, known: pl.DataFrame) -> tuple[pl.DataFrame, int, pl.DataFrame]:
        at_odd = known.join(odd.select("equipment", "read_at").unique(), on=["equipment", "read_at"], how="semi")
        with book.with_temp_view("known_readings", spread(at_odd)):
            return judged(book, READINGS, spread(odd), "known_readings", self.staged.source_id)

    def record_all(self, book: Book) -> RowCounts:
        """Put the log in its place, and write what became of its rows."""
        self.log.close(book, self.staged.source_id)
        write_counts(book, self.counts, self.staged.source_id, self.staged.number)
        return self.counts


def _parted(kept: pl.DataFrame, known: pl.DataFrame) -> tuple[pl.DataFrame, int, pl.DataFrame]:
    """Wide rows of instants that are new; how many rows are held value for value; and the rows that are neither."""
    instant = ["equipment", "read_at"]
    tags = [name for name in kept.columns if name in TAGS]
    known = known.select(*instant, *tags, is_known=pl.lit(True))
    is_twice = kept.select(instant).is_duplicated()
    once = known.unique(instant, keep="none")  # instants that several files share are compared value by value
    several = known.select(instant).filter(known.select(instant).is_duplicated()).unique().with_columns(is_several=True)
    beside = kept.join(once, on=instant, how="left", maintain_order="left", suffix="_known")
    beside = beside.join(several, on=instant, how="left", maintain_order="left")
    is_same = pl.all_horizontal(pl.col(tag).is_null() | (pl.col(tag) == pl.col(f"{tag}_known")) for tag in tags)
    state = beside.select(
        is_new=pl.col("is_known").is_null() & pl.col("is_several").is_null(),
        is_held=pl.col("is_known").is_not_null() & is_same.fill_null(False),
    )
    is_new, is_held = state["is_new"] & ~is_twice, state["is_held"] & ~is_twice
    return kept.filter(is_new), int(is_held.sum()), kept.filter(~(is_new | is_held))
