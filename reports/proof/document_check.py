"""Whether a file is a document that the register names, byte for byte; and if not, which of its data differ."""

import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from gaugebook.pipeline.book.register import MADE, Entry
from gaugebook.pipeline.errors import GaugebookError
from gaugebook.reports.page.documents import KIND, SIGNED

DATA = {
    "dossier.json": "dossier",
    "account.json": "account",
    "inventory.json": "inventory",
}  # attached data -> document
NOT_DATA = ("register_head", "register_entry")  # what the data say of the book's state and not of the batch
MOST_TOLD = 20  # differences; of more it is said how many
DataNow = Callable[[str, str], dict[str, Any]]  # kind of document and its subject -> its data by the book as it is


@dataclass(frozen=True)
class DocumentCheck:
    """What became of the check of one file."""

    holds: bool
    label: str  # in one sentence
    entry: int | None = None  # of the register, that names it
    remarks: tuple[str, ...] = ()  # signatures, and what has happened to the book since
    differences: tuple[str, ...] = ()  # in its data, section by section


def check_document(content: bytes, chain: Sequence[Entry], data_now: DataNow | None = None) -> DocumentCheck:
    """Look a file up in the chain: whole, or as the unsigned beginning of a signed file.

    Parameters
    ----------
    chain : sequence of Entry
        Of the book or of an extract, itself found to hold.
    data_now : callable, optional
        Gives a document's data by the book as it is now, for telling what differs.
    """
    documents = [entry for entry in chain if entry.kind == KIND]
    entry = _named(content, documents)
    if entry is None:
        return _not_named(content, documents, data_now)
    since = _since(entry, chain)
    if len(content) == entry.data["size_bytes"]:
        return DocumentCheck(True, f"It is the document of {entry.label}, byte for byte.", entry.number, (since,))
    return _signed(content, entry, chain, since)


def _named(content: bytes, documents: Sequence[Entry]) -> Entry | None:
    """The last entry whose document is the file or its beginning."""
    sizes = {entry.data["size_bytes"] for entry in documents}
    begun = {sha256(content[:size]).hexdigest() for size in sizes if size <= len(content)}
    return next((entry for entry in reversed(documents) if entry.data["sha256"] in begun), None)


def _signed(content: bytes, entry: Entry, chain: Sequence[Entry], since: str) -> DocumentCheck:
    """A file that begins with a document: what follows it must be signatures, and those that the register knows."""
    from gaugebook.reports.proof.signature import signatures

    begins = f"It begins with the document of {entry.label}"
    try:
        signed = signatures(content)
    except GaugebookError as error:
        return DocumentCheck(False, f"{begins}, but what follows is no sound signature: {error}.", entry.number)
    if not signed:
        return DocumentCheck(False, f"{begins}, but what follows it is no signature.", entry.number)
    remarks = (*(_told(item) for item in signed), since)
    if not all(item.is_intact for item in signed):
        return DocumentCheck(False, f"{begins}, but a signature after it is not valid.", entry.number, remarks)
    if not signed[-1].covers_all:
        why = "but the last signature does not cover all of the file, so something was changed or added after it"
        return DocumentCheck(False, f"{begins}, {why}.", entry.number, remarks)
    known = [item for item in chain if item.kind == SIGNED and item.data["document_sha256"] == entry.data["sha256"]]
    digest = sha256(content).hexdigest()
    named = next((item for item in known if item.data["sha256"] == digest), None)
    if known and named is None:
        return DocumentCheck(
            False, f"{begins}, but it is none of the {len(known)} signed files that the register names of it.",
            entry.number, remarks,
        )  # fmt: skip
    by = f"signed as {named.label} says" if named else "signed; the register was not told of the signature"
    return DocumentCheck(True, f"{begins}, {by}.", entry.number, remarks)


