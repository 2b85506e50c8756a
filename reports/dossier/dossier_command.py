"""gaugebook dossier: batch release dossiers as PDF."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from gaugebook.pipeline.house.settings import LANGUAGES, PAPERS, Documents

if TYPE_CHECKING:
    from gaugebook.pipeline.book.register import Event
    from gaugebook.reports.page.documents import Document

_Made = TypeVar("_Made")
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
    from gaugebook.checks.flags.freshness import require_checked
    from gaugebook.pipeline.book.database import open_book
    from gaugebook.pipeline.errors import UnknownRecord
    from gaugebook.pipeline.house.profile_in_force import profile_in_force
    from gaugebook.reports.dossier.batch import batch_codes, require_known
    from gaugebook.reports.page.documents import append_events

    if [bool(batches), all_batches, since is not None].count(True) != 1:
        raise click.UsageError("Name one or more batches, or give --all, or --since a day; one of the three.")
    with open_book(book_folder) as book:
        require_checked(book)
        documents = profile_in_force(book).documents
        codes = list(dict.fromkeys(batches)) or batch_codes(book, since)
        if not codes:
            raise UnknownRecord(f"The book holds no batch bottled{f' since {since:%Y-%m-%d}' if since else ''} yet.")
        require_known(book, codes)
    documents = Documents(paper or documents.paper, language or documents.language)
    paths_written = []
    for path, event in in_order(partial(write_dossier, book_folder, documents=documents, folder=out), codes):
        click.echo(path)
        paths_written.append(event)
    append_events(book_folder, paths_written)


def write_dossier(book_folder: Path, code: str, documents: Documents, folder: Path) -> tuple[Path, Event]:
    """Gather and render one batch and write it whole or not at all; the file, and what the register is to say of it."""
    from gaugebook.reports.page.pages import write

    document = make_dossier(book_folder, code, documents)
    return write(folder, document.name, document.content), document.event


def make_dossier(book_folder: Path, code: str, documents: Documents) -> Document:
    """Gather and render one batch."""
    from gaugebook.checks.flags.freshness import require_checked
    from gaugebook.pipeline.book.database import open_book
    from gaugebook.pipeline.house.profile_in_force import profile_in_force
    from gaugebook.reports.dossier.batch import gather_batch
    from gaugebook.reports.dossier.dossier import dossier_document

    with open_book(book_folder) as book:
        require_checked(book)
        batch = gather_batch(book, replace(profile_in_force(book), documents=documents), code)
    return dossier_document(batch)


def in_order(make: Callable[[str], _Made], codes: list[str]) -> Iterator[_Made]:
    """What is made of each batch, as it is done, in their order; several are made in processes of their own, which read
    the book themselves so that nothing waits for one of them."""
    if len(codes) <= 1:
        yield from map(make, codes)
        return
    # Processes start afresh, since a copy of this one would share the libraries' locks and threads.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(min(WORKERS, len(codes)), mp_context=context) as pool:
        try:
            yield from pool.map(make, codes)
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise
