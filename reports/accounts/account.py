"""The alcohol account of a month, or what each vessel held at a moment: gathered, summed, set as a document."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import polars as pl

from gaugebook.pipeline.book import register
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.engineering.us_gauging import proof_gallons_from_alcohol
from gaugebook.pipeline.house.settings import House
from gaugebook.reports.accounts.account_goods import goods_table
from gaugebook.reports.accounts.account_worst import by_sign, worst_first
from gaugebook.reports.accounts.declared import Declaration, declared
from gaugebook.reports.page import pages, wording
from gaugebook.reports.page.provenance import rule_files_sha256, software_version

HERE = Path(__file__).parent
MOST_CASKS = 10  # of one warehouse that are printed one by one; the attached table always has each
COLUMNS = (
    "opening", "inventory", "received", "produced", "returned", "came_back", "transferred", "used", "bottled",
    "dispatched", "sampled", "destroyed", "cask_loss", "cask_gain", "lost", "explained", "unexplained", "closing",
)  # fmt: skip
HEADS = {name: name for name in COLUMNS} | {  # of tables, in the words of the trade
    "inventory": "opening inventory", "returned": "emptied from bottles", "came_back": "came back",
    "cask_loss": "lost in casks", "cask_gain": "gained in casks", "lost": "leaked or spilt",
}  # fmt: skip
STATEMENT = (
    "What is declared, and how, is decided by the local excise rules and by the licensed person. This account adds up "
    "what was gauged; it is not a return."
)


@dataclass(frozen=True)
class Account:
    """One month: a row a place, their sums, the stocktake, and what needs a word."""

    house: House
    month: date
    rows: list[dict[str, Any]]
    total: dict[str, Decimal]
    dips: list[dict[str, Any]]
    runs: list[dict[str, Any]]
    notes: list[dict[str, Any]]
    checked: list[dict[str, Any]]
    gauges: list[dict[str, Any]]
    below_zero: list[dict[str, Any]]  # vessels as a whole (lot None), and lots in them
    by_sign: list[dict[str, Any]]  # of explained and unexplained entries, losses and gains apart
    apparent: list[dict[str, Any]]  # litres by strengths that are not true: apparent, estimated
    goods: list[dict[str, Any]]  # finished goods, a row a product and line
    counts: list[dict[str, Any]]  # bottles counted in the month against the book
    dated: datetime
    register_head: str | None  # hash of the last entry about the book itself; None where there is no register
    declared: Declaration | None = None  # what was declared of the month, and what has become known since

    @property
    def needs_attention(self) -> bool:
        return any(dip["finding"] not in ("agrees", "") for dip in self.dips) or bool(
            self.notes
            or self.apparent
            or any(count["difference"] for count in self.counts)
            or (self.declared and self.declared.changes)
        )


def gather_account(book: Book, house: House, month: date) -> Account:
    """The account of the month that begins on this day."""
    from gaugebook.reports.accounts.account_data import account_data

    _set_zone(book, house)
    rows = _query(book, "account_rows", month)
    casks = set(book.frame("SELECT DISTINCT cask FROM derived.cask_events")["cask"])
    dips = [dip for dip in stocktake(book, last_stocktake(book, month)) if dip["vessel"] not in casks]
    by_vessel: dict[str, list[dict[str, Any]]] = {}
    for dip in dips:
        by_vessel.setdefault(dip["vessel"], []).append(dip)
    for row in rows:
        row["dips"] = by_vessel.get(row["place"], []) if row["is_vessel"] else []
        row["dipped"] = _sum_where_all_dipped(row["dips"])
    head = register.state_head(book)
    last = last_entry(book, month)
    account = Account(
        house,
        month,
        rows,
        {name: sum((row[name] for row in rows), Decimal("0.00")) for name in COLUMNS},
        dips,
        _query(book, "account_runs", month),
        _query(book, "account_notes", month),
        _query(book, "account_checked", month),
        _query(book, "account_reconciled", month),
        _query(book, "account_below_zero", month),
        _query(book, "account_by_sign", month),
        _query(book, "account_apparent", month),
        _query(book, "account_goods", month),
        _query(book, "account_counts", month),
        last or datetime(month.year, month.month, 1),
        head.own_sha256 if head else None,
    )
    return replace(account, declared=declared(book, month, account_data(account)))


def last_stocktake(book: Book, month: date) -> date | None:
    """The last day of the month on which tanks were dipped, else casks gauged; by the house's calendar."""
    days = book.frame(
        """
        SELECT timezone(getvariable('house_zone'), timezone('UTC', gauged_at))::DATE AS on_day,
               vessel IN (FROM derived.casks) AS is_cask
        FROM derived.stock_gauges WHERE date_trunc('month', on_day)::DATE = ?
        ORDER BY is_cask, on_day DESC LIMIT 1
        """,
        [month],
    )["on_day"].to_list()
    return days[0] if days else None


