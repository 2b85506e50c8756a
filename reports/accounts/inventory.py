"""An inventory: the sheet to count with, and what was counted on a day against the book, with who counted."""

from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

import polars as pl

from gaugebook.pipeline.book import register
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.errors import UnknownRecord
from gaugebook.pipeline.house.settings import House
from gaugebook.reports.accounts.account import stocktake

HERE = Path(__file__).parent
CAUTION = (
    "Spirit vapour is highly flammable and collects in warehouses and above open casks: ventilate, keep out sources of "
    "ignition, and let an emptied cask air before a light comes near it. A full cask weighs several hundred kilograms: "
    "move and stack it with the equipment and the people that local codes and licensed practice ask for. Nobody enters "
    "a tank to gauge it."
)
STATEMENT = (
    "Who must count what, how often, and what a difference means for the duty is decided by the local excise rules and "
    "the licensed person. The book is not changed by a count."
)
BLANKS = {  # columns of the sheet to fill in, by the kind of container; names are those of an inventory record
    "tank": ("volume_at_t_l", "volume_temperature_c", "strength_reading", "reading_temperature_c"),
    "cask": ("gross_kg", "volume_at_t_l", "strength_reading"),
    "cased goods": ("pieces", "location"),
}


@dataclass(frozen=True)
class Inventory:
    """What was counted on a day: tanks by dips, casks one by one, bottles by lot."""

    house: House
    day: date
    tanks: list[dict[str, Any]]
    casks: list[dict[str, Any]]
    goods: list[dict[str, Any]]
    counted_by: list[str]
    unsigned: int  # rows of the count without a name
    without_lot: list[str]  # tanks counted without naming the lot: compared with nothing
    dated: datetime
    register_head: str | None

    @property
    def differs(self) -> bool:
        findings = [row["finding"] for row in (*self.tanks, *self.casks, *self.goods)]
        return bool(self.unsigned or self.without_lot) or any(word not in ("agrees", "found") for word in findings)


def to_count(book: Book, house: House, moment: datetime) -> list[dict[str, Any]]:
    """What the book holds at a moment (UTC), a row a tank and lot, cask and lot of bottles; not how much, so that
    what is written on the sheet was counted."""
    book.execute(f"SET VARIABLE house_zone = '{house.time_zone}'")
    return book.frame((HERE / "inventory_sheet.sql").read_text(encoding="utf-8"), [moment]).to_dicts()


def sheet_table(rows: list[dict[str, Any]]) -> pl.DataFrame:
    """The sheet as a table that can be filled in and received: columns are those of an inventory record."""
    names = dict.fromkeys(name for blanks in BLANKS.values() for name in blanks)
    blank = dict.fromkeys(("counted_at", *(name for name in names if name != "location"), "counted_by"), "")
    filled = [
        {name: row[name] or "" for name in ("container", "vessel", "lot", "what", "location")} | blank for row in rows
    ]
    columns = ["counted_at", "container", "vessel", "lot", "what", "location", *(n for n in names if n != "location")]
    return pl.DataFrame(filled, schema=dict.fromkeys([*columns, "counted_by"], pl.String))


def gather_inventory(book: Book, house: House, day: date) -> Inventory:
    """What was counted on a day of the house's calendar against the book.

    Raises
    ------
    UnknownRecord
        If nothing was counted or dipped on that day.
    """
    book.execute(f"SET VARIABLE house_zone = '{house.time_zone}'")
    casks = [row | {"finding": _cask_finding(row)} for row in _query(book, "inventory_casks", day)]
    of_casks = {row["cask"] for row in casks} | set(_column(book, "SELECT cask FROM typed.casks"))
    dips = [dip for dip in stocktake(book, day) if dip["dipped_at"] or dip["vessel"] not in of_casks]
    gauged = {dip["vessel"]: dip for dip in dips if dip["vessel"] in of_casks}
    casks = [row | {"dip": gauged.get(row["cask"])} for row in casks]
    goods = [row | {"finding": _goods_finding(row)} for row in _query(book, "inventory_goods", day)]
    rows = book.frame(
        """
        SELECT container, vessel, lot, counted_by, counted_at FROM typed.inventory
        WHERE timezone(getvariable('house_zone'), timezone('UTC', counted_at))::DATE = ? ORDER BY ALL
        """,
        [day],
    )
    tanks = [dip for dip in dips if dip["vessel"] not in of_casks]
    if rows.is_empty() and not any(dip["dipped_at"] for dip in dips):
        days = _column(
            book,
            "SELECT DISTINCT strftime(timezone(getvariable('house_zone'), timezone('UTC', counted_at)), '%Y-%m-%d') "
            "FROM typed.inventory ORDER BY 1",
        )
        known = f"counts are of {', '.join(days[-5:])}" if days else "no count is on record"
        raise UnknownRecord(f"Nothing was counted on {day}; {known}.")
    moments = [*rows["counted_at"].to_list(), *(dip["dipped_at"] for dip in dips if dip["dipped_at"])]
    head = register.state_head(book)
    return Inventory(
        house=house, day=day, tanks=tanks, casks=casks, goods=goods,
        counted_by=sorted(rows["counted_by"].drop_nulls().unique().to_list()),
        unsigned=rows["counted_by"].null_count(),
        without_lot=rows.filter(container="tank").filter(pl.col("lot").is_null())["vessel"].to_list(),
        dated=max(moments), register_head=head.own_sha256 if head else None,
    )  # fmt: skip


def _cask_finding(row: dict[str, Any]) -> str:
    if row["pieces"] and row["book_pieces"]:
        return "found"
    return "not in the book" if row["pieces"] else "not found"


def _goods_finding(row: dict[str, Any]) -> str:
    if not row["difference"]:
        return "agrees"
    return "short" if row["difference"] < 0 else "over"


def _query(book: Book, name: str, day: date) -> list[dict[str, Any]]:
    return book.frame((HERE / f"{name}.sql").read_text(encoding="utf-8"), [day]).to_dicts()


def _column(book: Book, sql: str) -> list[Any]:
    return book.frame(sql).to_series().to_list()
