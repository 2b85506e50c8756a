"""Every table and every set of data that the program hands out of a book, as files; run by itself it writes them.

python tests/support/exports.py BOOK FOLDER
"""

import json
import sys
from pathlib import Path

import polars as pl
import rfc8785

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import profile_in_force
from gaugebook.pipeline.spreadsheets import csv_bytes
from gaugebook.reports.accounts.account import account_table, gather_account, known_months
from gaugebook.reports.accounts.account_data import account_data
from gaugebook.reports.accounts.lot_trace import gather_trace, trace_table
from gaugebook.reports.board.board import gather_board
from gaugebook.reports.board.board_data import board_data
from gaugebook.reports.dossier.batch import batch_codes, gather_batch
from gaugebook.reports.dossier.dossier_data import dossier_data
from gaugebook.reports.trends.trend_tables import tables, workbook
from gaugebook.reports.trends.trends_gather import gather_trends

FLAGS = "SELECT * EXCLUDE (source_id, line) FROM flagged.flags ORDER BY rule, record, flag"
OF_FILES = ("about", "files")  # sections of a dossier that name the very files, and the register's head
OF_PLACES = ("place", "entered_at", "own_sha256", "register_head")


def write_exports(book_folder: Path, out: Path, batches: int = 3) -> None:
    """Write trends, accounts, flags, the board, and traces and dossiers of the last batches into a folder; what only
    says in which file a record stands is left out."""
    out.mkdir(parents=True, exist_ok=True)
    with open_book(book_folder) as book:
        house = profile_in_force(book)
        trends = gather_trends(book, house)
        files = {f"trends-{name}.csv": csv_bytes(frame) for name, frame in tables(trends).items() if frame.width}
        files["trends.xlsx"] = workbook(tables(trends), trends.last)
        for month in known_months(book)[-2:]:
            account = gather_account(book, house, month)
            files[f"account-{month:%Y-%m}.csv"] = csv_bytes(account_table(account))
            files[f"gauges-{month:%Y-%m}.csv"] = csv_bytes(pl.DataFrame(account.gauges))
            files[f"account-{month:%Y-%m}.json"] = _canonical(account_data(account))
        files["flags.csv"] = book.frame(FLAGS).write_csv().encode()
        files["batch_flags.csv"] = book.frame("FROM flagged.batch_flags ORDER BY ALL").write_csv().encode()
        for code in batch_codes(book)[-batches:]:
            files[f"trace-{code}.csv"] = csv_bytes(trace_table(gather_trace(book, house, code)))
            data = dossier_data(gather_batch(book, house, code))
            files[f"dossier-{code}.json"] = _canonical({key: data[key] for key in data if key not in OF_FILES})
        files["board.json"] = json.dumps(_without_places(board_data(gather_board(book, house, out))), indent=1).encode()
    for name, content in files.items():
        (out / name).write_bytes(content)


def _canonical(data: object) -> bytes:
    return bytes(rfc8785.dumps(_without_places(data)))  # type: ignore[arg-type]


def _without_places(value: object) -> object:
    if isinstance(value, dict):
        return {key: _without_places(item) for key, item in value.items() if key not in OF_PLACES}
    return [_without_places(item) for item in value] if isinstance(value, list) else value


if __name__ == "__main__":
    write_exports(Path(sys.argv[1]), Path(sys.argv[2]))
