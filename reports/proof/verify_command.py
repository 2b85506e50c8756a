"""gaugebook verify: whether the book is the one that its register tells of, or a file is the document it names."""

import json
import sys
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from gaugebook.pipeline.errors import GaugebookError

if TYPE_CHECKING:
    from gaugebook.pipeline.book.database import Book
    from gaugebook.pipeline.book.register import Entry
    from gaugebook.reports.proof.document_check import DocumentCheck
    from gaugebook.reports.proof.verification import Verification


@click.command("verify")
@click.argument("files", metavar="[FILE.pdf…]", nargs=-1, type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--register", "extract", type=click.Path(path_type=Path, dir_okay=False, exists=True),
    help="Check against this extract of a register instead of a book.",
)  # fmt: skip
@click.option("--head", "noted", metavar="HASH", help="A head that was noted elsewhere: must lie in the chain.")
@click.option("--json", "as_json", is_flag=True, help="For machines.")
@click.pass_obj
def verify_command(
    book_folder: Path, files: tuple[Path, ...], extract: Path | None, noted: str | None, as_json: bool
) -> None:
    """Recompute the register's chain and compare the book with it; name the first entry that does not hold.

    With files: prove that each is the document that the register names, or say which of its data differ.
    Exit status 0: all holds; 1: something does not; 2: it could not be checked.
    """
    from gaugebook.pipeline.book.database import open_book
    from gaugebook.reports.proof.verification import chain_in, chain_of, verify_book, verify_chain, with_head

    with ExitStack() as stack:
        book = None if extract else stack.enter_context(open_book(book_folder))
        if not as_json:
            stack.enter_context(_patience())
        chain = chain_in(extract) if extract else chain_of(_there(book))
        verification = verify_chain(chain) if extract or files else verify_book(_there(book))
        if noted:
            verification = with_head(verification, chain, noted)
        checks = [(path, _checked(path, chain, book)) for path in files]
    if as_json:
        click.echo(json.dumps(_as_object(verification, checks), indent=1, ensure_ascii=False))
    else:
        _tell(verification)
        for path, check in checks:
            _tell_of(path, check)
        _tell_head(verification)
    sys.exit(0 if verification.holds and all(check.holds for _, check in checks) else 1)


def _checked(path: Path, chain: "list[Entry]", book: "Book | None") -> "DocumentCheck":
    from gaugebook.reports.proof.document_check import check_document

    try:
        content = path.read_bytes()
    except OSError as error:
        raise GaugebookError(f'"{path}" cannot be read: {error.strerror}.') from error

    def data_now(what: str, subject: str) -> dict[str, Any]:
        from gaugebook.reports.proof.data_now import data_of

        return data_of(_there(book), what, subject)

    return check_document(content, chain, data_now if book else None)


def _there(book: "Book | None") -> "Book":
    assert book is not None
    return book


def _patience() -> Any:
    from rich.console import Console

    return Console(stderr=True).status("Comparing with the register")


def _as_object(verification: "Verification", checks: "list[tuple[Path, DocumentCheck]]") -> dict[str, object]:
    return {
        "holds": verification.holds, "entries": verification.entries, "head": verification.head,
        "faults": [vars(fault) for fault in verification.faults], "tables_not_covered": verification.not_covered,
        "files": [{"file": path.as_posix()} | vars(check) for path, check in checks],
    }  # fmt: skip


def _tell(verification: "Verification") -> None:
    if verification.holds:
        click.echo(f"All {verification.entries} entries of the register hold.")
    for number, fault in enumerate(verification.faults):
        first = "Does not hold: " if not number else "And then: "
        click.echo(f"{first}{fault.label}: {fault.why}.")
    if verification.not_covered:
        click.echo(f"The register says nothing of: {', '.join(verification.not_covered)}.")


def _tell_of(path: Path, check: "DocumentCheck") -> None:
    click.echo(f"{path}: {'holds' if check.holds else 'DOES NOT HOLD'}. {check.label}")
    for line in (*check.remarks, *check.differences):
        click.echo(f"    {line}")


def _tell_head(verification: "Verification") -> None:
    click.echo(f"Head of the register: {verification.head}")
    click.echo(
        "Whoever can write the book could write a whole chain anew: compare with a head that was noted before, "
        "such as on an older dossier (gaugebook verify --head HASH)."
    )
