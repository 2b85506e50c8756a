"""gaugebook trends: what changed, and every measure by run and month, as PDF, CSV and workbook."""

from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from gaugebook.reports.trends.measures import Trends


@click.command("trends")
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path("out/trends"),
    show_default=True,
    help="Folder that the files go to.",
)
@click.option("--tables/--no-tables", default=True, show_default=True, help="Also every figure as CSV and XLSX.")
@click.option(
    "--series",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE",
    help="Chart a series from this CSV instead of the book.",
)
@click.option("--column", metavar="NAME", help="Of --series: column of the values.")
@click.option("--time", metavar="NAME", help="Of --series: column of dates or years.")
@click.option("--unit", default="", help="Of --series: unit of the values.")
@click.pass_obj
def trends_command(
    book_folder: Path, out: Path, tables: bool, series: Path | None, column: str | None, time: str | None, unit: str
) -> None:  # fmt: skip
    """Write the monthly trends, named for the month of the last run, and print where they are.

    The first page says what changed, since when, how sure that is, what it is worth in LPA, and in which batches.
    """
    if series is not None:
        from gaugebook.reports.trends.series import series_trends

        trends = series_trends(series, column, time, unit)
        name = f"series-{series.stem}"
    else:
        from gaugebook.checks.flags.freshness import require_checked
        from gaugebook.pipeline.book.database import open_book
        from gaugebook.pipeline.house.profile_in_force import profile_in_force
        from gaugebook.reports.trends.trends import month_of
        from gaugebook.reports.trends.trends_gather import gather_trends

        with open_book(book_folder) as book:
            require_checked(book)
            trends = gather_trends(book, profile_in_force(book))
        name = f"trends-{month_of(trends):%Y-%m}" if trends.last else "trends-empty"
    for path in written(trends, out, name, tables):
        click.echo(path)


def written(trends: "Trends", out: Path, name: str, with_tables: bool) -> list[Path]:
    """Write the trends and, beside them, every figure as tables; the files in the order of their making."""
    from gaugebook.pipeline.spreadsheets import csv_bytes
    from gaugebook.reports.page.pages import file_name, write
    from gaugebook.reports.trends.trend_tables import tables, workbook
    from gaugebook.reports.trends.trends import trends_pdf

    name = file_name(name)
    if not with_tables:
        return [write(out, f"{name}.pdf", trends_pdf(trends))]
    frames = tables(trends)
    with ProcessPoolExecutor(max_workers=1, mp_context=get_context("spawn")) as beside:  # a million cells take seconds
        sheets = beside.submit(workbook, frames, trends.last)
        paths = [write(out, f"{name}.pdf", trends_pdf(trends))]
        paths += [write(out, f"{name}-{table}.csv", csv_bytes(frame)) for table, frame in frames.items() if frame.width]
        return [*paths, write(out, f"{name}.xlsx", sheets.result())]
