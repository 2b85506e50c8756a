"""The account by parts of the house as laws ask for it: production, storage, processing; or warehouse by warehouse.

At any time each place belongs to one part, so the parts sum to the one account, line by line but for what moves between
them.
"""

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import polars as pl

from gaugebook.pipeline.book import register
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.house.settings import ACCOUNTS, House
from gaugebook.reports.accounts.account import COLUMNS, HEADS, last_entry
from gaugebook.reports.accounts.account_goods import goods_total

HERE = Path(__file__).parent
VIEWS = ("site", *ACCOUNTS, "warehouse")
VIEW_COLUMNS = (*COLUMNS[:-1], "moved_in", "moved_out", "closing")
VIEW_HEADS = HEADS | {"moved_in": "from other accounts", "moved_out": "to other accounts"}
# Of runs with their signs; what casks gained is a figure of its own, set against no loss.
LOSSES = ("cask_loss", "lost", "explained", "unexplained")
ENTRIES = ("inventory", "received", "produced", "returned", "came_back", "moved_in")
REMOVALS = ("bottled", "dispatched", "sampled", "destroyed", "moved_out")
NOTHING = Decimal("0.00")


@dataclass(frozen=True)
class AccountView:
    """One month of one part of the house, or of each warehouse: a row a place, its sums, what moved between parts."""

    house: House
    month: date
    view: str
    rows: list[dict[str, Any]]
    total: dict[str, Decimal]
    transfers: list[dict[str, Any]]  # other part, moved_in, moved_out
    goods: list[dict[str, Any]]  # finished goods; those of processing and of the warehouses
    elements: list[dict[str, Any]]
    dated: datetime
    register_head: str | None


def gather_view(book: Book, house: House, month: date, view: str) -> AccountView:
    """The account of a month in one view: production, storage, processing or warehouse."""
    book.execute(f"SET VARIABLE house_zone = '{house.time_zone}'")
    lines = _lines(book, house, month, "account_warehouses" if view == "warehouse" else "account_places")
    own = lines if view == "warehouse" else [line for line in lines if line["part"] == view]
    name = "part" if view == "warehouse" else "place"
    rows = _rows(own, name)
    total = {column: sum((row[column] for row in rows), NOTHING) for column in VIEW_COLUMNS}
    goods: list[dict[str, Any]] = []
    if view in ("processing", "warehouse"):
        goods = book.frame((HERE / "account_goods.sql").read_text(encoding="utf-8"), [month]).to_dicts()
    last = last_entry(book, month)
    head = register.state_head(book)
    return AccountView(
        house, month, view, rows, total, _transfers(own), goods, elements(view, total, goods),
        last or datetime(month.year, month.month, 1), head.own_sha256 if head else None,
    )  # fmt: skip


def elements(view: str, total: dict[str, Decimal], goods: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The elements that laws ask of this view: each with its figure [LPA], with where else it is, or not kept.

    Returns
    -------
    list of dict
        law, name, alcohol_l, pieces (of bottles), where; all three None where the book does not keep it.
    """
    texts = tomllib.loads((HERE / "law_elements.toml").read_text(encoding="utf-8"))["elements"]
    return [
        {"law": item["law"], "name": item["name"], "where": item.get("where")}
        | _figure(item.get("figure"), total, goods)
        for item in texts
        if item["view"] == view
    ]


def _figure(name: str | None, total: dict[str, Decimal], goods: list[dict[str, Any]]) -> dict[str, Any]:
    if name is None:
        return {"alcohol_l": None, "pieces": None}
    if name.startswith("goods."):
        return goods_total(goods, name.removeprefix("goods."))
    parts = {"losses": LOSSES, "entries": ENTRIES, "removals": REMOVALS}.get(name, (name,))
    return {"alcohol_l": sum((total[part] for part in parts), NOTHING), "pieces": None}


def _lines(book: Book, house: House, month: date, parted_by: str) -> list[dict[str, Any]]:
    """Sums by part, place and line of the account; the query `parted_by` says which place belongs to which part."""
    accounts = pl.DataFrame(
        [(vessel.code, vessel.account) for vessel in house.vessels],
        schema={"vessel": pl.String, "account": pl.String}, orient="row",
    )  # fmt: skip
    with book.with_temp_view("house_accounts", accounts):
        parts = book.frame((HERE / f"{parted_by}.sql").read_text(encoding="utf-8"))
    with book.with_temp_view("parts", parts):
        return book.frame((HERE / "account_view.sql").read_text(encoding="utf-8"), [month]).to_dicts()


def _rows(lines: Iterable[dict[str, Any]], name: str) -> list[dict[str, Any]]:
    """A row a place (or part) with every column; closing is the sum of the others."""
    rows: dict[tuple[str, bool], dict[str, Any]] = {}
    for line in lines:
        is_vessel = line["is_vessel"] or name == "part"
        blank = {"place": line[name], "is_vessel": is_vessel} | dict.fromkeys(VIEW_COLUMNS, NOTHING)
        row = rows.setdefault((line[name], is_vessel), blank)
        row[line["line"]] += line["alcohol_l"]
        row["closing"] += line["alcohol_l"]
    return [row for row in rows.values() if any(row[column] for column in VIEW_COLUMNS)]


def _transfers(lines: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """What moved between this part and each other one in the month."""
    transfers: dict[tuple[str, str], dict[str, Any]] = {}
    for line in lines:
        if line["other"]:
            blank = {"part": line["part"], "other": line["other"], "moved_in": NOTHING, "moved_out": NOTHING}
            transfers.setdefault((line["part"], line["other"]), blank)[line["line"]] += line["alcohol_l"]
    return list(transfers.values())


def view_columns(view: AccountView) -> list[str]:
    """The columns with something in them, opening and closing always."""
    return [n for n in VIEW_COLUMNS if n in ("opening", "closing") or any(row[n] for row in view.rows)]
