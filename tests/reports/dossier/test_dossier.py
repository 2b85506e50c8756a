"""The dossier as a document: what it says, that it is the same each time, and that text cannot break it."""

import dataclasses
import hashlib
import os
import subprocess
import sys
from io import BytesIO
from pathlib import Path

import pikepdf
import pytest
from demo_book import EMPTY, GIN, VODKA, demo_house, write_demo_book
from hostile_text import hostile
from pdf_text import pdf_text

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import UnknownRecord
from gaugebook.reports.dossier.batch import batch_codes, gather_batch
from gaugebook.reports.dossier.dossier import dossier_document, dossier_html
from gaugebook.reports.dossier.records import Batch, Decision, FlagState
from gaugebook.reports.dossier.verdict import verdict
from gaugebook.reports.page import pages
from gaugebook.reports.page.language import language


@pytest.fixture(scope="module")
def book_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_demo_book(tmp_path_factory.mktemp("book"))


@pytest.fixture(scope="module")
def batches(book_folder: Path) -> dict[str, Batch]:
    with open_book(book_folder) as book:
        return {code: gather_batch(book, demo_house(), code) for code in batch_codes(book)}


@pytest.fixture(scope="module")
def documents(batches: dict[str, Batch], tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("out")
    return {
        code: pages.write(folder, f"{code}.pdf", dossier_document(batch).content) for code, batch in batches.items()
    }


def page_text(path: Path, *options: str) -> str:
    """Text of a PDF, spaces and line ends made one space."""
    flow = () if "-raw" in options else ("-layout",)
    return " ".join(pdf_text(path, *flow, *options).split())


def test_first_page_answers(documents):
    """Page 1 says which batch, whether it may go, what stands in the way and who must sign."""
    said = page_text(documents[GIN], "-l", "1")
    for words in (
        GIN,
        "Marsh gin",
        "May not go",
        "1 flag stops the release, and 1 flag needs an explanation",
        "run BOT-01, juniper berry: Juniper berry was charged at half",
        "signature",
        "An invented house",
    ):
        assert words in said
    assert "May go" in page_text(documents[VODKA], "-l", "1")
    assert "Cannot be said yet" in page_text(documents[EMPTY], "-l", "1")


def test_figures_of_the_book_are_on_the_pages(documents, batches):
    """Numbers of the book stand in the text, rounded by their uncertainty."""
    said = page_text(documents[VODKA])
    bottling = batches[VODKA].bottling
    assert f"{bottling.bottles_filled:,}" in said
    assert "40.05 ± 0.10 % vol" in said  # u = 0.05 in the book
    # Twelve strip charges of 2,400 L at 9.9 % vol by one scale (0.3 %) and one alcoholmeter (0.15 % vol): 2,851.2 LPA,
    # U = 2 x 2851.2 x sqrt(0.003^2 + (0.15 / 9.9)^2) = 88; as twelve independent gauges it would be 25.
    assert "2,851 ± 88 LPA" in said
    assert "12 runs on S1, 2031-03-11 to 2031-03-22" in said
    assert "0.391" in said  # 7 of 18 correct in a triangle test, exact binomial


def test_every_flag_is_told_whole(documents, batches):
    """A flag shows severity, rule, record, value, limits, sentence, reason, citation and where it was read."""
    said = page_text(documents[GIN])
    assert len(batches[GIN].flags) == 2
    for flag in batches[GIN].flags:
        for words in (flag.severity, flag.rule, flag.record, flag.value, flag.limits, flag.message, flag.reason):
            assert words in said
        assert flag.citation in said
    assert "run_sheet.xlsx, sheet Runs:7" in said


def test_contents_and_running_heads(documents):
    """Contents name pages, every page carries batch and page x of y."""
    with pikepdf.open(documents[VODKA]) as document:
        total = len(document.pages)
    for number in range(1, total + 1):
        said = page_text(documents[VODKA], "-f", str(number), "-l", str(number))
        assert f"page {number} of {total}" in said
        assert f"batch {VODKA}" in said
        assert "An invented house" in said
    assert "Genealogy 3" in page_text(documents[VODKA], "-f", "2", "-l", "2")


def test_provenance_names_every_file(documents, batches):
    """Each source file stands with its SHA-256 and the rows that were kept and refused."""
    said = page_text(documents[VODKA])
    assert {file.name for file in batches[VODKA].files} == {
        "run_sheet.xlsx",
        "S1_log.csv",
        "laboratory.csv",
        "balance.csv",
    }
    for file in batches[VODKA].files:
        assert file.sha256 in said
    assert [file.refused for file in batches[VODKA].files if file.name == "laboratory.csv"] == [1]


def test_empty_parts_say_why(documents):
    """A batch with nothing but its bottling record says of each part why it is empty."""
    said = page_text(documents[EMPTY])
    for words in (
        "No lineage is on record",
        "No runs of this batch are on record",
        "No run of this batch handled alcohol",
        "No laboratory result is on record",
        "No botanical or steep run",
        "No reduction run",
        "No sampled fills",
        "No sensory session",
        "not in the house profile",
    ):
        assert words in said


def test_missing_required_result_is_shown(documents):
    """A required analyte without a result stands in the table as not on record."""
    assert "methanol not on record" in page_text(documents[GIN])


def test_structure(documents):
    """Title, language, tags, PDF/A-3u claim, output intent and dates that are the bottling's."""
    with pikepdf.open(documents[VODKA]) as document:
        with document.open_metadata() as metadata:
            assert metadata["dc:title"] == f"Batch release dossier {VODKA}, Quillmere Stillhouse"
            assert (metadata["pdfaid:part"], metadata["pdfaid:conformance"]) == ("3", "U")
        assert str(document.Root.Lang) == "en"
        assert document.Root.MarkInfo.Marked
        assert document.Root.OutputIntents[0].S == "/GTS_PDFA1"
        assert str(document.docinfo["/CreationDate"]).startswith("D:20310330")
        assert "/Encrypt" not in document.trailer


def test_figures_can_be_read_aloud(documents):
    """Every drawing is tagged as a figure with words in its place."""
    with pikepdf.open(documents[GIN]) as document:
        told = [
            str(item.get("/Alt", ""))
            for item in document.objects
            if isinstance(item, pikepdf.Dictionary) and item.get("/S") == "/Figure"
        ]
    assert "Genealogy of the batch, from received lots to bottles" in told
    assert "Log of run BOT-01" in told
    assert all(told)


def test_fonts_are_the_bundled_ones(documents):
    """Every font in the file is embedded and one of the two bundled families."""
    with pikepdf.open(documents[GIN]) as document:
        fonts = [
            item
            for item in document.objects
            if isinstance(item, pikepdf.Dictionary) and item.get("/Type") == "/FontDescriptor"
        ]
        assert fonts
        for font in fonts:
            assert "/FontFile2" in font or "/FontFile3" in font
            assert str(font.FontName).split("+")[1].startswith(("Source-Serif-4", "Source-Sans-3"))


def test_same_bytes_in_other_processes(book_folder, documents, tmp_path):
    """Two fresh processes, each in another folder, time zone, locale and hash seed, make the same bytes."""
    code = (
        "import sys; sys.path.insert(0, sys.argv[2]); from pathlib import Path; import demo_book, hashlib;"
        "from gaugebook.pipeline.book.database import open_book;"
        "from gaugebook.reports.dossier.batch import gather_batch;"
        "from gaugebook.reports.dossier.dossier import dossier_document\n"
        "with open_book(Path(sys.argv[1])) as book: batch = gather_batch(book, demo_book.demo_house(), demo_book.GIN)\n"
        "print(hashlib.sha256(dossier_document(batch).content).hexdigest())"
    )
    support = str(Path(__file__).parents[2] / "support")
    digests = {hashlib.sha256(documents[GIN].read_bytes()).hexdigest()}
    for zone, seed, locale in (("Asia/Tokyo", "1", "C"), ("America/Lima", "2", "C.UTF-8")):
        settings = {**os.environ, "TZ": zone, "PYTHONHASHSEED": seed, "LC_ALL": locale}
        command = [sys.executable, "-c", code, str(book_folder), support]
        (tmp_path / seed).mkdir()
        done = subprocess.run(command, cwd=tmp_path / seed, env=settings, capture_output=True, check=True, text=True)
        digests.add(done.stdout.strip())
    assert len(digests) == 1


def test_unknown_batch_names_near_ones(book_folder):
    """A batch that the book does not hold is an error that offers the nearest names."""
    with open_book(book_folder) as book, pytest.raises(UnknownRecord, match="did you mean VOD-3105A"):
        gather_batch(book, demo_house(), "VOD-3105B")


@pytest.mark.parametrize(
    ("standing", "headline"), [("stopped", "May not go"), ("to explain", "May go once explained"), ("clear", "May go")]
)
def test_verdict_follows_the_standing(batches, standing, headline):
    """The headline is the standing that the flags gave."""
    told = dataclasses.replace(batches[GIN].standing, standing=standing)
    assert verdict(dataclasses.replace(batches[GIN], standing=told), language("en")).headline == headline


HOSTILE = {
    "html": '<script>alert(1)</script><img src="file:///etc/hostname"><iframe src="http://127.0.0.1:9/x">',
    "css and svg": '}*{background:url(http://127.0.0.1:9/x)}</style>"/><svg><image href="file:///etc/x.png"/></svg>',
    "signs": "abc\u202edef\u2066ghi\u200f\u0000\x07 \U0001f600 \U0001f943 \u4e2d\u6587 {{ 7 * 7 }} {batch} %s",
    "one word": "x" * 10_000,
    "many words": "word " * 2_000,
}
# How the start of the text is read again from the pages, spaces left out.
READ_AGAIN = {
    "html": '<script>alert(1)</script><imgsrc="file:///etc/hostname">',
    "css and svg": '}*{background:url(http://127.0.0.1:9/x)}</style>"/><svg>',
    "signs": "abc[U+202E]def[U+2066]ghi[U+200F][U+0000][U+0007][U+1F600][U+1F943][U+4E2D][U+6587]{{7*7}}",
    "one word": "x" * 120 + "…[10,0",
    "many words": "word" * 24 + "…[10,0",
}


@pytest.mark.parametrize("kind", HOSTILE)
def test_hostile_text_stays_text(batches, kind, monkeypatch, tmp_path):
    """Whatever the text fields hold is shown as text: nothing is fetched, no font borrowed, pages stay legible."""
    asked = []
    fetch = pages.BundledOnly.fetch
    batch = hostile(told_in_full(batches[GIN]), HOSTILE[kind])
    monkeypatch.setattr(
        pages.BundledOnly, "fetch", lambda self, url, headers=None: (asked.append(url), fetch(self, url, headers))[1]
    )
    document = pages.pdf(dossier_html(batch), batch.bottling.bottled_at)
    assert asked
    assert all(url.startswith("bundled:") for url in asked)
    with pikepdf.open(BytesIO(document)) as made:
        assert 5 < len(made.pages) < 60
        for item in made.objects:
            if isinstance(item, pikepdf.Dictionary) and item.get("/Type") == "/FontDescriptor":
                assert "Source-S" in str(item.FontName)
            if isinstance(item, pikepdf.Dictionary) and item.get("/Type") == "/Annot":
                assert "/URI" not in item.get("/A", {})
    said = page_text(pages.write(tmp_path, "hostile.pdf", document), "-raw").replace(" ", "").replace("\u200b", "")
    assert said.count(READ_AGAIN[kind]) > 3


def told_in_full(batch: Batch) -> Batch:
    """The batch with a decision, an explained flag and one that was amended away, so that these texts are shown too."""
    at = batch.bottling.bottled_at
    first = batch.flags[0]
    life = FlagState(first.flag, "explained", first.rule, first.record, first.severity, "AQ", "distiller", "so it was",
                     at, "photo.png", "0" * 64)  # fmt: skip
    gone = dataclasses.replace(life, flag="f9", state="amended away", reason="amendment 1")
    made = Decision(1, "held", "EV", "qa lead", "to be looked at", (first.flag,), at, "0" * 64, ("gauges",))
    return dataclasses.replace(batch, flag_states={first.flag: life}, amended_away=(gone,), decisions=(made, made))


def test_only_bundled_faces_and_own_drawings_may_be_fetched():
    """The page's own fetcher hands out the faces and its drawings and refuses every other address, local files too."""
    fetcher = pages.BundledOnly({"bundled:drawing-0": b"<svg/>"})
    assert fetcher.fetch("bundled:drawing-0").read() == b"<svg/>"
    assert fetcher.fetch("bundled:sans").read(4) == b"\x00\x01\x00\x00"  # a TrueType file
    strange = ("http://127.0.0.1:9/x", "file:///etc/hostname", "data:text/plain,x", "bundled:../x", "bundled:drawing-1")
    for url in (*strange, "sans"):
        with pytest.raises(ValueError, match="may not fetch"):
            fetcher.fetch(url)


def test_text_of_a_file_is_never_a_template(batches):
    """Braces in a text field are printed as they stand."""
    batch = dataclasses.replace(batches[EMPTY], house=dataclasses.replace(batches[EMPTY].house, name="{{ 7 * 7 }}"))
    assert "{{ 7 * 7 }}" in dossier_html(batch)
