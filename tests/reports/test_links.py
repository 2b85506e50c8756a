"""Every link of the board and of the documents leads where it says."""

import re
from collections.abc import Callable
from datetime import date
from html import unescape
from io import BytesIO
from pathlib import Path
from urllib.parse import unquote

import pikepdf
import pytest

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import profile_in_force
from gaugebook.reports.accounts.account import gather_account
from gaugebook.reports.accounts.account_document import account_document
from gaugebook.reports.accounts.lot_trace import gather_trace, trace_pdf
from gaugebook.reports.board.board import gather_board
from gaugebook.reports.board.board_data import board_data
from gaugebook.reports.board.board_page import board_html
from gaugebook.reports.dossier.batch import gather_batch
from gaugebook.reports.dossier.dossier import dossier_document
from gaugebook.reports.page import pages
from gaugebook.reports.runs.run_document import run_pdf
from gaugebook.reports.runs.run_record import gather_run
from gaugebook.reports.trends.events import events
from gaugebook.reports.trends.trends import trends_html, trends_pdf
from gaugebook.reports.trends.trends_gather import gather_trends

HREF = re.compile(r'<a\b[^>]*\bhref="([^"]*)"')

# Opens every address of the page and of the pages of batches and runs that they open, and tells what each showed.
FOLLOW = """(async () => {
  const asked = new Set(), told = [];
  const queue = [''];
  const links = () => [...document.querySelectorAll('a[href^="#"]')].map((a) => a.getAttribute('href'));
  links().forEach((href) => queue.push(href));
  for (const href of queue) {
    if (asked.has(href) || href === '#main') continue;
    asked.add(href);
    if (href) await new Promise((done, failed) => {
      window.addEventListener('hashchange', done, { once: true });
      setTimeout(() => failed(new Error(`the page does not go to ${href}`)), 5000);
      location.hash = href;
    });
    links().forEach((other) => queue.push(other));
    told.push([href, document.getElementById('unknown').hidden, document.activeElement.textContent.trim(),
               document.querySelector('.part:not([hidden]) h2').textContent]);
  }
  return told;
})()"""


@pytest.fixture(scope="module")
def board(lived_book, out):
    with open_book(lived_book) as book:
        return gather_board(book, profile_in_force(book), out)


@pytest.fixture(scope="module")
def written(board, out) -> Path:
    """The board as a file."""
    path = out / "links.html"
    path.write_text(board_html(board), encoding="utf-8")
    return path


def addresses(page: str) -> list[str]:
    return [unescape(found) for found in HREF.findall(page)]


def test_every_link_of_the_board_opens_what_it_names(browser, board, written, out):
    """Each inner address, those of the pages that scripts make too, opens the very batch, run, flag, chart or list that
    it names, and none is unknown; each other one is a file that lies there."""
    data, page = board_data(board), written.read_text(encoding="utf-8")
    browser.media()
    browser.size(1440, 1000)
    browser.open(written)
    told = browser.js(FOLLOW)

    inner = {address for address in addresses(page) if address.startswith("#")} - {"#main"}
    assert inner <= {href for href, *_ in told} and len(inner) > 400
    titles = {
        "batch": {row["slug"]: f"Batch {row['code']}" for row in data["batches"]},
        "run": {row["slug"]: f"Run {row['code']}" for row in data["runs"]},
        "chart": {chart["slug"]: chart["title"] for chart in data["charts"]},
    }
    measure_of = {data["charts"][n]["title"]: m["name"] for m in data["measures"] for n in m["charts"]}
    for href, is_known, focused, title in told:
        kind, _, what = href[1:].partition("/")
        assert is_known, href
        if kind in ("batch", "run"):
            assert title == titles[kind][what]
        elif kind == "chart":
            assert title == measure_of[titles[kind][what]] and focused.startswith((titles[kind][what], title))
        elif kind == "flag":
            assert what in focused
        else:
            assert not href or title.lower().replace(" ", "-") == kind
    for address in {address for address in addresses(page) if not address.startswith("#")}:
        assert (out / unquote(address)).is_file(), address
    assert browser.complaints() == []


