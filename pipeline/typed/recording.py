"""Typed records into the book: new ones kept, known ones already held, contradicting ones refused."""

from dataclasses import dataclass, field

import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.errors import RowsLost
from gaugebook.pipeline.typed.amendments import first_read
from gaugebook.pipeline.typed.kinds import IN_TABLES
from gaugebook.pipeline.typed.parse_errors import FAULT_SCHEMA
from gaugebook.pipeline.typed.record import Record
from gaugebook.pipeline.typed.section import TypedSection


@dataclass
class RowCounts:
    """What became of the rows of one section: rows_in = kept + held + refused + passed_over."""

    kind: str
    rows_in: int = 0
    kept: int = 0
    held: int = 0
    refused: int = 0
    passed_over: int = 0

    def check(self) -> None:
        """Raise RowsLost where the rows do not add up."""
        accounted = self.kept + self.held + self.refused + self.passed_over
        if self.rows_in != accounted:
            raise RowsLost(
                f"Of {self.rows_in} rows of {self.kind} {accounted} are accounted for ({self.kept} kept, {self.held} "
                f"held already, {self.refused} refused, {self.passed_over} passed over). This is a fault of the "
                "program: nothing of the file was taken; report it with the file and its source map."
            )


@dataclass
class StagedSection:
    """The typed frames of one section on their way into the book."""

    record: Record
    source_id: int
    number: int
    typed: list[TypedSection] = field(default_factory=list)

    def record_all(self, book: Book) -> RowCounts:
        """Write what was staged, and what became of its rows."""
        counts = RowCounts(self.record.kind)
        table, before = self.record.table, first_read(book, self.record)
        for section in self.typed:
            new, held, faults = self._judged(book, section.kept, table, before)
            append_of_source(book, table, new, self.source_id)
            refused = refuse(book, [section.refused, *faults], self.source_id)
            count(counts, section, new, held, refused)
        write_counts(book, counts, self.source_id, self.number)
        return counts

    def _judged(
        self, book: Book, kept: pl.DataFrame, table: str, before: pl.DataFrame
    ) -> tuple[pl.DataFrame, int, list[pl.DataFrame]]:
        """As `judged`; what a record that may not stand with the others would have held is judged without it."""
        faults: list[pl.DataFrame] = []
        while True:
            new, held, conflicts = judged(book, self.record, kept, table, self.source_id, before)
            if self.record.stands_with is None:
                return new, held, [conflicts]
            new, refused = self.record.stands_with(book, new)
            if refused.is_empty():
                return new, held, [*faults, conflicts]
            faults.append(refused)
            kept = _without_lines(kept, refused["line"])


def forget_file(book: Book, file_id: int) -> None:
    """Take out what an earlier reading of a file left, before its new reading; the kept file and amendments stand."""
    sources = "SELECT source_id FROM landed.sources WHERE file_id = ?"
    tables = [record.table for record in IN_TABLES]
    tables += ["typed.refused", "typed.row_counts", "typed.log_files", "typed.log_blocks", "landed.rows"]
    for table in tables:
        book.execute(f"DELETE FROM {table} WHERE source_id IN ({sources})", [file_id])
    book.execute("DELETE FROM landed.sources WHERE file_id = ?", [file_id])


def write_counts(book: Book, counts: RowCounts, source_id: int, number: int) -> None:
    """Check that no row was lost, and write the counts of a section."""
    counts.check()
    book.append("typed.row_counts", pl.DataFrame([{"source_id": source_id, "section": number, **vars(counts)}]))


def refuse(book: Book, refused: list[pl.DataFrame], source_id: int) -> int:
    """Write refusals; how many lines they are."""
    together = pl.concat(refused, how="diagonal")
    append_of_source(book, "typed.refused", together, source_id)
    return together["line"].n_unique()


def append_of_source(book: Book, table: str, rows: pl.DataFrame, source_id: int) -> None:
    """Append rows with the source that they come from."""
    book.append(table, rows.with_columns(pl.lit(source_id, pl.Int32).alias("source_id")))


def count(counts: RowCounts, section: TypedSection, new: pl.DataFrame, held: int, refused: int) -> None:
    """Add one frame's rows to the counts; a row in which nothing was filled is passed over."""
    with_something = pl.concat([section.kept["line"], section.refused["line"]]).n_unique()
    counts.rows_in += section.rows_in
    counts.kept += new["line"].n_unique()
    counts.held += held
    counts.refused += refused
    counts.passed_over += section.rows_in - with_something


