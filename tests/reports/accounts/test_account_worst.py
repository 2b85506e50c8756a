"""The account's first page tells the worst first: below zero, not dipped, unexplained by sign."""

import re
from dataclasses import replace
from datetime import date, datetime, time

import pytest
from pdf_text import pdf_text

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import profile_in_force
from gaugebook.reports.accounts.account import Account, gather_account
from gaugebook.reports.accounts.account_document import account_document
from gaugebook.reports.accounts.account_worst import not_dipped, worst_first
from sample_logs.generator.faults import FALL_VAPOUR_SHARE, OVERDRAWN, fall
from sample_logs.generator.simulation import simulate


@pytest.fixture(scope="module")
def accounts(sample_book) -> dict[int, Account]:
    """Of the sample distillery by month of 2026."""
    with open_book(sample_book) as book:
        house = profile_in_force(book)
        return {month: gather_account(book, house, date(2026, month, 1)) for month in (5, 7, 10)}


@pytest.fixture(scope="module")
def overdrawn_l() -> float:
    """Litres of pure alcohol that the blend drew under the wrong name, less what was left under that name."""
    [wrong] = [fault.records[0] for fault in simulate().book.faults if fault.rule == "lot-overdrawn"]
    [right] = [
        lot for (cycle, product), lot in simulate().distillates.items() if (cycle, product) == (OVERDRAWN, "GIN")
    ]
    [drawn] = [liquid for working in simulate().book.workings for lot, liquid in working.into if lot == right]
    return drawn.alcohol_l - simulate().cellar.lots[wrong].holds.alcohol_l


def overdraft(words: str) -> tuple[float, float]:
    """How far below zero it is told to be, and within what."""
    number, within = re.search(r"−([\d.]+) ± ([\d.]+) LPA", words).groups()
    return float(number), float(within)


def said(account: Account) -> dict[str, str]:
    return dict(worst_first(account))


def test_a_vessel_below_zero_is_told_first(accounts, overdrawn_l):
    """In October D1 lacks what was drawn under the name of DIST-2604-03 (sample_logs/planted_faults.toml); in July the
    vessel holds other lots that nearly cover it, and the lot is told all the same."""
    [what, words], *_ = worst_first(accounts[10])
    number, within = overdraft(words)
    assert what == "Below zero" and words.startswith("1 vessel: D1 −")
    assert number == pytest.approx(overdrawn_l, abs=within) and within < 0.1 * overdrawn_l
    july = said(accounts[7])["Below zero"]
    number, within = overdraft(july)
    assert july.startswith("1 lot in vessels that others fill up: DIST-2604-03 −")
    assert number == pytest.approx(overdrawn_l, abs=within) and within < 0.1 * overdrawn_l
    assert re.search(r"Within what gauging can tell: D1 −[\d.]+ ± ", july)


def test_what_was_not_dipped_is_told_with_its_share(accounts):
    """At the end of October two thirds of the closing stock stand in lots that no dip confirms: in truth those lots,
    but for spent liquor and the heels that other lots were laid upon."""
    account = accounts[10]
    unknown, held = not_dipped(account)
    dipped = sum(float(dip["book_l"]) for dip in account.dips if dip["dip_l"] is not None)
    assert held == pytest.approx(float(account.total["closing"])) == pytest.approx(unknown + dipped)
    last = date(2026, 10, 31)
    names = {dip.lot for dip in simulate().book.dips if dip.gauged.date() == last}
    stock = {
        lot.name: lot.held_at(datetime.combine(last, time.max)).alcohol_l
        for lot in simulate().cellar.lots.values()
        if not lot.name.endswith("-S") and lot.holds.alcohol_l > 0.05 * lot.changes[0][1].alcohol_l
    }
    true_share = sum(litres for lot, litres in stock.items() if lot not in names) / sum(stock.values())
    assert unknown / held == pytest.approx(true_share, abs=0.01)
    assert f", {100 * true_share:.0f} %: " in said(account)["Not dipped"]


def test_without_a_stocktake_nothing_was_dipped(accounts):
    """A month without dips says that all of its stock rests on the book, and that there is nothing to compare."""
    told = said(replace(accounts[10], dips=[]))
    assert told["Not dipped"].startswith(f"All of the {accounts[10].total['closing']:,} LPA")
    assert told["Dips against the book"] == "There is nothing to compare."


def test_losses_and_gains_do_not_net(accounts):
    """Thirty lost and thirty found again are two faults, not a nought."""
    rows = [{"entry": "unexplained", "lost_l": 30.0, "losses": 2, "gained_l": 30.0, "gains": 1}]
    told = said(replace(accounts[10], by_sign=rows))["Unexplained"]
    assert told == "Lost 30.00 LPA in 2 entries; gained 30.00 LPA in 1 entry."
    may = said(accounts[5])["Unexplained"]
    told_l = re.match(r"Lost ([\d.]+) LPA in 4 entries; gained 0.00 LPA", may)[1]
    assert float(told_l) == pytest.approx(_vapour_of_may_l(), abs=2.0)


def _vapour_of_may_l() -> float:
    """What the worn gasket let go on the four strips of S2 before it was mended."""
    charged_l = {w.run: sum(liquid.alcohol_l for _, liquid in w.into) for w in simulate().book.workings}
    strips = [
        run
        for run in simulate().book.runs
        if run.stage == "strip" and run.product is None and f"{run.started:%Y-%m}" == "2026-05"
    ]
    lost_l = [FALL_VAPOUR_SHARE * fall(run.equipment, run.started) * charged_l[run.run] for run in strips]
    assert sum(litres > 0.0 for litres in lost_l) == 4
    return sum(lost_l)


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
    lost_l = -account.total["unexplained"]
    assert f"{lost_l} LPA lost, 0.00 LPA gained" in page
