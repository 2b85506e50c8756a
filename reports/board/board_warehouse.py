"""The warehouse as plain data: what lies where, how old it is, and which casks lose otherwise than casks like them."""

from collections.abc import Iterable
from datetime import date
from itertools import groupby
from typing import Any

from gaugebook.pipeline.engineering.age import age_after
from gaugebook.pipeline.exported import exported
from gaugebook.reports.page import figures
from gaugebook.reports.page.pages import file_name
from gaugebook.reports.trends.stock_page import describe_stock, describe_unknown
from gaugebook.reports.warehouse.levels import Held
from gaugebook.reports.warehouse.places import Place, Warehouse, in_order
from gaugebook.reports.warehouse.stock import StockMonth, age_name

Plain = dict[str, Any]
DRAWN = ("ages", "months")  # what the scripts draw; the tables stand in the page


def warehouse_data(warehouse: Warehouse | None, stock: tuple[StockMonth, ...], zone: str) -> Plain | None:
    """Tables and what is drawn of them; None for a house without casks."""
    if warehouse is None or not stock:
        return None
    now, on = stock[-1], figures.local_day(warehouse.as_of, zone)
    casks = [_cask(row, on, zone) for row in warehouse.casks]
    return {
        "as_of": figures.day(warehouse.as_of, zone),
        "lead": describe_stock(now),
        "unknown": describe_unknown(now.total),
        "places": [_place(place, on, zone) for place in warehouse.places if len(place.parts) == 1],
        "racks": _racks(warehouse.places),
        "outside": [cask for cask in casks if cask["outside"]],
        "casks": casks,
        "ages": _ages(stock),
        "months": [_month(month) for month in stock],
    }


def drawn(data: Plain) -> Plain:
    """The data of a page without what only its tables show."""
    whole = data["warehouse"]
    return data | {"warehouse": whole and {name: whole[name] for name in DRAWN}}


def _place(place: Place, on: date, zone: str) -> Plain:
    return {
        "name": place.parts[-1],
        "casks": place.held.casks,
        **_litres(place.held),
        "oldest": _aged(place.oldest, on),
        "youngest": _aged(place.youngest, on),
        "longest": f"{figures.day(place.longest[0], zone)} ({place.longest[1]})",
    }


def _litres(held: Held) -> Plain:
    return {
        "book": figures.stated(held.book_l, held.u_book_l, "LPA"),
        "predicted": figures.stated(held.expected_l, held.u_expected_l, "LPA"),
        "unknown": held.not_known,
    }


def _aged(since: tuple[date, str] | None, on: date) -> str:
    return f"{_age(since[0], on)} ({since[1]})" if since else figures.MISSING


def _age(since: date | None, on: date) -> str:
    """Years, months and days.

    >>> _age(date(2027, 2, 28), date(2031, 3, 1)), _age(None, date(2031, 3, 1))
    ('4 y 0 m 1 d', '–')
    """
    if since is None:
        return figures.MISSING
    age = age_after(max((on - since).days, 0), on)
    return f"{age.years} y {age.months} m {age.days} d"


def _racks(places: Iterable[Place]) -> list[Plain]:
    """Of each warehouse whose places tell more: its rows down and its tiers across, with casks and LPA of each."""
    racks = []
    for name, own in groupby(places, key=lambda place: place.parts[0]):
        inside = [place for place in own if len(place.parts) > 1]
        rows = [place for place in inside if len(place.parts) == 2]
        tiers = sorted({place.parts[2] for place in inside if len(place.parts) == 3}, key=in_order)
        held = {place.parts[1:]: place.held for place in inside}
        if rows:
            racks.append({
                "warehouse": name, "tiers": tiers,
                "rows": [
                    [row.parts[1], row.held.casks, figures.stated(row.held.expected_l, row.held.u_expected_l, "LPA"),
                     [held[row.parts[1], tier].casks if (row.parts[1], tier) in held else 0 for tier in tiers]]
                    for row in rows
                ],
            })  # fmt: skip
    return racks


def _cask(row: dict[str, Any], on: date, zone: str) -> Plain:
    size = f"{figures.number(row['nominal_l'])} L" if row["nominal_l"] else ""
    spread = ((row["u_usual_per_year"] or 0.0) ** 2 + (row["scatter_per_year"] or 0.0) ** 2) ** 0.5
    return {
        "cask": row["cask"],
        "contents": row["contents"],
        "slug": file_name(row["contents"]),
        "place": ", ".join(filter(None, (row["place"][0], row["position"]))),
        "warehouse": row["place"][0],
        "made_of": ", ".join(filter(None, (size, row["wood"], row["treatment"]))) or figures.MISSING,
        "filled": figures.day(row["filled_at"], zone),
        "age": _age(row["aged_from"], on),
        "book": figures.stated(row["gauged_l"], row["u_gauged_l"], "LPA"),
        "predicted": figures.stated(row["expected_l"], row["u_expected_l"], "LPA"),
        "by": "not known" if row["expected_l"] is None else row["expected_by"],
        "gauged": figures.day(row["gauged_at"], zone),
        "rate": figures.percent(row["per_year"], row["u_per_year"]),
        "usual": figures.percent(row["usual_per_year"], spread)
        if row["usual_per_year"] is not None
        else figures.MISSING,
        "like_it": row["like_it"] or "",
        "outside": row["is_outlier"] and ("loses more" if row["per_year"] > row["usual_per_year"] else "loses less"),
        "flag": row["flag"] or "",
    }


def _ages(stock: tuple[StockMonth, ...]) -> list[list[Any]]:
    """Of each class of ages: its name, casks, LPA by book, predicted, U, a year before; and both in words."""
    now = stock[-1]
    before = next((m for m in stock if m.month == now.month.replace(year=now.month.year - 1)), None)
    earlier = dict(before.ages) if before else {}
    rows = []
    for years, held in now.ages:
        was = earlier.get(years)
        litres = _litres(held)
        rows.append([
            age_name(years), held.casks, _number(held.book_l), _number(held.expected_l), _number(2 * held.u_expected_l),
            _number(was.expected_l) if was else None, litres["book"], litres["predicted"],
            figures.stated(was.expected_l, was.u_expected_l, "LPA") if was else figures.MISSING,
        ])  # fmt: skip
    return rows


def _month(month: StockMonth) -> list[Any]:
    """Month, casks, LPA by book, predicted, U, and both in words."""
    litres = _litres(month.total)
    return [f"{month.month:%Y-%m}", month.total.casks, _number(month.total.book_l), _number(month.total.expected_l),
            _number(2 * month.total.u_expected_l), litres["book"], litres["predicted"]]  # fmt: skip


def _number(value: float) -> float:
    return exported(round(value, 3))
