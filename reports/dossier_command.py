"""gaugebook dossier: batch release dossiers as PDF."""

from __future__ import annotations

import multiprocessing
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import datetime
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pipeline.settings import LANGUAGES, PAPERS, Documents

if TYPE_CHECKING:
    from reports.documents import Document
    from reports.records import Batch

AT_ONCE = 10  # documents that are entered in the register and written together
WORKERS = 2  # processes that render at once; each takes a few hundred megabytes


@click.command("dossier")
@click.argument("batches", metavar="BATCH…", nargs=-1)
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), default=Path("out/dossiers"), show_default=True,
    help="Folder that the PDFs go to.",
)  # fmt: skip
@click.option("--all", "all_batches", is_flag=True, help="Every batch in the book.")
@click.option("--since", type=click.DateTime(["%Y-%m-%d"]), help="Every batch bottled on this day or later.")
@click.option("--paper", type=click.Choice(PAPERS), help="Size of the pages; the house profile's where left out.")
@click.option("--language", type=click.Choice(LANGUAGES), help="Of the wording; the house profile's where left out.")
@click.pass_obj
def dossier_command(
    book_folder: Path, batches: tuple[str, ...], out: Path, all_batches: bool, since: datetime | None,
    paper: str | None, language: str | None,
) -> None:  # fmt: skip
    """Write the release dossier of each BATCH as a PDF and print where it is."""
    from checks.currency import require_checked
    from pipeline.database import open_book
    from pipeline.errors import UnknownRecord
    from pipeline.flow import house_of
    from reports.batch import batch_codes, gather_batch
    from reports.documents import issue

    if [bool(batches), all_batches, since is not None].count(True) != 1:
        raise click.UsageError("Name one or more batches, or give --all, or --since a day; one of the three.")
    with open_book(book_folder) as book:
        require_checked(book)
        house = house_of(book)
        codes = list(dict.fromkeys(batches)) or batch_codes(book, since)
        if not codes:
            raise UnknownRecord(f"The book holds no batch bottled{f' since {since:%Y-%m-%d}' if since else ''} yet.")
        documents = Documents(paper or house.documents.paper, language or house.documents.language)
        house = replace(house, documents=documents)
        gathered = [gather_batch(book, house, code) for code in codes]
    for made in made_dossiers(gathered):
        for path in issue(book_folder, made, out):
            click.echo(path)


def made_dossiers(batches: list[Batch]) -> Iterator[list[Document]]:
    """Documents as they are done, some at a time, in the order of the batches; several are rendered in processes of
    their own."""
    from reports.dossier import dossier_document

    if len(batches) <= 1:
        yield [dossier_document(batch) for batch in batches]
        return
    # Processes start afresh, since a copy of this one would share the libraries' locks and threads.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(min(WORKERS, len(batches)), mp_context=context) as pool:
        try:
            made = pool.map(dossier_document, batches)
            while some := list(islice(made, AT_ONCE)):
                yield some
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise
