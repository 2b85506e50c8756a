"""What a house with casks holds and made does not depend on the order in which its files came."""

import random
import shutil

import pytest
from cask_house import CASKS, OPENING, cask_book, event, filled
from goods_house import BOTTLING, FILLED, LIQUID, RUN, gone

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.derived.build_state import is_up_to_date
from gaugebook.pipeline.intake.flow import profile_in_force, receive
from gaugebook.reports.accounts.account import gather_account, known_months
from gaugebook.reports.accounts.account_data import account_data

# What names the place of a row, or numbers gauges in the order of files, may differ.
PLACES = ("source_id", "line", "gauge", "file", "file_id")
TABLES = (
    "ages", "cask_losses", "cask_places", "cask_stock", "evaporation", "goods_entries", "lots", "account_entries",
    "removals", "run_balances", "ancestor_lots",
)  # fmt: skip


@pytest.fixture(scope="module")
def first(tmp_path_factory):
    """A cask filled, topped from another, weighed, carried; one emptied; bottles filled and sent out."""
    root = tmp_path_factory.mktemp("order")
    cask_book(
        root,
        opening_stock=[row | {"counted_at": "2025-11-01"} for row in (*OPENING, LIQUID)],
        casks=CASKS,
        cask_events=[
            filled("C1", 150, "2025-12-01"),
            filled("C2", 190, "2025-12-01"),
            event("C2", "drawn", "2026-01-05", other_cask="C1", volume_at_t_l=40, strength_reading=62.4),
            event("C1", "filled", "2026-01-05", other_cask="C2", volume_at_t_l=40, strength_reading=62.4),
            event("C1", "moved", "2026-01-15", location="B"),
            event("C2", "regauged", "2026-01-20", gross_kg=182.0, strength_reading=62.3),
            event("C2", "emptied", "2026-02-01", lot="VAT", volume_at_t_l=145, strength_reading=62.2),
        ],
        runs=[RUN],
        movements=FILLED,
        bottling=[BOTTLING],
        dispatches=[gone(60, "2026-02-21"), gone(10, "2026-02-25", document="D-2")],
    )
    return root


def figures_of(folder):
    """All that the book computes, as sets of rows and as the accounts of its months."""
    with open_book(folder) as book:
        assert is_up_to_date(book)
        house = profile_in_force(book)
        tables = {}
        for name in TABLES:
            frame = book.frame(f"SELECT * FROM derived.{name}")
            frame = frame.drop([column for column in PLACES if column in frame.columns])
            tables[name] = sorted(map(repr, frame.rows()))
        accounts = [account_data(gather_account(book, house, month)) for month in known_months(book)]
    for account in accounts:
        account["about"].pop("register_head")
        for line in account["gauges"]:
            line.pop("gauge", None)
    return tables, accounts


@pytest.mark.parametrize("seed", range(2))
def test_any_order_gives_the_same_figures(first, tmp_path, seed):
    """File by file, each by a command of its own, in orders drawn by chance."""
    files = sorted((first / "site").glob("*.csv"))
    random.Random(seed).shuffle(files)
    shutil.copytree(first / "site", tmp_path / "site")
    for path in files:
        receive(tmp_path / "book", [tmp_path / "site" / path.name], tmp_path / "site" / "house.toml")

    tables, accounts = figures_of(tmp_path / "book")
    tables_at_once, accounts_at_once = figures_of(first / "book")
    for name in TABLES:
        assert tables[name] == tables_at_once[name], name
    assert any(tables_at_once["ages"]) and any(tables_at_once["goods_entries"]) and len(accounts) >= 3
    assert accounts == accounts_at_once
