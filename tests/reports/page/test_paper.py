"""The paper of the house profile is that of every document, not of dossiers alone."""

from dataclasses import replace
from io import BytesIO

import pikepdf
import pytest
from demo_book import demo_house, write_demo_book

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.house.profile_in_force import profile_in_force
from gaugebook.pipeline.house.settings import Documents
from gaugebook.reports.accounts.account import gather_account, known_months
from gaugebook.reports.accounts.account_document import account_document
from gaugebook.reports.accounts.lot_trace import gather_trace, trace_pdf
from gaugebook.reports.runs.run_document import run_pdf
from gaugebook.reports.runs.run_record import gather_run
from gaugebook.reports.trends.trends import trends_pdf
from gaugebook.reports.trends.trends_gather import gather_trends

LETTER = Documents(paper="letter")


def sizes(content: bytes) -> list[tuple[float, float]]:
    """Width and height of each page, in points."""
    with pikepdf.open(BytesIO(content)) as document:
        return [tuple(float(side) for side in page.mediabox[2:]) for page in document.pages]


@pytest.fixture
def book(sample_book):
    """The sample distillery's book, for reading."""
    with open_book(sample_book) as book:
        yield book


def test_a_run_stays_on_one_page_of_letter(book):
    """Letter is shorter than A4, and the page of a run is made for one."""
    house = replace(profile_in_force(book), documents=LETTER)

    assert sizes(run_pdf(gather_run(book, house, "STR-2605-06"))) == [(612.0, 792.0)]


def test_account_and_trace_are_printed_on_letter(book):
    """A month's account and a batch's trace."""
    house = replace(profile_in_force(book), documents=LETTER)

    account = account_document(gather_account(book, house, known_months(book)[-1])).content
    trace = trace_pdf(gather_trace(book, house, "VOD-2610B"))

    assert set(sizes(account)) == set(sizes(trace)) == {(612.0, 792.0)}


def test_trends_lie_on_letter(tmp_path):
    """Trends lie, each measure on a page of its own, on as many pages as on A4."""
    with open_book(write_demo_book(tmp_path / "book")) as book:
        a4, letter = (
            sizes(trends_pdf(gather_trends(book, replace(demo_house(), documents=documents))))
            for documents in (Documents(), LETTER)
        )

    assert len(letter) == len(a4)
    assert set(letter) == {(792.0, 612.0)}
