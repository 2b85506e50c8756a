"""The data that a document would carry now: those that it carries, while the book is what it was."""

import json
from shutil import copytree

import pytest

from gaugebook.pipeline.book import register
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import GaugebookError, UnknownRecord
from gaugebook.reports.proof.data_now import data_of
from gaugebook.reports.proof.document_check import check_document
from gaugebook.reports.proof.signature import attached_files


@pytest.mark.parametrize(
    ("what", "subject", "file"), [("dossier", "RYE-1", "RYE-1.pdf"), ("account", "2026-01", "account-2026-01.pdf")]
)
def test_the_data_now_are_those_inside_the_document(issued, what, subject, file):
    """Of an unchanged book, to the last digit and the same head of the register."""
    inside = json.loads(attached_files((issued.parent / "out" / file).read_bytes())[f"{what}.json"])
    with open_book(issued) as book:
        assert data_of(book, what, subject) == inside


def test_the_account_now_follows_the_book(issued, tmp_path):
    """Ten litres more produced in the month are ten more in that column of their place and of the total."""
    folder = copytree(issued, tmp_path / "book")
    with open_book(folder, writing=True) as book:
        before = data_of(book, "account", "2026-01")
        place = book.value("SELECT min(place) FROM derived.account_entries WHERE entry = 'produced'")
        book.execute(
            "UPDATE derived.account_entries SET alcohol_l = alcohol_l + 10 WHERE rowid = (SELECT min(rowid) FROM "
            "derived.account_entries WHERE entry = 'produced' AND place = ? AND month = '2026-01-01')",
            [place],
        )
        after = data_of(book, "account", "2026-01")

    rows = [next(row for row in data["rows"] if row["place"] == place) for data in (before, after)]
    assert rows[1]["produced"] - rows[0]["produced"] == pytest.approx(10)
    assert after["total"]["produced"] - before["total"]["produced"] == pytest.approx(10)


@pytest.mark.parametrize(
    ("what", "subject", "said"),
    [
        ("dossier", "RYE-9", 'batch "RYE-9"|RYE-1'),
        ("account", "2026-13", 'No account of "2026-13" can be made: expected a month such as 2026-03'),
        ("account", "January", 'No account of "January" can be made'),
        ("label", "RYE-1", 'No document of the kind "label" is known'),
    ],
)
def test_what_the_book_does_not_hold_is_one_sentence(issued, what, subject, said):
    """An unknown batch, a month that is none, an unknown kind of document."""
    with open_book(issued) as book, pytest.raises(UnknownRecord, match=said):
        data_of(book, what, subject)


def test_data_of_a_book_that_was_not_checked_are_not_made(issued, tmp_path):
    """A dossier tells of flags, and none are known before the rules were applied."""
    folder = copytree(issued, tmp_path / "book")
    with open_book(folder, writing=True) as book:
        book.execute("DELETE FROM flagged.checked_from")
        with pytest.raises(GaugebookError, match="gaugebook check"):
            data_of(book, "dossier", "RYE-1")


def test_a_file_that_claims_a_month_that_is_none_is_told_so(issued, monkeypatch):
    """Whoever altered the month inside an account gets a sentence of `verify`, no traceback."""
    payload = json.dumps({"about": {"month": "2026-99"}}).encode()
    monkeypatch.setattr("gaugebook.reports.proof.signature.attached_files", lambda content: {"account.json": payload})
    with open_book(issued) as book:
        check = check_document(b"%PDF", register.entries(book), lambda what, subject: data_of(book, what, subject))

    assert not check.holds
    assert 'those of the book cannot be made: No account of "2026-99"' in check.label
