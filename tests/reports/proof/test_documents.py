"""Documents of record: their data inside, their entry in the register, verify on files whole, altered and foreign."""

import csv
import hashlib
import io
import json
import random
import subprocess
from shutil import copytree, which

import jsonschema
import pdfua
import pikepdf
import pytest
import rfc8785
from click.testing import CliRunner
from pdf_clauses import faults
from pdf_text import pdf_text
from tampering import changed

from gaugebook.pipeline.book import register
from gaugebook.pipeline.book.database import open_book
from gaugebook.reports.cli import main
from gaugebook.reports.proof.data_now import data_of
from gaugebook.reports.proof.document_check import check_document
from gaugebook.reports.proof.signature import attached_files
from gaugebook.reports.proof.verification import verify_book


@pytest.fixture(scope="module")
def dossier(issued):
    return (issued.parent / "out" / "RYE-1.pdf").read_bytes()


@pytest.fixture(scope="module")
def account(issued):
    return (issued.parent / "out" / "account-2026-01.pdf").read_bytes()


@pytest.fixture(scope="module")
def chain(issued):
    with open_book(issued) as book:
        return register.entries(book)


def test_the_data_inside_keep_their_schema_and_are_canonical(dossier, account):
    """Dossier and account: the JSON validates against the schema beside it and is its own canonical form."""
    for content, name in ((dossier, "dossier"), (account, "account")):
        files = attached_files(content)
        data, schema = files[f"{name}.json"], json.loads(files[f"{name}.schema.json"])
        jsonschema.Draft202012Validator.check_schema(schema)
        checker = jsonschema.Draft202012Validator(schema)
        checker.validate(json.loads(data))
        assert rfc8785.dumps(json.loads(data)) == data
        broken = json.loads(data)
        del broken["about"]["software"]
        assert not checker.is_valid(broken)


def test_the_data_inside_are_the_book_s(dossier, issued):
    """Figures of the book stand in the data to their eight digits, and in the tables as in the data."""
    files = attached_files(dossier)
    data = json.loads(files["dossier.json"])
    with open_book(issued) as book:
        loss, recovery = book.frame("SELECT loss_l, recovery FROM derived.run_balances WHERE run = 'STR-1'").row(0)
    strip = next(stage for stage in data["stages"] if stage["name"] == "strip")

    told = (strip["balances"]["STR-1"]["loss_l"], strip["balances"]["STR-1"]["recovery"])
    assert told == pytest.approx((loss, recovery), rel=5e-8)
    gauges = list(csv.DictReader(io.StringIO(files["gauges.csv"].decode())))
    assert len(gauges) == sum(len(stage["gauges"]) for stage in data["stages"]) == 15
    assert gauges[0]["place"].startswith("moves.csv:")
    assert [row["new_value"] for row in csv.DictReader(io.StringIO(files["amendments.csv"].decode()))] == ["79.5"]


def test_the_evidence_inside_is_what_a_decision_freezes(dossier, issued):
    """evidence.json has the SHA-256 that the decision on this state of the book keeps, and the pages print it."""
    digest = hashlib.sha256(attached_files(dossier)["evidence.json"]).hexdigest()
    with open_book(issued) as book:
        kept = book.value("SELECT evidence_sha256 FROM history.decisions WHERE batch = 'RYE-1'")
    text = "".join(pdf_text(dossier, "-raw").split())

    assert digest == kept
    assert digest in text
    assert hashlib.sha256(attached_files(dossier)["dossier.json"]).hexdigest() in text


def test_the_head_of_the_register_is_printed_and_lies_in_the_chain(dossier, account, chain):
    """Both documents print the hash of the last entry about the book, which is no document."""
    head = [entry for entry in chain if entry.kind != "document"][-1]

    for content in (dossier, account):
        assert head.own_sha256 in "".join(pdf_text(content, "-raw").split())
    payload = [entry.data for entry in chain if entry.kind == "document"]
    assert [item["state_sha256"] for item in payload] == [head.own_sha256] * 2