def stocktake(book: Book, on: date | None) -> list[dict[str, Any]]:
    """The dips of a day against the book, each with its finding in words."""
    dips = _query(book, "account_dips", on)
    for dip in dips:
        dip["finding"] = finding(dip)
    return dips


def finding(dip: dict[str, Any]) -> str:
    """A dip against the book, in words: agrees, short, over, no dip, not computed.

    A lot that the stocktake does not list counts as dipped empty where the book holds no more than gauging leaves over.
    """
    if dip["dipped_at"] is None:
        return "agrees" if abs(float(dip["book_l"])) <= 2 * dip["u_book_l"] else "no dip"
    if dip["difference_l"] is None:
        return "not computed"
    if abs(dip["difference_l"]) <= 2 * (dip["u_difference_l"] or 0.0):
        return "agrees"
    return "short" if dip["difference_l"] < 0 else "over"


def least_agreeing(gauges: list[dict[str, Any]], most: int = 8) -> list[dict[str, Any]]:
    """The gauges called suspect, then those whose test comes nearest to its critical value."""
    suspect = [gauge for gauge in gauges if gauge["verdict"] == "suspect"]
    tested = [gauge for gauge in gauges if gauge["verdict"] == "agrees" and gauge["z"] is not None]
    tested.sort(key=lambda gauge: (-gauge["z"] / gauge["z_critical"], gauge["gauged_at"], gauge["lot"] or ""))
    return suspect + tested[: max(most - len(suspect), 0)]


