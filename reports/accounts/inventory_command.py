"""gaugebook inventory: a sheet to count with, or what was counted on a day against the book."""

import sys
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from gaugebook.pipeline.errors import GaugebookError
from gaugebook.reports.machine_json import echo_json

if TYPE_CHECKING:
    from gaugebook.reports.accounts.inventory import Inventory


@click.command("inventory")
@click.argument("day", required=False)
@click.option("--sheet", is_flag=True, help="A sheet to count with: what the book holds, blanks for count and name.")
@click.option("--as-of", help="The sheet as the book stood at this date (its end) or date and time; now without it.")
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), default=Path("out/inventories"), show_default=True,
    help="Folder that the files go to.",
)  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="For machines; writes no PDF.")
@click.pass_obj
def inventory_command(
    book_folder: Path, day: str | None, sheet: bool, as_of: str | None, out: Path, as_json: bool
) -> None:
    """Write what was counted on DAY (such as 2026-03-31) against the book, to be signed; or a sheet to count with.

    What must be counted, and how often, is decided by the local excise rules and the licensed person.
    """
    from gaugebook.pipeline.book.database import open_book
    from gaugebook.pipeline.derived.build_state import require_this_edition
    from gaugebook.pipeline.house.profile_in_force import profile_in_force
    from gaugebook.reports.accounts.inventory import gather_inventory, to_count

    if sheet == bool(day) or (as_of and not sheet):
        raise GaugebookError("Give either the day of a count, or --sheet (with --as-of for another moment than now).")
    with open_book(book_folder) as book:
        require_this_edition(book)
        house = profile_in_force(book)
        if not day:
            from gaugebook.reports.accounts.account_command import moment_of

            now = datetime.now(UTC).replace(tzinfo=None, microsecond=0)
            moment = moment_of(as_of, house.time_zone) if as_of else now
            rows = to_count(book, house, moment)
        else:
            inventory = gather_inventory(book, house, _day(day))
    if not day:
        if as_json:
            echo_json(rows)
            return
        from gaugebook.pipeline.spreadsheets import csv_bytes
        from gaugebook.reports.accounts.account_command import house_day
        from gaugebook.reports.accounts.inventory import sheet_table
        from gaugebook.reports.accounts.inventory_document import sheet_pdf
        from gaugebook.reports.page.pages import write

        name = f"count-sheet-{house_day(moment, house.time_zone):%Y-%m-%d}"
        click.echo(write(out, f"{name}.pdf", sheet_pdf(house, rows, moment)))
        click.echo(write(out, f"{name}.csv", csv_bytes(sheet_table(rows))))
        return
    if as_json:
        from gaugebook.reports.accounts.inventory_document import inventory_data

        echo_json(inventory_data(inventory))
    else:
        _write(inventory, book_folder, out)
    sys.exit(1 if inventory.differs else 0)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise GaugebookError(f'"{text}" is no date; write it as 2026-03-31.') from error


def _write(inventory: "Inventory", book_folder: Path, out: Path) -> None:
    from gaugebook.reports.accounts.inventory import STATEMENT
    from gaugebook.reports.accounts.inventory_document import inventory_document
    from gaugebook.reports.page.documents import issue
    from gaugebook.reports.page.figures import stated
    from gaugebook.reports.page.wording import plural

    for dip in inventory.tanks:
        counted = stated(dip["dip_l"], dip["u_dip_l"], "LPA")
        click.echo(f"tank {dip['vessel']}, {dip['lot']}: {counted}, book {dip['book_l']:,.2f}: {dip['finding']}")
    for cask in inventory.casks:
        click.echo(f"cask {cask['cask']}: {cask['finding']}")
    for row in inventory.goods:
        counted = "not counted" if row["pieces"] is None else f"{row['pieces']:,.0f} counted"
        click.echo(f"bottles of {row['batch']}: {counted}, book {row['book_pieces']:,.0f}: {row['finding']}")
    names = ", ".join(inventory.counted_by) or "nobody named"
    unsigned = f"; {plural(inventory.unsigned, 'row')} without a name" if inventory.unsigned else ""
    click.echo(f"Counted by {names}{unsigned}.")
    for path in issue(book_folder, [inventory_document(inventory)], out):
        click.echo(path)
    click.echo(STATEMENT)