def test_a_document_is_entered_once(dossier, issued, chain):
    """Made again it has the same bytes, and the register gets no second entry."""
    again = CliRunner().invoke(main, ["--book", str(issued), "dossier", "RYE-1", "--out", str(issued.parent / "more")])

    assert again.exit_code == 0, again.output
    assert (issued.parent / "more" / "RYE-1.pdf").read_bytes() == dossier
    with open_book(issued) as book:
        assert register.entries(book) == chain
        assert verify_book(book).holds
    assert [entry.subject for entry in chain if entry.kind == "document"] == ["dossier RYE-1", "account 2026-01"]


def test_any_byte_altered_is_found(dossier, account, chain):
    """Fifty bytes of two documents taken by chance, each altered alone: never the document; untouched: always."""
    chance = random.Random(7)
    for content in (dossier, account):
        assert check_document(content, chain).holds
        for _ in range(25):
            assert not check_document(changed(content, chance.randrange(len(content)), chance), chain).holds
        assert not check_document(content[:-1], chain).holds
        assert not check_document(content + b"\n", chain).holds


def test_altered_data_are_told_section_by_section(dossier, issued, chain):
    """A file with another number in its data: which section and record, here and in the book."""
    altered = _with_data(dossier, lambda data: data["bottling"].update(bottles_filled=471))
    with open_book(issued) as book:
        check = check_document(altered, chain, lambda what, subject: data_of(book, what, subject))

    assert not check.holds
    assert "its data differ from the book's" in check.label
    assert check.differences == ("bottling.bottles_filled: 471 in the file, 470 in the book",)


def test_altered_pages_are_told_apart_from_altered_data(dossier, chain):
    """Where the data are the registered ones and the bytes are not, that is said, with the entry."""
    with pikepdf.open(io.BytesIO(dossier)) as document:
        out = io.BytesIO()
        document.save(out)

    check = check_document(out.getvalue(), chain)

    assert not check.holds
    assert "its pages or what surrounds them were altered" in check.label
    assert chain[check.entry - 1].subject == "dossier RYE-1"


def test_a_file_that_is_no_document_of_ours(chain, dossier):
    """A file without our data, and an extract without the book: what can be said is said."""
    assert "no attached data can be read" in check_document(b"%PDF-1.7\n", chain).label
    altered = _with_data(dossier, lambda data: data["bottling"].update(bottles_filled=471))
    assert "Of dossier RYE-1 it names: entry" in check_document(altered, chain).label


def test_an_older_document_holds_and_says_what_has_happened_since(issued, dossier, tmp_path):
    """A dossier stays the one that the register names; the book's later life is told beside it."""
    folder = copytree(issued, tmp_path / "book")
    with open_book(folder, writing=True) as book, book.transaction():
        register.append(book, [register.Event("check", "made up", {})])
        check = check_document(dossier, register.entries(book))

    assert check.holds
    assert "tells of 1 more things in the book: check" in check.remarks[-1]


def test_the_command_on_files(issued, tmp_path):
    """Exit status 0 for the document, 1 for another, 2 for none; for people and for machines."""
    good, bad = issued.parent / "out" / "RYE-1.pdf", tmp_path / "bad.pdf"
    bad.write_bytes(b"x" + good.read_bytes()[1:])
    ask = ["--book", str(issued), "verify"]

    assert CliRunner().invoke(main, [*ask, str(good)]).exit_code == 0
    result = CliRunner().invoke(main, [*ask, str(good), str(bad), "--json"])
    assert result.exit_code == 1
    assert [item["holds"] for item in json.loads(result.stdout)["files"]] == [True, False]
    assert isinstance(CliRunner().invoke(main, [*ask, str(tmp_path / "none.pdf")]).exception, Exception)


def test_every_clause_that_can_be_asked_holds(dossier, account, tmp_path):
    """PDF/A-3 and PDF/UA-1, clause by clause (see pdf_clauses), and qpdf finds nothing."""
    for content in (dossier, account):
        assert faults(content) == {}
        (tmp_path / "a.pdf").write_bytes(content)
        if which("qpdf"):
            subprocess.run(["qpdf", "--check", str(tmp_path / "a.pdf")], capture_output=True, check=True)


