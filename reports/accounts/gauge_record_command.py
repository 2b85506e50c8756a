"""gaugebook gauge-record: a page a gauge, of a month, a run, a lot or a cask."""

from pathlib import Path

import click

from gaugebook.pipeline.errors import GaugebookError
from gaugebook.reports.machine_json import echo_json


@click.command("gauge-record")
@click.option("--month", help="Gauges of this month, such as 2026-03.")
@click.option("--run", "run", help="Gauges of this run.")
@click.option("--lot", help="Gauges of this lot, batch, tank or cask.")
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), default=Path("out/gauge-records"), show_default=True,
    help="Folder that the PDF goes to.",
)  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="For machines; writes no PDF.")
@click.pass_obj
def gauge_record_command(
    book_folder: Path, month: str | None, run: str | None, lot: str | None, out: Path, as_json: bool
) -> None:
    """Write a page for each gauge: what was read, how it was corrected, what came of it, by whom.

    Gauges are numbered in the order in which the book took them in.
    """
    from gaugebook.pipeline.book.database import open_book
    from gaugebook.pipeline.derived.build_state import require_this_edition
    from gaugebook.pipeline.house.profile_in_force import profile_in_force
    from gaugebook.reports.accounts.account_command import first_day
    from gaugebook.reports.accounts.gauge_records import gather_gauge_records, gauge_records_document
    from gaugebook.reports.page.documents import issue

    if sum(map(bool, (month, run, lot))) != 1:
        raise GaugebookError("Give one of --month, --run and --lot.")
    with open_book(book_folder) as book:
        require_this_edition(book)
        first = first_day(month) if month else None
        records = gather_gauge_records(book, profile_in_force(book), month=first, run=run, lot=lot)
    if as_json:
        echo_json(records.records)
        return
    for path in issue(book_folder, [gauge_records_document(records)], out):
        click.echo(path)