@pytest.mark.parametrize(
    ("address", "shown"),
    [("nothing", "in-hand"), ("chart/yield_against_predic\u200btion", "trends"), ("measure/none", "trends"),
     ("batch/none", "batches"), ("run/none", "runs"), ("flag/none", "flags"), ("batches/none", "batches"),
     ("constructor/x", "in-hand"), ("%E0%A4%A", "in-hand")],
)  # fmt: skip
def test_an_unknown_address_says_so(browser, written, address, shown):
    """What the page does not know it says, and shows the list where it would stand, never another chart; the word goes
    with the next address that it knows."""
    browser.open(written)
    browser.go(address)
    assert browser.js("document.querySelector('.part:not([hidden])').id") == shown
    assert browser.js("document.getElementById('unknown').checkVisibility()")
    said = browser.js("document.getElementById('unknown').innerText")
    assert said.startswith("The board has no ") and address.rpartition("/")[2][:8] in said
    browser.go("runs")
    assert browser.js("document.getElementById('unknown').hidden")


def test_a_change_leads_to_the_page_of_its_measure(board):
    """On the first page of the trends the page named beside each change is that of the measure which shows it."""
    page = trends_html(board.trends)
    heading = dict(re.findall(r'<h2 id="(measure-\d+)">([^<]*)</h2>', page))
    named = [heading[address[1:]] for address in addresses(page) if address.startswith("#measure-")]
    assert named == [event.chart.measure.name for event in events(board.trends)] != []


Made = Callable[[], bytes]


@pytest.fixture(scope="module")
def documents(lived_book) -> dict[str, Made]:
    """Each kind of document of the sample book; each is made when it is asked for."""
    with open_book(lived_book) as book:
        house = profile_in_force(book)
        batch, trends = gather_batch(book, house, "GIN-2610A"), gather_trends(book, house)
        account, trace = gather_account(book, house, date(2026, 10, 1)), gather_trace(book, house, "GIN-2610A")
        run = gather_run(book, house, "STR-2605-06")
    return {
        "dossier": lambda: dossier_document(batch).content,
        "trends": lambda: trends_pdf(trends),
        "account": lambda: account_document(account).content,
        "trace": lambda: trace_pdf(trace),
        "run": lambda: run_pdf(run),
    }


@pytest.mark.parametrize("kind", ["dossier", "trends", "account", "trace", "run"])
def test_every_link_of_a_document_leads_to_a_page(documents, kind, monkeypatch):
    """Each address of the page is an anchor in it, and in the PDF a destination that every link to it finds on one of
    its own pages; none leads out of the document."""
    written = []
    make = pages.pdf
    monkeypatch.setattr(pages, "pdf", lambda page, *rest: (written.append(page), make(page, *rest))[1])
    content = documents[kind]()
    asked = set(addresses(written[0]))
    assert asked <= {f"#{name}" for name in re.findall(r'\bid="([^"]*)"', written[0])}

    with pikepdf.open(BytesIO(content)) as document:
        names = pikepdf.NameTree(document.Root.Names.Dests) if "/Dests" in document.Root.get("/Names", {}) else {}
        pages_of = {page.objgen for page in document.pages}
        links = [
            annotation
            for page in document.pages
            for annotation in page.get("/Annots", [])
            if annotation.get("/Subtype") == "/Link"
        ]
        followed = set()
        for link in links:
            assert "/URI" not in link.get("/A", {})
            to = link.get("/Dest", link.get("/A", {}).get("/D"))
            place = names[str(to)] if isinstance(to, pikepdf.String) else to
            assert place[0].objgen in pages_of
            followed.add(f"#{to}")
    assert followed == asked
    assert len(followed) >= {"dossier": 10, "trends": 2}.get(kind, 0)