def _told(signature: Any) -> str:
    demo = " This certificate was made for a demonstration and proves nothing." if signature.is_demo else ""
    stamp = f", time stamp {signature.stamped_at:%Y-%m-%d %H:%M:%S} UTC" if signature.stamped_at else ""
    state = "valid" if signature.is_intact else "NOT VALID"
    return (
        f"Signature by {signature.signer}: {state}{stamp}; certificate SHA-256 {signature.certificate_sha256}. Whether "
        f"the certificate is that person's is for you to know.{demo}"
    )


def _since(entry: Entry, chain: Sequence[Entry]) -> str:
    later = [item for item in chain if item.number > entry.number and item.kind not in MADE]
    if not later:
        return "The register tells of no change in the book since it was made."
    kinds = ", ".join(sorted({item.kind for item in later}))
    return f"Since it was made, the register tells of {len(later)} more things in the book: {kinds}."


def _not_named(content: bytes, documents: Sequence[Entry], data_now: DataNow | None) -> DocumentCheck:
    """Where the bytes are those of no document: by its data, which one it might be, and what differs."""
    from gaugebook.reports.proof.signature import attached_files

    no = "It is not a document that the register names: no entry has its bytes"
    files = attached_files(content)
    name = next((name for name in DATA if name in files), None)
    if name is None:
        return DocumentCheck(False, f"{no}, and no attached data can be read from it.")
    digest = sha256(files[name]).hexdigest()
    same = next((entry for entry in reversed(documents) if entry.data["data_sha256"] == digest), None)
    if same is not None:
        why = f"the data attached to it are those of {same.label}, so its pages or what surrounds them were altered"
        return DocumentCheck(False, f"{no}; {why}.", same.number)
    try:
        payload = json.loads(files[name])
        what, subject = DATA[name], _subject(payload["about"])
    except (ValueError, KeyError, TypeError, AttributeError, StopIteration):
        return DocumentCheck(False, f"{no}, and the data attached to it cannot be read.")
    meant = [entry for entry in documents if (entry.data["document"], entry.data["subject"]) == (what, subject)]
    if data_now is None:
        others = ", ".join(entry.label for entry in meant) or "none"
        return DocumentCheck(False, f"{no}, nor the data attached to it. Of {what} {subject} it names: {others}.")
    try:
        differing = list(differences(payload, data_now(what, subject)))
    except GaugebookError as error:
        return DocumentCheck(False, f"{no}, nor the data attached to it; those of the book cannot be made: {error}")
    more = [f"and {len(differing) - MOST_TOLD} more"] if len(differing) > MOST_TOLD else []
    why = (
        "its data differ from the book's" if differing else "its data are the book's, but for the state of the register"
    )
    return DocumentCheck(False, f"{no}; {why}.", differences=(*differing[:MOST_TOLD], *more))


def _subject(about: dict[str, Any]) -> str:
    """What a document's data are about: the batch, the month or the day."""
    return next(about[name] for name in ("batch", "month", "day") if about.get(name))


def differences(in_file: Any, in_book: Any, where: str = "") -> Iterator[str]:
    """Where two sets of data part, place by place."""
    if isinstance(in_file, dict) and isinstance(in_book, dict):
        for key in sorted(in_file.keys() | in_book.keys()):
            if where == "about" and key in NOT_DATA:
                continue
            place = f"{where}.{key}" if where else key
            if key not in in_file:
                yield f"{place}: not in the file"
            elif key not in in_book:
                yield f"{place}: not in the book"
            else:
                yield from differences(in_file[key], in_book[key], place)
    elif isinstance(in_file, list) and isinstance(in_book, list):
        if len(in_file) != len(in_book):
            yield f"{where}: {len(in_file)} in the file, {len(in_book)} in the book"
        for number, (first, other) in enumerate(zip(in_file, in_book, strict=False), start=1):
            yield from differences(first, other, f"{where}[{number}]")
    elif in_file != in_book:
        yield f"{where}: {_short(in_file)} in the file, {_short(in_book)} in the book"


def _short(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 60 else f"{text[:57]}..."