def judged(
    book: Book, record: Record, kept: pl.DataFrame, known: str, source_id: int, amended: pl.DataFrame | None = None
) -> tuple[pl.DataFrame, int, pl.DataFrame]:
    """New records, the number of lines wholly held already, and a fault for each contradicting record.

    Rows are compared with those of the table `known`, with the rows `amended` (records as they were read before
    somebody amended them: an export that repeats one is no news), and with earlier rows of the same frame. A line
    counts as kept when at least one of its records is new, as refused when one contradicts, else as held. What a
    refused line says holds nothing, so the others are judged once more without it.
    """
    conflicts = [pl.DataFrame(schema=FAULT_SCHEMA)]
    if kept.is_empty():
        return kept, 0, conflicts[0]
    while True:
        rows = _compared(book, record, kept, known, source_id, amended)
        contradicting = rows.filter("contradicts")
        if contradicting.is_empty():
            break
        is_of_this_file = (pl.col("old_turn") > 0) & (pl.col("old_line") < pl.col("line"))
        by_refused = is_of_this_file & pl.col("old_line").is_in(contradicting["line"].implode())
        first = contradicting.filter(~by_refused)  # holds at least the topmost of them
        conflicts.append(_conflict_faults(book, record, first))
        kept = _without_lines(kept, first["line"])
        if kept.is_empty():
            return kept, 0, pl.concat(conflicts, how="diagonal")
    new = rows.filter(pl.col("old_line").is_null())
    held = rows["line"].n_unique() - new["line"].n_unique()
    return new.select(kept.columns), held, pl.concat(conflicts, how="diagonal")


def _compared(
    book: Book, record: Record, kept: pl.DataFrame, known: str, source_id: int, amended: pl.DataFrame | None
) -> pl.DataFrame:
    """Each record beside the earlier one with its key, where there is one: whether it contradicts that, and how.

    Of an amended record, as it stands (turn 0) and as it was read (-1), the one that agrees, else the one that stands.
    """
    columns = [name for name in kept.columns if name != "line"]
    values = [name for name in columns if name not in record.key]
    same_key = " AND ".join(f"old.{name} IS NOT DISTINCT FROM new.{name}" for name in record.key)
    differing = " OR ".join(f"old.{name} IS DISTINCT FROM new.{name}" for name in values)
    differences = ", ".join(
        f"CASE WHEN old.{name} IS DISTINCT FROM new.{name} THEN '{name} ' || coalesce(new.{name}::VARCHAR, 'blank') "
        f"|| ' here, ' || coalesce(old.{name}::VARCHAR, 'blank') || ' there' END"
        for name in values
    )
    partition = ", ".join(record.key)
    before = kept.clear().with_columns(source_id=pl.lit(None, pl.Int32)) if amended is None else amended
    with book.with_temp_view("incoming", kept), book.with_temp_view("before_amendments", before):
        return book.frame(f"""
            WITH ranked AS (
                SELECT *, row_number() OVER (PARTITION BY {partition} ORDER BY line) AS turn FROM incoming
            ),
            earlier AS (
                SELECT {", ".join(columns)}, source_id, line AS old_line, 0 AS turn FROM {known}
                WHERE {record.key[0]} IN (SELECT {record.key[0]} FROM incoming)
                UNION ALL
                SELECT {", ".join(columns)}, source_id, line, -1 FROM before_amendments
                UNION ALL
                SELECT {", ".join(columns)}, {source_id}, line, turn FROM ranked WHERE turn = 1
            )
            SELECT new.*, old.source_id AS old_source_id, old.old_line, old.turn AS old_turn,
                   old.old_line IS NOT NULL AND ({differing or "false"}) AS contradicts,
                   CASE WHEN contradicts THEN concat_ws('; ', {differences or "''"}) END AS differences,
                   row_number() OVER (PARTITION BY new.turn, new.line, {", ".join("new." + k for k in record.key)}
                                      ORDER BY old.turn > 0, contradicts, old.turn DESC) AS first_match
            FROM ranked AS new LEFT JOIN earlier AS old ON {same_key} AND old.turn < new.turn
            QUALIFY first_match = 1
            ORDER BY new.line
        """)


def _without_lines(rows: pl.DataFrame, lines: pl.Series) -> pl.DataFrame:
    return rows.filter(~pl.col("line").is_in(lines.unique().implode()))


def _conflict_faults(book: Book, record: Record, contradicting: pl.DataFrame) -> pl.DataFrame:
    """One fault a contradicting record, naming the place of the record it contradicts and what differs."""
    shown = [
        (pl.col(item.name).dt.to_string("%Y-%m-%d %H:%M:%S UTC") if item.type == "time" else pl.col(item.name)).cast(
            pl.String
        )
        for item in map(record.field, record.key)
    ]
    key = pl.concat_str([text.fill_null("") for text in shown], separator=" / ")
    with book.with_temp_view("contradicting", contradicting.with_columns(key.alias("shown_key"))):
        return book.frame(
            """
            SELECT c.line, 'conflict' AS code, ? AS column_name, c.shown_key AS value,
                   'the same values as the record accepted from ' || f.name
                       || CASE WHEN s.sheet IS NULL THEN '' ELSE ', sheet ' || s.sheet END
                       || ', line ' || c.old_line || ': ' || c.differences AS expected,
                   'find out which of the two is right; an accepted record is never written over' AS to_do,
                   c.shown_key AS raw
            FROM contradicting AS c
            JOIN landed.sources AS s ON s.source_id = c.old_source_id
            JOIN received.files AS f USING (file_id)
            ORDER BY c.line
            """,
            [" + ".join(record.key)],
        )
