"""Finished goods in the account of a month, and what left in bulk, in the words of the trade."""

import json
from datetime import date
from decimal import Decimal

import pytest
from click.testing import CliRunner
from goods_house import counted, gone, goods_book, moved
from hypothesis import given
from hypothesis import strategies as st
from pdf_text import pdf_text

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import profile_in_force
from gaugebook.reports.accounts.account import COLUMNS, HEADS, Account, gather_account
from gaugebook.reports.accounts.account_document import account_document
from gaugebook.reports.accounts.account_goods import goods_table, goods_total
from gaugebook.reports.cli import main

FEBRUARY = date(2026, 2, 1)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """200 bottles of January; in February 60 out duty paid, 40 in bond, 6 back, 2 sampled, 3 destroyed; bulk out."""
    bulk = {
        "lot": "LIQ-1", "vessel": "T2", "dispatched_at": "2026-02-20", "volume_at_t_l": 5, "volume_temperature_c": 20,
        "strength_reading": 41.3, "reading_kind": "pct_vol_20c", "customer": "K-9", "document": "D-9",
        "duty_status": "in bond",
    }  # fmt: skip
    return goods_book(
        tmp_path_factory.mktemp("account"),
        dispatches=[gone(60, "2026-02-02", duty_status="duty paid"), gone(40, "2026-02-03"), bulk],
        returns=[moved("returned_at", 6, "2026-02-10", reason="not collected")],
        samples=[moved("taken_at", 2, "2026-02-11", purpose="panel")],
        destructions=[moved("destroyed_at", 3, "2026-02-12", reason="broken")],
        inventory=[counted(100, "2026-02-28T18:00")],
    )


@pytest.fixture(scope="module")
def account(folder) -> Account:
    """Of February."""
    with open_book(folder) as book:
        return gather_account(book, profile_in_force(book), FEBRUARY)


def test_the_goods_of_a_month_line_by_line(account):
    """0.2065 LPA a bottle, booked to the cent by what is left: 101 bottles, 20.86 LPA, at the end."""
    [table] = goods_table(account.goods)

    assert table["product"] == "WHISKY"
    assert [(line["name"], line["pieces"]) for line in table["lines"]] == [
        ("On hand at the beginning", 200), ("Came back", 6), ("Dispatched, duty paid", -60),
        ("Dispatched, in bond", -40),        ("Sampled", -2), ("Destroyed", -3), ("On hand at the end", 101),
    ]  # fmt: skip
    litres = {line["name"]: line["alcohol_l"] for line in table["lines"]}
    assert litres["On hand at the beginning"] == Decimal("41.30")
    assert litres["Dispatched, duty paid"] == Decimal("-12.39")
    assert litres["On hand at the end"] == Decimal("20.86")
    assert sum(value for name, value in litres.items() if name != "On hand at the end") == Decimal("20.86")


def test_what_left_in_bulk_stands_in_its_column(account):
    """5 L at 41.3 % vol are 2.065 LPA, booked as 2.06 or 2.07; the row sums to its closing."""
    row = next(row for row in account.rows if row["place"] == "T2")

    assert float(row["dispatched"]) == pytest.approx(-2.065, abs=0.0051)
    assert sum(row[name] for name in COLUMNS[:-1]) == row["closing"]


def test_a_count_that_differs_needs_a_word(account):
    """100 counted of 101."""
    assert [(count["item"], count["difference"]) for count in account.counts] == [("B-1", -1)]
    assert account.needs_attention


def test_people_read_words(folder, account, tmp_path):
    """Heads of terminal and paper are words of the trade, not names of columns."""
    printed = CliRunner().invoke(main, ["--book", str(folder), "account", "2026-02", "--out", str(tmp_path)]).output
    paper = " ".join(pdf_text(account_document(account).content).split())

    assert "dispatched, in bond" in printed
    assert "Count of B-1: 100 bottles, 1 short." in printed
    for words in ("Finished goods", "Dispatched, duty paid", "On hand at the end", "Bottles counted in the month"):
        assert words in paper
    for name in ("came_back", "cask_loss", "cask_gain"):
        assert name not in printed + paper
        assert HEADS[name] in ("came back", "lost in casks", "gained in casks")


def test_the_account_for_machines_has_the_goods(folder):
    """In pieces and LPA, by product and line."""
    result = CliRunner().invoke(main, ["--book", str(folder), "account", "2026-02", "--json"])
    account = json.loads(result.stdout)

    closing = next(row for row in account["goods"] if row["line"] == "closing")
    assert (closing["pieces"], closing["alcohol_l"]) == (101, 20.86)


lines = st.sampled_from(["opening", "bottled", "returned", "sampled", "destroyed", "used"])
rows = st.lists(
    st.builds(
        lambda product, line, pieces, cents: {
            "product": product, "line": line, "duty_status": None, "pieces": pieces, "alcohol_l": Decimal(cents) / 100,
        },
        st.sampled_from("AB"), lines, st.integers(-99, 99), st.integers(-9999, 9999),
    )
)  # fmt: skip


@given(rows)
def test_all_products_together_are_the_sum_of_each(made):
    """Line by line, pieces and litres."""
    made.sort(key=lambda row: row["product"])
    tables = goods_table(made)
    if len(tables) < 2:
        return
    for line in tables[-1]["lines"]:
        assert line["pieces"] == sum(row["pieces"] for row in made if row["line"] == line["line"])
        assert line["alcohol_l"] == goods_total(made, line["line"])["alcohol_l"]
    assert sum(line["alcohol_l"] for line in tables[-1]["lines"]) == sum(row["alcohol_l"] for row in made)
