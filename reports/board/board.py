"""Gathers the board: batches and their state, flags and their age, runs, trends and run curves. Its only queries.

No clock is read: ages are counted to the book's last check, so the same book always gives the same board.
"""

from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.house.settings import House
from gaugebook.reports.page.pages import file_name
from gaugebook.reports.runs.run_figures import RunFigure, figures_of
from gaugebook.reports.trends.measures import Trends
from gaugebook.reports.trends.trends_gather import gather_trends
from gaugebook.reports.warehouse.places import Warehouse, gather_warehouse

Row = dict[str, Any]

MONTHS = 13  # shown run by run, so that a month stands beside that of a year before; months are shown of all years
# Ages of a flag: fewer days than this, and the words.
AGES = ((7, "under a week"), (28, "1 to 4 weeks"), (91, "4 to 13 weeks"), (None, "13 weeks or more"))
_HERE = Path(__file__).parent


@dataclass(frozen=True)
class Board:
    """All that the board shows; times are UTC, as in the book."""

    house: House
    checked_at: datetime
    since: datetime  # beginning of what is shown run by run
    last: datetime | None  # end of the last run in the book
    batches: tuple[Row, ...]
    flags: tuple[Row, ...]
    runs: tuple[Row, ...]
    curves: dict[str, RunFigure]
    trends: Trends
    warehouse: Warehouse | None  # None for a house without casks
    dossiers: dict[str, str]  # by batch: where its dossier lies, as seen from the board


def gather_board(book: Book, house: House, folder: Path, months: int = MONTHS) -> Board:
    """The board of a book that was checked; dossiers are linked where they lie in `folder` or in a folder of it."""
    last = book.value("SELECT max(coalesce(ended_at, started_at)) FROM derived.runs")
    since = _months_before(last, months) if last else datetime(1, 1, 1)
    batches = _rows(book, "board_batches.sql", since=since)
    runs = _rows(book, "board_runs.sql", since=since)
    return Board(
        house=house,
        checked_at=_last_check(book),
        since=since,
        last=last,
        batches=batches,
        flags=_rows(book, "board_flags.sql"),
        runs=runs,
        curves=figures_of(book, [run["run"] for run in runs]),
        trends=gather_trends(book, house),
        warehouse=gather_warehouse(book),
        dossiers=_dossiers(folder, [batch["batch"] for batch in batches]),
    )


def days_to(later: datetime, earlier: datetime | None) -> int | None:
    """Whole days from one moment to another; None where the earlier one is not known, 0 where it is the later one."""
    return None if earlier is None else max((later - earlier).days, 0)


def age_class(days: int | None) -> int | None:
    """Which of `AGES` so many days belong to."""
    if days is None:
        return None
    return next(number for number, (below, _) in enumerate(AGES) if below is None or days < below)


def _last_check(book: Book) -> datetime:
    at: datetime = book.value("SELECT checked_at FROM flagged.checked_from")
    return at


def _months_before(moment: datetime, months: int) -> datetime:
    """First day of the month so many months back, the month of the moment counted."""
    number = moment.year * 12 + moment.month - months
    first = date(number // 12, number % 12 + 1, 1)
    return datetime(first.year, first.month, 1)


def _dossiers(folder: Path, codes: list[str]) -> dict[str, str]:
    """Addresses relative to the board, so that the folder can be handed on as a whole."""
    dossiers = {}
    for code in codes:
        name = f"{file_name(code)}.pdf"
        place = next((place for place in (name, f"dossiers/{name}") if (folder / place).is_file()), None)
        if place:
            dossiers[code] = place
    return dossiers


def _rows(book: Book, file: str, **parameters: Any) -> tuple[Row, ...]:
    return tuple(book.frame((_HERE / file).read_text(encoding="utf-8"), parameters or None).to_dicts())
