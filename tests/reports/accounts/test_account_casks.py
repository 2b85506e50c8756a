"""Many casks in the account of the month: one row a warehouse on the page, each cask in the attached table."""

from datetime import date
from decimal import Decimal

import pytest
from cask_house import OPENING, cask_book, event, filled

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import profile_in_force
from gaugebook.reports.accounts.account import COLUMNS, account_html, account_table, folded, gather_account


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Twelve casks of 50 L at 62.5 % vol (31.25 LPA each), filled in W1; in March one goes to W2."""
    names = [f"C{number:02}" for number in range(1, 13)]
    return cask_book(
        tmp_path_factory.mktemp("many"),
        opening_stock=OPENING[:1],
        casks=[{"cask": name, "tare_kg": 20, "location": "W1"} for name in names],
        cask_events=[
            *(filled(name, 50, "2024-02-01") for name in names),
            event("C12", "moved", "2024-03-10", location="W2"),
        ],
    )


def account_of(folder, month):
    """The account of a month, and its page."""
    with open_book(folder) as book:
        account = gather_account(book, profile_in_force(book), month)
    return account, account_html(account, "0" * 64)


def test_many_casks_of_a_warehouse_are_one_row(folder):
    """Twelve times 31.25 LPA; the table has each cask, and both sum to the same."""
    account, page = account_of(folder, date(2024, 2, 1))
    row = next(row for row in folded(account.rows) if row["place"] == "12 casks, W1")

    assert (row["produced"], row["closing"]) == (Decimal("375.00"), Decimal("375.00"))
    for name in COLUMNS:
        assert sum(row[name] for row in folded(account.rows)) == account.total[name]
    assert "12 casks, W1" in page and "attached table has each" in page
    assert sum(place.startswith("C") for place in account_table(account)["place"]) == 12


def test_a_cask_stands_where_it_lay_at_the_end_of_the_month(folder):
    """In March eleven are left in W1, and the one in W2 stands for itself; February is as it was."""
    march, _ = account_of(folder, date(2024, 3, 1))
    places = [row["place"] for row in folded(march.rows)]

    assert "11 casks, W1" in places and "C12" in places
    assert "12 casks, W1" in [row["place"] for row in folded(account_of(folder, date(2024, 2, 1))[0].rows)]
