"""Receive spoilt files and hold every row to account."""

from pathlib import Path

from mutations import mutated_files
from small_house import write_house

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import receive


def receive_spoilt(folder: Path, count: int, seed: int, at_once: int = 250) -> dict[str, int]:
    """Receive so many spoilt files, some at once into one book; counts of what became of files and rows.

    Raises whatever escapes, and AssertionError where a row is not accounted for.
    """
    totals = {
        "files": 0,
        "received": 0,
        "refused": 0,
        "already held": 0,
        "rows in": 0,
        "rows kept": 0,
        "rows refused": 0,
    }
    files = list(mutated_files(count, seed))
    for start in range(0, count, at_once):
        site = folder / f"site{start}"
        write_house(site)
        for name, content in files[start : start + at_once]:
            (site / name).write_bytes(content)
        outcomes = receive(folder / f"book{start}", [site], None)
        for outcome in outcomes:
            totals["files"] += 1
            totals[outcome.outcome] += 1
            assert outcome.outcome != "refused" or outcome.reason
        with open_book(folder / f"book{start}") as book:
            _hold_to_account(book, totals)
    return totals


def _hold_to_account(book, totals: dict[str, int]) -> None:
    counts = book.frame("""
        SELECT source_id, kind, sum(rows_in)::INTEGER AS rows_in, sum(kept)::INTEGER AS kept,
               sum(refused)::INTEGER AS refused,
               sum(kept + held + refused + passed_over) AS accounted
        FROM typed.row_counts GROUP BY ALL
    """)
    landed = dict(book.frame("SELECT source_id, count(*) FROM landed.rows GROUP BY source_id").iter_rows())
    refused = dict(
        book.frame("SELECT source_id, count(DISTINCT line) FROM typed.refused GROUP BY source_id").iter_rows()
    )
    for row in counts.iter_rows(named=True):
        assert row["rows_in"] == row["accounted"]
        assert row["refused"] == refused.get(row["source_id"], 0)
        if row["kind"] != "readings":  # the rows of logs are in the kept file only
            assert row["rows_in"] == landed.get(row["source_id"], 0)
            kept = book.value(
                f"SELECT count(DISTINCT line) FROM typed.{row['kind']} WHERE source_id = ?", [row["source_id"]]
            )
            assert row["kept"] == kept
        totals["rows in"] += row["rows_in"]
        totals["rows kept"] += row["kept"]
        totals["rows refused"] += row["refused"]