def test_a_checker_of_others_finds_nothing(dossier, account, tmp_path):
    """pdfua, a checker of PDF/UA-1 that none of us wrote, finds nothing; without the claim it does."""
    for content in (dossier, account):
        (tmp_path / "a.pdf").write_bytes(content)
        report = pdfua.validate(str(tmp_path / "a.pdf"))
        assert [finding for outcome in report.outcomes for finding in outcome.findings] == []
        assert len(report.outcomes) >= 10
    with pikepdf.open(io.BytesIO(account)) as document:
        del document.Root.Metadata
        document.save(tmp_path / "a.pdf")
    assert pdfua.validate(str(tmp_path / "a.pdf")).findings


def _heads(document):
    for page in document.pages:
        stream = pikepdf.unparse_content_stream(pikepdf.parse_content_stream(page))
        page.contents_coalesce()
        page.Contents.write(stream.replace(b"/Pagination", b"/Layout"))


def _link(document):
    for item in document.objects:
        if isinstance(item, pikepdf.Dictionary) and item.get("/S") == "/Link":
            item.S = pikepdf.Name.Span


def _claim(document):
    xmp = document.Root.Metadata.read_bytes()
    document.Root.Metadata.write(xmp.replace(b"<pdfuaid:part>1", b"<pdfuaid:part>2"))


def _scope(document):
    head = next(item for item in document.objects if isinstance(item, pikepdf.Dictionary) and item.get("/S") == "/TH")
    del head.A.Scope


def _level(document):
    head = next(item for item in document.objects if isinstance(item, pikepdf.Dictionary) and item.get("/S") == "/H2")
    head.S = pikepdf.Name.H5


def _unmarked(document):
    page = document.pages[0]
    page.contents_add(b"q 0 0 10 10 re f Q")


def _words(document):
    drawing = next(
        item for item in document.objects if isinstance(item, pikepdf.Dictionary) and item.get("/S") == "/Figure"
    )
    del drawing.Alt


@pytest.mark.parametrize(
    ("deed", "clause"),
    [
        (lambda document: document.Root.__setitem__("/AF", pikepdf.Array([])), "A 6.8"),
        (lambda document: document.Root.Names.EmbeddedFiles.Names[1].__delitem__("/AFRelationship"), "A 6.8"),
        (lambda document: document.Root.MarkInfo.__setitem__("/Marked", False), "UA 6.2"),
        (lambda document: document.Root.__delitem__("/Lang"), "UA 7.2"),
        (lambda document: document.Root.OutputIntents.extend([document.Root.OutputIntents[0]]), None),
        (
            lambda document: document.Root.__setitem__("/OpenAction", pikepdf.Dictionary(S=pikepdf.Name.Launch)),
            "A 6.5.2",
        ),
        (_scope, "UA 7.5"),
        (_level, "UA 7.4.2"),
        (_unmarked, "UA 7.1 content"),
        (_heads, "UA 7.8"),
        (_link, "UA 7.18.5"),
        (_claim, "UA 5"),
        (_words, "UA 7.3"),
    ],
)
def test_a_clause_that_is_broken_is_found(dossier, deed, clause):
    """The clauses can fail: each thing taken away is named; the same output intent twice is still one profile."""
    with pikepdf.open(io.BytesIO(dossier)) as document:
        deed(document)
        out = io.BytesIO()
        document.save(out)

    found = {name for name in faults(out.getvalue()) if name != "A 6.1.2"}  # pikepdf writes a header of its own
    assert found == set() if clause is None else clause in found


def _with_data(content, change):
    """The document with its attached data changed, as somebody with a PDF library would."""
    with pikepdf.open(io.BytesIO(content)) as document:
        names = document.Root.Names.EmbeddedFiles.Names
        spec = next(names[number] for number in range(1, len(names), 2) if str(names[number].UF) == "dossier.json")
        data = json.loads(spec.EF.F.read_bytes())
        change(data)
        spec.EF.F.write(rfc8785.dumps(data))
        out = io.BytesIO()
        document.save(out)
    return out.getvalue()
