"""Templates to HTML, HTML to PDF: the same input gives the same bytes, and nothing is fetched.

A page can ask for the bundled faces (url(bundled:NAME)) and its own drawings; every other address is refused.
No clock is read: the dates in the metadata are those that the caller hands in, the identifier is the content's hash.
"""

import errno
import hashlib
import io
import os
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any

import pydyf
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from gaugebook.pipeline.errors import GaugebookError
from gaugebook.reports.page import fonts, tagging, wording
from gaugebook.reports.page.exact_attributes import ExactAttributes
from gaugebook.reports.page.language import Language, language
from gaugebook.reports.page.page_drawings import taken_out
from gaugebook.reports.page.pdf_streams import deflate
from gaugebook.reports.page.renderer import (
    CSS,
    HTML,
    Attachment,
    FontConfiguration,
    URLFetcher,
    URLFetcherResponse,
    svg,
)
from gaugebook.reports.page.renderer_patches import for_a_document
from gaugebook.reports.page.rule_words import describe_flag
from gaugebook.reports.page.svg_fast_path import QUICK_TAGS
from gaugebook.reports.page.template_cache import KeptTemplates, nothing_worked_in

_TEMPLATES = Path(__file__).parent / "templates"
_SCHEME = "bundled:"
_PAPERS = {
    "a4": "",
    # Shorter: narrower margins keep what is made for one page on it, and lying pages the length of their lines.
    "letter": "@page { size: letter; margin: 20mm 20mm 16mm } "
    "@page wide { size: letter landscape; margin: 22mm 11.2mm 18mm }",
}


class BundledOnly(URLFetcher):
    """Hands out the bundled faces and the drawings of one page and refuses everything else, local files too."""

    def __init__(self, drawings: Mapping[str, bytes]) -> None:
        super().__init__()
        self._drawings = drawings

    def fetch(self, url: str, headers: dict[str, str] | None = None) -> URLFetcherResponse:
        if url in self._drawings:
            return URLFetcherResponse(url, self._drawings[url], {"Content-Type": "image/svg+xml"})
        name = url.removeprefix(_SCHEME)
        if not url.startswith(_SCHEME) or name not in fonts.FILES:
            raise ValueError(f"a page may not fetch {url[:80]}")
        return URLFetcherResponse(url, fonts.FILES[name].read_bytes())


def html(template: str, zone: str, in_language: Language | None = None, **context: Any) -> str:
    """A template filled in, in English where no language is given; times are shown in `zone`, text from files is made
    fit to print and escaped."""
    code = in_language.code if in_language else "en"
    page = _environment(code).get_template(template)
    return page.render(zone=zone, language=code, **context)


@dataclass(frozen=True)
class Attached:
    """A file inside a document: its name, its bytes, what it is, and how it stands to the pages (AFRelationship)."""

    name: str
    content: bytes
    described: str
    relationship: str = "Data"


def pdf(page: str, dated: datetime, paper: str = "a4", attached: Sequence[Attached] = ()) -> bytes:
    """The page as PDF/A-3u with tags, on this paper, dated in its metadata, with these files inside."""
    stamp = f'<meta name="dcterms.created" content="{dated:%Y-%m-%dT%H:%M:%S}Z">'
    page = page.replace(
        "<head>", f'<head>{stamp}<meta name="dcterms.modified" content="{dated:%Y-%m-%dT%H:%M:%S}Z">', 1
    )
    style = (_TEMPLATES / "pages.css").read_text(encoding="utf-8") + _PAPERS[paper]
    digest = hashlib.sha256((style + page).encode() + b"".join(item.content for item in attached)).digest()[:16]
    attachments = [
        Attachment(
            file_obj=io.BytesIO(item.content), name=item.name, description=item.described,
            relationship=item.relationship, created=dated, modified=dated,
        )
        for item in sorted(attached, key=lambda item: item.name)  # a name tree is sorted
    ]  # fmt: skip
    page, drawings = taken_out(page, f"{_SCHEME}drawing-")
    faces, fetcher = FontConfiguration(), BundledOnly(drawings)
    with for_a_document(svg.TAGS, QUICK_TAGS):
        sheet = CSS(string=style, font_config=faces, url_fetcher=fetcher, base_url=_SCHEME)
        content = HTML(string=page, url_fetcher=fetcher, base_url=_SCHEME).write_pdf(
            stylesheets=[sheet],
            font_config=faces,
            pdf_variant="pdf/a-3u",
            pdf_tags=True,
            pdf_identifier=digest,
            finisher=_finish,
            attachments=attachments,
        )
    return bytes(content)


def _finish(document: Any, file: pydyf.PDF) -> None:
    tagging.finish(document, file)
    deflate(file)


def write(folder: Path, name: str, content: bytes) -> Path:
    """Write a document whole or not at all: to a temporary file beside it, then renamed.

    Raises
    ------
    GaugebookError
        If the folder or the file cannot be written, or the disk is full; an older document stays as it was.
    """
    target = folder / name
    try:
        folder.mkdir(parents=True, exist_ok=True)
        descriptor, temporary = tempfile.mkstemp(dir=folder, prefix=f".{name}.")
        try:
            with os.fdopen(descriptor, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            Path(temporary).chmod(0o644)
            Path(temporary).replace(target)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise
    except OSError as error:
        if error.errno in (errno.ENOSPC, errno.EDQUOT):
            raise GaugebookError(
                f'The disk under "{folder}" is full: "{name}" was not written. Make room and give the command again.'
            ) from error
        raise GaugebookError(f'"{target}" cannot be written: {error.strerror}.') from error
    return target


def file_name(code: str) -> str:
    """A batch's name as a safe file name; where characters had to go, a short hash keeps two batches apart."""
    safe = "".join(c if c.isascii() and (c.isalnum() or c in "-_.") else "_" for c in code)[:80].lstrip(".") or "_"
    return safe if safe == code else f"{safe}-{hashlib.sha256(code.encode()).hexdigest()[:8]}"


@cache
def _environment(code: str) -> Environment:
    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        undefined=StrictUndefined,
        autoescape=True,
        bytecode_cache=KeptTemplates(),
        **nothing_worked_in(wording.shown),
        extensions=[ExactAttributes],
        trim_blocks=True,
        lstrip_blocks=True,
    )
    says = language(code)
    environment.filters.update(
        stated=says.stated, percent=says.percent, number=says.number, moment=says.moment, day=says.day,
        uncertainty=says.uncertainty, marked=says.marked, listed=says.listed, short=says.short,
        unit=wording.unit, words=wording.spaced, unbroken=wording.unbroken, describe_flag=describe_flag,
    )  # fmt: skip
    environment.globals.update(say=says.markup, name=says.name, hours=says.hours, plural=wording.plural)
    return environment