def networks(gauges: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The connected networks that the gauges belong to, each with its global test."""
    by_network = {gauge["network"]: gauge for gauge in gauges if gauge["network"] is not None}
    return [by_network[number] for number in sorted(by_network)]


def undipped(dips: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Vessels of whose lots none was dipped: how many the book holds there, and how much."""
    vessels: dict[str, list[dict[str, Any]]] = {}
    for dip in dips:
        vessels.setdefault(dip["vessel"], []).append(dip)
    return [
        {"vessel": vessel, "lots": len(own), "book_l": sum(dip["book_l"] for dip in own)}
        for vessel, own in vessels.items()
        if all(dip["finding"] == "no dip" for dip in own)
    ]


def states(book: Book, house: House, moment: datetime) -> list[dict[str, Any]]:
    """What each vessel held at a moment (UTC), lot by lot."""
    _set_zone(book, house)
    return _query(book, "account_states", moment)


def last_entry(book: Book, month: date) -> datetime | None:
    """When the last entry up to the end of the month was booked, of bulk or bottles."""
    moment: datetime | None = book.value(
        "SELECT max(booked_at) FROM (SELECT booked_at, month FROM derived.account_entries "
        "UNION ALL SELECT booked_at, month FROM derived.goods_entries) WHERE month <= ?",
        [month],
    )
    return moment


def known_months(book: Book) -> list[date]:
    """Months in which bulk or bottles moved, so that there is an account of them."""
    months = book.frame(
        "SELECT month FROM derived.account_entries WHERE month IS NOT NULL "
        "UNION SELECT month FROM derived.goods_entries WHERE month IS NOT NULL ORDER BY month"
    )
    return months["month"].to_list()


def account_table(account: Account) -> pl.DataFrame:
    """The account as a table for spreadsheets, the sum in the last row."""
    rows = [
        {"place": row["place"], "kind": "vessel" if row["is_vessel"] else "at work", **{n: row[n] for n in COLUMNS}}
        for row in account.rows
    ]
    rows.append({"place": "all together", "kind": "sum", **account.total})
    table = pl.DataFrame(rows).with_columns(pl.col(COLUMNS).cast(pl.Decimal(18, 2)))
    table = table.rename({name: f"{name}_lpa" for name in COLUMNS})
    if not account.house.proof_gallons:
        return table
    return table.with_columns(
        pl.Series(f"{name}_proof_gallons", [float(round(proof_gallons(value), 2)) for value in table[f"{name}_lpa"]])
        for name in COLUMNS
    )


def proof_gallons(alcohol_l: Decimal | float) -> float:
    """Proof gallons of an entry, with its sign."""
    value = float(alcohol_l)
    return float(proof_gallons_from_alcohol(abs(value))) * (-1.0 if value < 0 else 1.0)


def columns_shown(account: Account) -> list[str]:
    """The columns; those that not every house has only where there is something in them."""
    rare = (
        "inventory", "returned", "came_back", "dispatched", "sampled", "destroyed", "cask_loss", "cask_gain", "lost",
    )  # fmt: skip
    return [name for name in COLUMNS if name not in rare or any(row[name] for row in account.rows)]


def folded(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The rows as they are printed: many casks of one warehouse are one row, after the other vessels.

    >>> row = {"is_vessel": True, "is_cask": True, "location": "W1"} | dict.fromkeys(COLUMNS, Decimal(2))
    >>> [(line["place"], line["closing"]) for line in folded([row | {"place": f"C{n}"} for n in range(11)])]
    [('11 casks, W1', Decimal('22'))]
    """
    warehouses: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        if row["is_cask"]:
            warehouses.setdefault(row["location"] or "place not recorded", []).append(row)
    many = {place: casks for place, casks in warehouses.items() if len(casks) > MOST_CASKS}
    of_many = {cask["place"] for casks in many.values() for cask in casks}
    sums = [
        {"place": f"{len(casks)} casks, {place}", "is_vessel": True}
        | {name: sum(cask[name] for cask in casks) for name in COLUMNS}
        for place, casks in sorted(many.items())
    ]
    return (
        [row for row in rows if row["is_vessel"] and row["place"] not in of_many]
        + sums
        + [row for row in rows if not row["is_vessel"]]
    )


def account_html(account: Account, data_sha256: str) -> str:
    """The account as one HTML page; it names the SHA-256 of the data attached to it."""
    return pages.html(
        "account.html.jinja",
        account.house.time_zone,
        account=account,
        worst=worst_first(account),
        explained=by_sign(account, "explained"),
        unexplained=by_sign(account, "unexplained"),
        house=account.house,
        month=f"{account.month:%Y-%m}",
        columns=columns_shown(account),
        heads=HEADS,
        goods=goods_table(account.goods),
        rows=folded(account.rows),
        total=account.total,
        dips=[dip for dip in account.dips if dip["dipped_at"] or dip["finding"] != "agrees"],
        undipped=undipped(account.dips),
        gauges=least_agreeing(account.gauges),
        networks=networks(account.gauges),
        in_proof_gallons=proof_gallons,
        same_value=float,
        statement=wording.unbroken(STATEMENT),
        sentence=wording.unbroken,
        software=software_version(),
        rule_book=rule_files_sha256(),
        data_sha256=data_sha256,
    )


def _query(book: Book, name: str, parameter: date | datetime | None) -> list[dict[str, Any]]:
    return book.frame((HERE / f"{name}.sql").read_text(encoding="utf-8"), [parameter]).to_dicts()


def _set_zone(book: Book, house: House) -> None:
    book.execute(f"SET VARIABLE house_zone = '{house.time_zone}'")  # a checked IANA name, so no quote can be in it


def _sum_where_all_dipped(dips: Iterable[dict[str, Any]]) -> float | None:
    values = [dip["dip_l"] for dip in dips]
    return sum(values) if values and all(value is not None for value in values) else None
