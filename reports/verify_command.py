"""gaugebook verify: whether the book is the one that its register tells of."""

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from reports.verification import Verification


@click.command("verify")
@click.option("--head", "noted", metavar="HASH", help="A head that was noted elsewhere: must lie in the chain.")
@click.option("--json", "as_json", is_flag=True, help="For machines.")
@click.pass_obj
def verify_command(book_folder: Path, noted: str | None, as_json: bool) -> None:
    """Recompute the register's chain and compare the book with it; name the first entry that does not hold.

    Exit status 0: all holds; 1: something does not; 2: it could not be checked.
    """
    from rich.console import Console

    from pipeline.database import open_book
    from reports.verification import chain_of, verify_book, with_head

    with open_book(book_folder) as book, Console(stderr=True).status("Comparing the book with its register"):
        found = verify_book(book)
        if noted:
            found = with_head(found, chain_of(book), noted)
    if as_json:
        click.echo(json.dumps(as_object(found), indent=1, ensure_ascii=False))
    else:
        tell(found)
    sys.exit(0 if found.holds else 1)


def as_object(found: "Verification") -> dict[str, object]:
    """The verification for machines."""
    return {
        "holds": found.holds, "entries": found.entries, "head": found.head,
        "faults": [vars(fault) for fault in found.faults], "tables_not_covered": found.not_covered,
    }  # fmt: skip


def tell(found: "Verification") -> None:
    """The verification in plain words, the first fault first."""
    if found.holds:
        click.echo(f"All {found.entries} entries of the register hold.")
    for number, fault in enumerate(found.faults):
        first = "Does not hold: " if not number else "And then: "
        click.echo(f"{first}{fault.told}: {fault.why}.")
    if found.not_covered:
        click.echo(f"The register says nothing of: {', '.join(found.not_covered)}.")
    click.echo(f"Head of the register: {found.head}")
    click.echo(
        "Whoever can write the book could write a whole chain anew: compare with a head that was noted before, "
        "such as on an older dossier (gaugebook verify --head HASH)."
    )
