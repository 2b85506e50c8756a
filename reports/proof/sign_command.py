"""gaugebook sign and certificate: documents signed by a person's own certificate.

The passphrase is asked for, or read from an open file or the environment; never given on the command line, never kept.
"""

import os
import re
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from gaugebook.pipeline.errors import GaugebookError

if TYPE_CHECKING:
    from gaugebook.pipeline.book.register import Entry

PASSPHRASE = "GAUGEBOOK_PASSPHRASE"  # environment variable
from_file = click.option("--passphrase-fd", type=int, help="Number of an open file that the passphrase is read from.")


@click.command("sign")
@click.argument("file", metavar="FILE.pdf", type=click.Path(path_type=Path, dir_okay=False, exists=True))
@click.option(
    "--certificate", "key_file", required=True, type=click.Path(path_type=Path, dir_okay=False, exists=True),
    help="Your certificate with its key (PKCS #12: .p12, .pfx).",
)  # fmt: skip
@click.option("--timestamp", is_flag=True, help="Have it stamped by the service that the house profile names.")
@from_file
@click.pass_obj
def sign_command(book_folder: Path, file: Path, key_file: Path, timestamp: bool, passphrase_fd: int | None) -> None:
    """Sign FILE.pdf, a document that the register names, and write it beside as FILE.signed.pdf (PAdES).

    The passphrase is asked for, unless --passphrase-fd or the environment variable GAUGEBOOK_PASSPHRASE gives it.
    """
    from gaugebook.pipeline.book.database import open_book
    from gaugebook.pipeline.book.register import entries
    from gaugebook.pipeline.house.profile_in_force import profile_in_force

    content = file.read_bytes()
    target = _beside(file)
    with open_book(book_folder) as book:
        document = _known(file, content, entries(book))
        service = profile_in_force(book).timestamp_service
    if timestamp and service is None:
        raise GaugebookError("The house profile names no timestamp_service; add one to [house], or leave --timestamp.")
    passphrase = _passphrase(passphrase_fd, again=False)

    from gaugebook.reports.proof.signature import sign, signatures, signer_of, stamper_at

    signer = signer_of(key_file, passphrase)
    try:
        signed = sign(content, signer, stamper_at(service) if timestamp and service else None)
    except OSError as error:
        raise GaugebookError(f'The time-stamping service "{service}" did not answer: {error}.') from error
    _enter(book_folder, document, signed, signatures(signed)[-1])
    from gaugebook.reports.page.pages import write

    click.echo(write(target.parent, target.name, signed))


@click.command("certificate")
@click.option(
    "--demo", is_flag=True, required=True, help="It proves nothing, and says so: certificates are issued, not made."
)
@click.option("--name", required=True, help="Of the person that it is for.")
@click.option(
    "--out", required=True, type=click.Path(path_type=Path, dir_okay=False), help="New file for it and its key (.p12)."
)
@from_file
def certificate_command(demo: bool, name: str, out: Path, passphrase_fd: int | None) -> None:
    """Make a certificate for trying out signatures, marked in its subject as a demonstration."""
    if out.exists():
        raise GaugebookError(f'"{out}" exists already; give another name.')
    passphrase = _passphrase(passphrase_fd, again=True)

    from gaugebook.reports.proof.signature import demo_certificate

    content = demo_certificate(name, passphrase, datetime.now(UTC))
    out.touch(mode=0o600, exist_ok=False)  # for its owner's eyes alone, before anything is in it
    out.write_bytes(content)
    click.echo(f"{out}: for demonstration only; keep it where nobody else can read it.")


def _known(file: Path, content: bytes, chain: "list[Entry]") -> "Entry":
    from gaugebook.reports.proof.document_check import check_document

    check = check_document(content, chain)
    if not check.holds:
        raise GaugebookError(f'"{file}" is not signed: {check.label}')
    return next(entry for entry in chain if entry.number == check.entry)


def _enter(book_folder: Path, document: "Entry", signed: bytes, signature: Any) -> None:
    from gaugebook.pipeline.book import register
    from gaugebook.pipeline.book.database import open_book

    payload = {
        "document_sha256": document.data["sha256"], "sha256": sha256(signed).hexdigest(), "size_bytes": len(signed),
        "signer": signature.signer, "certificate_sha256": signature.certificate_sha256,
        "stamped_at": register.shown(signature.stamped_at) if signature.stamped_at else None,
    }  # fmt: skip
    with open_book(book_folder, writing=True) as book, book.transaction():
        register.append(book, [register.Event("signature", f"{document.subject}, {signature.signer}", payload)])


def _beside(file: Path) -> Path:
    """FILE.signed.pdf, and FILE.signed2.pdf for the signature after that.

    Examples
    --------
    >>> _beside(Path("out/A.pdf")).name, _beside(Path("out/A.signed.pdf")).name
    ('A.signed.pdf', 'A.signed2.pdf')
    """
    before = re.fullmatch(r"(.+)\.signed(\d*)", file.stem)
    number = int(before[2] or 1) + 1 if before else 1
    target = file.with_name(f"{before[1] if before else file.stem}.signed{number if number > 1 else ''}.pdf")
    if target.exists():
        raise GaugebookError(f'"{target}" exists already, and a signature is not written over; move it first.')
    return target


def _passphrase(descriptor: int | None, again: bool) -> bytes:
    if descriptor is not None:
        with open(descriptor, "rb", closefd=False) as file:
            return file.readline().rstrip(b"\r\n")
    given = os.environ.get(PASSPHRASE)
    if given is None:
        asked: str = click.prompt("Passphrase", hide_input=True, confirmation_prompt=again, err=True)
        given = asked
    return given.encode()
