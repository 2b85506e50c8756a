"""gaugebook pack: the auditor's pack of a month, as a folder or one zip."""

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from gaugebook.pipeline.errors import GaugebookError

if TYPE_CHECKING:
    from datetime import date

    from gaugebook.pipeline.book.register import Entry
    from gaugebook.reports.accounts.account import Account
    from gaugebook.reports.page.documents import Document


@click.command("pack")
@click.option("--month", required=True, help="Such as 2026-03, by the house's calendar.")
@click.option(
    "--signed", multiple=True, type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Also this signed document of the month; several may be given.",
)  # fmt: skip
@click.option("--zip", "as_zip", is_flag=True, help="One zip instead of a folder.")
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), default=Path("out/packs"), show_default=True,
    help="Folder that the pack goes to.",
)  # fmt: skip
@click.pass_obj
def pack_command(book_folder: Path, month: str, signed: tuple[Path, ...], as_zip: bool, out: Path) -> None:
    """Write dossiers, account, gauge records, register and checksums of a month, and how to check them.

    Every document is made from the book as it is now and entered in its register.
    """
    from gaugebook.pipeline.book import register
    from gaugebook.pipeline.book.database import open_book
    from gaugebook.pipeline.spreadsheets import csv_bytes
    from gaugebook.reports.accounts.account import account_table
    from gaugebook.reports.accounts.account_command import first_day
    from gaugebook.reports.page.documents import append_events
    from gaugebook.reports.page.pages import write
    from gaugebook.reports.proof.pack import packed, zipped

    first = first_day(month)
    dossiers, account, gauges, house = _documents(book_folder, first)
    documents = [*dossiers, *([account[0]] if account else []), *gauges]
    if not documents:
        raise GaugebookError(f"Nothing was bottled, decided on or moved in {month}; there is nothing to pack.")
    append_events(book_folder, [document.event for document in documents])
    contents = {f"dossiers/{item.name}": item.content for item in dossiers}
    contents |= {item.name: item.content for item in gauges}
    if account:
        pdf, table = account
        contents |= {
            pdf.name: pdf.content,
            f"account-{month}.csv": csv_bytes(account_table(table)),
        }
    with open_book(book_folder) as book:
        chain = register.entries(book)
    contents |= _signed(signed, chain, {document.subject for document in documents})
    name = f"pack-{month}"
    files = packed(contents, chain, house, first)
    if as_zip:
        click.echo(write(out, f"{name}.zip", zipped(files, name)))
        return
    _require_own(out / name, files)
    for inside, content in files.items():
        path = out / name / inside
        write(path.parent, path.name, content)
    click.echo(out / name)


def _documents(
    book_folder: Path, month: "date"
) -> "tuple[list[Document], tuple[Document, Account] | None, list[Document], str]":
    """The dossiers, the account and the gauge records where there are any, and the house's name."""
    from gaugebook.checks.flags.freshness import require_checked
    from gaugebook.pipeline.book.database import open_book
    from gaugebook.pipeline.house.profile_in_force import profile_in_force
    from gaugebook.reports.accounts.account import gather_account, known_months
    from gaugebook.reports.accounts.account_document import account_document
    from gaugebook.reports.accounts.gauge_records import gauges_of_month
    from gaugebook.reports.dossier.dossier_command import in_order, make_dossier
    from gaugebook.reports.proof.pack import batches_of

    with open_book(book_folder) as book:
        require_checked(book)
        house = profile_in_force(book)
        codes = batches_of(book, month, house.time_zone)
        account = gather_account(book, house, month) if month in known_months(book) else None
        gauges = gauges_of_month(book, house, month)
    dossiers = list(in_order(partial(make_dossier, book_folder, documents=house.documents), codes))
    return dossiers, (account_document(account), account) if account else None, gauges, house.name


def _signed(files: tuple[Path, ...], chain: "list[Entry]", subjects: set[str]) -> dict[str, bytes]:
    """The signed files by their place in the pack; only what the register names, and is of this month."""
    from gaugebook.reports.proof.document_check import check_document

    entries = {entry.number: entry for entry in chain}
    contents = {}
    for file in files:
        content = file.read_bytes()
        check = check_document(content, chain)
        if not check.holds or check.entry is None:
            raise GaugebookError(f'"{file}" is not packed: {check.label}')
        entry = entries[check.entry]
        if len(content) == entry.data["size_bytes"]:
            raise GaugebookError(f'"{file}" is not packed: it is not signed.')
        if entry.data["subject"] not in subjects:
            raise GaugebookError(f'"{file}" is not packed: {entry.label} is of another month.')
        contents[f"signed/{file.name}"] = content
    return contents


def _require_own(folder: Path, files: dict[str, bytes]) -> None:
    """Refuse a folder in which something else lies, which the checksums would not cover."""
    others = sorted(
        path.relative_to(folder).as_posix()
        for path in folder.rglob("*")
        if path.is_file() and path.relative_to(folder).as_posix() not in files
    )
    if others:
        raise GaugebookError(
            f'"{folder}" holds "{others[0]}", which is not of this pack; clear it, or give another --out.'
        )
