"""The account's first page tells the worst first: below zero, not dipped, unexplained by sign."""

import re
from dataclasses import replace
from datetime import date, datetime

import pytest
from pdf_text import pdf_text

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import profile_in_force
from gaugebook.reports.accounts.account import Account, gather_account
from gaugebook.reports.accounts.account_document import account_document
from gaugebook.reports.accounts.account_worst import not_dipped, worst_first


@pytest.fixture(scope="module")
def accounts(sample_book) -> dict[int, Account]:
    """Of the sample distillery by month of 2026."""
    with open_book(sample_book) as book:
        house = profile_in_force(book)
        return {month: gather_account(book, house, date(2026, month, 1)) for month in (5, 7, 10)}


def said(account: Account) -> dict[str, str]:
    return dict(worst_first(account))


def test_a_vessel_below_zero_is_told_first(accounts):
    """In October D1 lacks what was drawn under the name of DIST-2604-03 (sample_logs/planted_faults.toml); in July the
    vessel holds other lots that nearly cover it, and the lot is told all the same."""
    [what, words], *_ = worst_first(accounts[10])
    assert what == "Below zero" and words.startswith("1 vessel: D1 −282 ± ")
    july = said(accounts[7])["Below zero"]
    assert "1 lot in vessels that others fill up: DIST-2604-03 −281.5 ± " in july
    assert re.search(r"Within what gauging can tell: D1 −4 ± ", july)


def test_what_was_not_dipped_is_told_with_its_share(accounts):
    """At the end of October two thirds of the closing stock stand in lots that no dip confirms."""
    account = accounts[10]
    unknown, held = not_dipped(account)
    dipped = sum(float(dip["book_l"]) for dip in account.dips if dip["dip_l"] is not None)
    assert held == pytest.approx(float(account.total["closing"])) == pytest.approx(unknown + dipped)
    assert unknown / held == pytest.approx(0.64, abs=0.01)
    assert ", 64 %: " in said(account)["Not dipped"]


def test_without_a_stocktake_nothing_was_dipped(accounts):
    """A month without dips says that all of its stock rests on the book, and that there is nothing to compare."""
    told = said(replace(accounts[10], dips=[]))
    assert told["Not dipped"].startswith("All of the 4,639.35 LPA")
    assert told["Dips against the book"] == "There is nothing to compare."


def test_losses_and_gains_do_not_net(accounts):
    """Thirty lost and thirty found again are two faults, not a nought."""
    rows = [{"entry": "unexplained", "lost_l": 30.0, "losses": 2, "gained_l": 30.0, "gains": 1}]
    told = said(replace(accounts[10], by_sign=rows))["Unexplained"]
    assert told == "Lost 30.00 LPA in 2 entries; gained 30.00 LPA in 1 entry."
    assert said(accounts[5])["Unexplained"].startswith("Lost 30.05 LPA in 4 entries; gained 0.00 LPA")


def test_dips_are_told_by_sign(accounts):
    """A dip that falls short and one that is over are told apart."""
    dips = [
        {"vessel": vessel, "dipped_at": datetime(2026, 10, 31), "dip_l": 1.0, "book_l": 1.0, "difference_l": difference,
         "finding": finding}
        for vessel, difference, finding in (("A", -12.5, "short"), ("B", 12.5, "over"), ("C", 0.1, "agrees"))
    ]  # fmt: skip
    told = said(replace(accounts[10], dips=dips))
    assert told["Dips against the book"].startswith("Short by 12.50 LPA in 1 lot; over by 12.50 LPA in 1 lot")
    assert told["Not dipped"] == "Nothing: every lot in a vessel was dipped."


def test_the_worst_stands_before_the_totals(accounts):
    """On the first page what is worst comes before opening and closing stock, and the totals tell losses by sign."""
    account = accounts[5]
    page = " ".join(pdf_text(account_document(account).content, "-l", "1").split())
    places = [
        page.index(word) for word in ("Below zero", "Not dipped", "Unexplained", "Opening stock", "Closing stock")
    ]
    assert places == sorted(places)
    assert "30.05 LPA lost, 0.00 LPA gained" in page
