"""gaugebook account: the alcohol account of a month, or what each vessel held at a moment."""

import sys
from collections import Counter
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import click

from gaugebook.pipeline.errors import GaugebookError, UnknownRecord
from gaugebook.reports.machine_json import echo_json

if TYPE_CHECKING:
    from gaugebook.reports.accounts.account import Account
    from gaugebook.reports.accounts.account_views import AccountView


@click.command("account")
@click.argument("month", required=False)
@click.option("--as-of", help="Instead of a month: what each vessel held at this date (its end) or date and time.")
@click.option(
    "--csv", "csv_path", type=click.Path(path_type=Path, dir_okay=False), help="Write the account to this file."
)
@click.option(
    "--gauges",
    "gauges_path",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write every gauge of the month to this file (CSV), as measured and as reconciled.",
)
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), default=Path("out/accounts"), show_default=True,
    help="Folder that the PDF goes to.",
)  # fmt: skip
@click.option(
    "--view", type=click.Choice(["site", "production", "storage", "processing", "warehouse"]), default="site",
    show_default=True, help="The whole site, or one of the accounts that laws ask for; they sum to that of the site.",
)  # fmt: skip
@click.option(
    "--declare", "to_declare", is_flag=True, help="Freeze the account as declared; a later one shows changes."
)
@click.option("--by", "person", help="Who declares: a code of the house profile.")
@click.option("--json", "as_json", is_flag=True, help="For machines; writes no PDF.")
@click.pass_obj
def account_command(
    book_folder: Path, month: str | None, as_of: str | None, csv_path: Path | None, gauges_path: Path | None, out: Path,
    view: str, to_declare: bool, person: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Write the alcohol account of MONTH (such as 2026-03; the last one where none is given) as PDF.

    What is declared is decided by the local excise rules and the licensed person.
    """
    from gaugebook.pipeline.book.database import open_book
    from gaugebook.pipeline.derived.build_state import require_this_edition
    from gaugebook.pipeline.house.profile_in_force import profile_in_force
    from gaugebook.reports.accounts.account import gather_account, known_months, states

    if month and as_of:
        raise GaugebookError("Give either a month or --as-of, not both.")
    if to_declare != bool(person) or (to_declare and not month):
        raise GaugebookError("To declare, give the month, --declare and --by PERSON.")
    with open_book(book_folder) as book:
        require_this_edition(book)
        house = profile_in_force(book)
        if as_of:
            moment = moment_of(as_of, house.time_zone)
            _show_states(states(book, house, moment), house.time_zone, csv_path, as_json)
            return
        months = known_months(book)
        first = first_day(month) if month else (months[-1] if months else None)
        if first not in months:
            known = f"{months[0]:%Y-%m} to {months[-1]:%Y-%m}" if months else "none"
            raise UnknownRecord(
                f"The book has no movement of alcohol in {month or 'any month'}; months with one: {known}."
            )
        if view != "site":
            if to_declare or csv_path or gauges_path:
                raise GaugebookError("--declare, --csv and --gauges are of the whole site; leave out --view.")
            from gaugebook.reports.accounts.account_views import gather_view

            view_asked = gather_view(book, house, first, view)
        else:
            account = gather_account(book, house, first)
    if view != "site":
        _write_view(view_asked, book_folder, out, as_json)
        return
    if person:
        account = _declare(book_folder, account, person)
    if as_json:
        echo_json(_as_json(account))
    else:
        _write(account, book_folder, out, csv_path, gauges_path)
    sys.exit(1 if account.needs_attention else 0)


def _declare(book_folder: Path, account: "Account", person: str) -> "Account":
    """Freeze the account's data in the book, and gather it anew with what it now says of itself."""
    from dataclasses import replace

    import rfc8785

    from gaugebook.pipeline.book.database import open_book
    from gaugebook.reports.accounts.account import gather_account
    from gaugebook.reports.accounts.account_data import account_data
    from gaugebook.reports.accounts.declared import declare

    content = rfc8785.dumps(account_data(replace(account, declared=None)))
    at = datetime.now(UTC).replace(tzinfo=None, microsecond=0)
    with open_book(book_folder, writing=True) as book:
        with book.transaction():
            digest = declare(book, account.house, account.month, person, content, at)
        click.echo(f"Declared by {person}; SHA-256 of the data {digest}.", err=True)
        return gather_account(book, account.house, account.month)


def first_day(month: str) -> date:
    """The first day of a month such as 2026-03."""
    try:
        return datetime.strptime(month, "%Y-%m").date()
    except ValueError as error:
        raise GaugebookError(f'"{month}" is no month; write it as 2026-03.') from error


def moment_of(text: str, zone: str) -> datetime:
    """The moment in UTC: of a date its end, of a date and time that."""
    try:
        local = datetime.fromisoformat(text)
    except ValueError as error:
        raise GaugebookError(f'"{text}" is no date; write it as 2026-03-31 or "2026-03-31 16:00".') from error
    if len(text) == len("2026-03-31"):
        local = datetime.combine(local.date(), time(23, 59, 59))
    return local.replace(tzinfo=local.tzinfo or ZoneInfo(zone)).astimezone(UTC).replace(tzinfo=None)


def house_day(moment: datetime, zone: str) -> date:
    """The day of the house's calendar on which a moment in UTC lies.

    >>> house_day(moment_of("2025-06-30", "America/Denver"), "America/Denver").isoformat()
    '2025-06-30'
    """
    return moment.replace(tzinfo=UTC).astimezone(ZoneInfo(zone)).date()


def _write(account: "Account", book_folder: Path, out: Path, csv_path: Path | None, gauges_path: Path | None) -> None:
    import polars as pl

    from gaugebook.pipeline.spreadsheets import csv_bytes
    from gaugebook.reports.accounts.account import STATEMENT, account_table
    from gaugebook.reports.accounts.account_document import account_document
    from gaugebook.reports.page.documents import issue

    _print_account(account)
    if csv_path:
        csv_path.write_bytes(csv_bytes(account_table(account)))
        click.echo(csv_path)
    if gauges_path:
        gauges_path.write_bytes(csv_bytes(pl.DataFrame(account.gauges)))
        click.echo(gauges_path)
    for path in issue(book_folder, [account_document(account)], out):
        click.echo(path)
    click.echo(STATEMENT)


def _write_view(view: "AccountView", book_folder: Path, out: Path, as_json: bool) -> None:
    from gaugebook.reports.accounts.account import STATEMENT
    from gaugebook.reports.accounts.account_view_document import view_data, view_document
    from gaugebook.reports.accounts.account_views import VIEW_HEADS, view_columns
    from gaugebook.reports.page.documents import issue

    if as_json:
        echo_json(view_data(view))
        return
    for name in view_columns(view):
        click.echo(f"{VIEW_HEADS[name]:<22}{view.total[name]:>14,.2f} LPA")
    for row in view.transfers:
        click.echo(f"{row['part']}: {row['moved_in']:,.2f} from {row['other']}, {row['moved_out']:,.2f} to it")
    for path in issue(book_folder, [view_document(view)], out):
        click.echo(path)
    click.echo(STATEMENT)


def _print_account(account: "Account") -> None:
    from rich.table import Table

    from gaugebook.pipeline.commands.screen import console, text
    from gaugebook.reports.accounts.account import HEADS, columns_shown, folded
    from gaugebook.reports.accounts.account_worst import worst_first

    for what, words in worst_first(account):
        click.echo(f"{what}: {words}")
    columns = columns_shown(account)
    table = Table("LPA", *(HEADS[name] for name in columns), box=None)
    for column in table.columns[1:]:
        column.justify, column.min_width = "right", max(map(len, str(column.header).split()))
    for is_vessel, title in ((True, "vessels"), (False, "at work")):
        own = [row for row in folded(account.rows) if row["is_vessel"] is is_vessel]
        table.add_row(text((title, "dim")))
        for row in own:
            table.add_row(text(row["place"]), *(f"{row[name]:,.2f}" if row[name] else "" for name in columns))
    table.add_row("all together", *(f"{account.total[name]:,.2f}" for name in columns), style="bold")
    console(width=max(console().width, 124)).print(table)
    _print_goods(account)
    dips_by_finding = Counter(dip["finding"] for dip in account.dips)
    dips = ", ".join(f"{number} {words}" for words, number in sorted(dips_by_finding.items())) or "no dip on record"
    click.echo(f"Stocktake, by lots: {dips}.")
    unchecked = [row["which"] for row in account.checked if row["unchecked"]]
    if unchecked:
        click.echo(f"Cannot be checked by any other gauge: {', '.join(unchecked)}.")
    for row in account.apparent:
        click.echo(
            f"By {row['strength_is']} strength: {row['gauges']} gauges of the month with {row['moved_l']:,.2f} LPA, "
            f"{row['closing_l']:,.2f} LPA of the closing stock."
        )
    _print_declared(account)
    for note in account.notes:
        click.echo(f"{note['what']}: {note['record']} ({note['place'] or 'no place'}): {note['words']}")


def _print_declared(account: "Account") -> None:
    if (declaration := account.declared) is None:
        return
    click.echo(
        f"Declared by {declaration.person} ({declaration.role}) on {declaration.declared_at:%Y-%m-%d %H:%M} UTC."
    )
    if not declaration.changes:
        click.echo("Nothing has changed since.")
    for change in declaration.changes:
        behind = f" [{', '.join(change['records'])}]" if change["records"] else ""
        click.echo(
            f"  {change['place']}, {change['column'].replace('_', ' ')}: declared {change['declared']:,.2f}, "
            f"now {change['now']:,.2f} ({change['difference']:+,.2f} {change['unit']}){behind}"
        )


def _print_goods(account: "Account") -> None:
    from rich.table import Table

    from gaugebook.pipeline.commands.screen import console, text
    from gaugebook.reports.accounts.account_goods import goods_table

    if not account.goods:
        return
    table = Table("finished goods", "", "pieces", "LPA", box=None)
    for column in table.columns[2:]:
        column.justify = "right"
    for product in goods_table(account.goods):
        for number, line in enumerate(product["lines"]):
            pieces = "not counted" if line["pieces"] is None else f"{line['pieces']:,.0f}"
            litres = "not known" if line["alcohol_l"] is None else f"{line['alcohol_l']:,.2f}"
            table.add_row("" if number else text(product["product"]), line["name"].lower(), pieces, litres)
    console().print(table)
    for count in account.counts:
        if count["difference"]:
            short = "short" if count["difference"] < 0 else "over"
            if count["container"] == "cask":
                click.echo(f"Cask {count['item']} {'was not found' if short == 'short' else 'is not in the book'}.")
                continue
            counted = f"{count['pieces']:,.0f} bottles, {abs(count['difference']):,.0f} {short}"
            click.echo(f"Count of {count['item']}: {counted}.")


def _show_states(held: list[dict[str, Any]], zone: str, csv_path: Path | None, as_json: bool) -> None:
    if csv_path:
        import polars as pl

        from gaugebook.pipeline.spreadsheets import csv_bytes

        csv_path.write_bytes(csv_bytes(pl.DataFrame(held)))
    if as_json:
        echo_json(held)
        return
    from rich.table import Table

    from gaugebook.pipeline.commands.screen import console, text
    from gaugebook.reports.page.figures import moment, stated, uncertainty

    table = Table("vessel", "lot", "book, LPA", "±", "last dip, LPA", "dipped", box=None)
    for row in held:
        since = " (moved since)" if row["has_moved_since"] else ""
        table.add_row(
            text(row["vessel"]), text(row["lot"]), f"{row['book_l']:,.2f}", uncertainty(row["u_book_l"]),
            stated(row["dip_l"], row["u_dip_l"]), f"{moment(row['dipped_at'], zone)}{since}",
        )  # fmt: skip
    console().print(table)
    click.echo(f"All vessels: {sum(row['book_l'] for row in held):,.2f} LPA by the book.")


def _as_json(account: "Account") -> dict[str, Any]:
    from gaugebook.reports.accounts.account import STATEMENT

    return {
        "house": account.house.name,
        "month": f"{account.month:%Y-%m}",
        "unit": "LPA",
        "rows": [{k: v for k, v in row.items() if k != "dips"} for row in account.rows],
        "total": account.total,
        "stocktake": account.dips,
        "runs": account.runs,
        "notes": account.notes,
        "checked": account.checked,
        "gauges": account.gauges,
        "apparent": account.apparent,
        "goods": account.goods,
        "counts": account.counts,
        "declared": vars(account.declared) if account.declared else None,
        "statement": STATEMENT,
    }
