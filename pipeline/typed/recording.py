"""Typed records into the book: new ones kept, known ones already held, contradicting ones refused."""

from dataclasses import dataclass

import polars as pl

from pipeline.database import Book
from pipeline.typed.record import Record
from pipeline.typed.section import TypedSection


@dataclass(frozen=True)
class RowCounts:
    """What became of the rows of one section: rows_in = kept + held + refused + passed_over."""

    kind: str
    rows_in: int
    kept: int
    held: int
    refused: int
    passed_over: int


def record_section(book: Book, section: TypedSection, source_id: int, number: int) -> RowCounts:
    """Write one section's records and refusals; a row that contradicts an accepted one is refused, never written over.

    Raises
    ------
    AssertionError
        If a row would be lost: rows in must equal kept + held + refused + passed over.
    """
    new, held_lines, conflicts = _against_the_book(book, section, source_id)
    refused = pl.concat([section.refused, conflicts], how="diagonal")
    book.append(f"typed.{section.record.kind}", new.with_columns(pl.lit(source_id, pl.Int32).alias("source_id")))
    book.append("typed.refused", refused.with_columns(pl.lit(source_id, pl.Int32).alias("source_id")))
    kept = new["line"].n_unique()
    counts = RowCounts(
        kind=section.record.kind,
        rows_in=section.rows_in,
        kept=kept,
        held=held_lines,
        refused=refused["line"].n_unique(),
        passed_over=section.passed_over + _rows_without_record(section),
    )
    accounted = counts.kept + counts.held + counts.refused + counts.passed_over
    assert counts.rows_in == accounted, f"{counts.rows_in} rows in, {accounted} accounted for"
    book.append(
        "typed.row_counts",
        pl.DataFrame({"source_id": [source_id], "section": [number], **{k: [v] for k, v in vars(counts).items()}}),
    )
    return counts


def _rows_without_record(section: TypedSection) -> int:
    """Rows of a wide layout in which no column was filled: nothing was read, so nothing is kept or refused."""
    with_something = set(section.kept["line"]) | set(section.refused["line"])
    return section.rows_in - section.passed_over - len(with_something)


def _against_the_book(book: Book, section: TypedSection, source_id: int) -> tuple[pl.DataFrame, int, pl.DataFrame]:
    """New records, the number of lines wholly held already, and a fault for each contradicting record.

    Rows are compared with those of the book and with earlier rows of the same section. A line counts as kept when
    at least one of its records is new, as refused when one contradicts, else as held.
    """
    record, kept = section.record, section.kept
    if kept.is_empty():
        return kept, 0, pl.DataFrame(schema=section.refused.schema)
    columns = [name for name in kept.columns if name != "line"]
    same_key = " AND ".join(f"old.{name} IS NOT DISTINCT FROM new.{name}" for name in record.key)
    differing = " OR ".join(f"old.{name} IS DISTINCT FROM new.{name}" for name in columns if name not in record.key)
    partition = ", ".join(record.key)
    with book.offered("incoming", kept):
        judged = book.frame(f"""
            WITH ranked AS (
                SELECT *, row_number() OVER (PARTITION BY {partition} ORDER BY line) AS turn FROM incoming
            ),
            known AS (
                SELECT {", ".join(columns)}, source_id, line AS old_line, 0 AS turn FROM typed.{record.kind}
                WHERE {record.key[0]} IN (SELECT {record.key[0]} FROM incoming)
                UNION ALL
                SELECT {", ".join(columns)}, {source_id}, line, turn FROM ranked WHERE turn = 1
            )
            SELECT new.*, old.source_id AS old_source_id, old.old_line,
                   old.old_line IS NOT NULL AND ({differing or "false"}) AS contradicts,
                   row_number() OVER (PARTITION BY new.turn, new.line, {", ".join("new." + k for k in record.key)}
                                      ORDER BY old.turn) AS first_match
            FROM ranked AS new LEFT JOIN known AS old ON {same_key} AND old.turn < new.turn
            QUALIFY first_match = 1
            ORDER BY new.line
        """)
    contradicting = judged.filter("contradicts")
    bad_lines = contradicting["line"].unique()
    sound = judged.filter(~pl.col("line").is_in(bad_lines.implode()))
    new = sound.filter(pl.col("old_line").is_null())
    held_lines = sound.filter(~pl.col("line").is_in(new["line"].unique().implode()))["line"].n_unique()
    return new.select(kept.columns), held_lines, _conflict_faults(book, record, contradicting)


def _conflict_faults(book: Book, record: Record, contradicting: pl.DataFrame) -> pl.DataFrame:
    """One fault a contradicting record, naming the place of the record it contradicts."""
    key = pl.concat_str([pl.col(name).cast(pl.String).fill_null("") for name in record.key], separator=" / ")
    with book.offered("contradicting", contradicting.with_columns(key.alias("shown_key"))):
        return book.frame(
            """
            SELECT c.line, 'conflict' AS code, ? AS column_name, c.shown_key AS value,
                   'the same values as the record accepted from ' || f.name
                       || CASE WHEN s.sheet IS NULL THEN '' ELSE ', sheet ' || s.sheet END
                       || ', line ' || c.old_line AS expected,
                   'find out which of the two is right; an accepted record is never written over' AS to_do,
                   c.shown_key AS raw
            FROM contradicting AS c
            JOIN landed.sources AS s ON s.source_id = c.old_source_id
            JOIN received.files AS f USING (file_id)
            ORDER BY c.line
            """,
            [" + ".join(record.key)],
        )
