"""The page of the stock in casks: its charts, its table and what they say in words."""

from dataclasses import dataclass

from markupsafe import Markup

from gaugebook.reports.page import figures
from gaugebook.reports.page.wording import plural
from gaugebook.reports.trends.stock_charts import profile_chart, stock_chart
from gaugebook.reports.warehouse.levels import Held
from gaugebook.reports.warehouse.stock import StockMonth, age_name

_MOST_MONTHS = 60  # drawn


@dataclass(frozen=True)
class StockPage:
    """What is drawn, what is said beside it, and the rows of the table: age, and what is held of it."""

    lead: str
    charts: tuple[Markup, Markup]
    facts: tuple[str, ...]
    rows: tuple[tuple[str, Held], ...]


def stock_page(stock: tuple[StockMonth, ...]) -> StockPage | None:
    """The page of the newest month; None for a house without casks."""
    if not stock:
        return None
    now = stock[-1]
    before = next((month for month in stock if month.month == now.month.replace(year=now.month.year - 1)), None)
    rows = [(age_name(years), held) for years, held in now.ages]
    return StockPage(
        lead=describe_stock(now),
        charts=(profile_chart(now, before), stock_chart(stock[-_MOST_MONTHS:])),
        facts=_facts(now, before),
        rows=(*rows, ("all", now.total)),
    )


def describe_stock(stock: StockMonth) -> str:
    """Casks and LPA, by the book and foretold.

    Examples
    --------
    >>> from datetime import date, datetime
    >>> held = Held(3, 0, 320.0, 0.5, 300.0, 1.0, 2)
    >>> describe_stock(StockMonth(date(2031, 5, 1), datetime(2031, 5, 31), date(2031, 5, 31), held, ()))
    '3 casks on 2031-05-31: 320.0 ± 1.0 LPA by the book, 300.0 ± 2.0 LPA predicted'
    """
    total = stock.total
    book, predicted = (
        figures.stated(value, u, "LPA")
        for value, u in ((total.book_l, total.u_book_l), (total.expected_l, total.u_expected_l))
    )
    return f"{plural(total.casks, 'cask')} on {stock.as_of_day}: {book} by the book, {predicted} predicted"


def describe_unknown(total: Held) -> str:
    """Casks that stand in no sum; "" where there is none."""
    if not total.not_known:
        return ""
    it_stands = "it stands" if total.not_known == 1 else "they stand"
    return (
        f"Of {plural(total.not_known, 'cask')} what is left is not known, since a gauge is missing or more was drawn "
        f"than was there: {it_stands} in no sum."
    )


def _facts(now: StockMonth, before: StockMonth | None) -> tuple[str, ...]:
    total = now.total
    by_like = (
        f"; {plural(total.foretold, 'cask')} never gauged since filling by the rate of casks like "
        f"{'it' if total.foretold == 1 else 'them'}"
        if total.foretold
        else ""
    )
    facts = [
        "By the book: the last gauge of each cask, and what went in and out since. Predicted: less what evaporated "
        f"since then, by the cask's own rate{by_like}. ± is U; errors that gauges or casks share are added up before "
        "they are squared.",
        describe_unknown(total),
        "Age: completed years of the youngest spirit in a cask, as the record has it today: one topped with younger "
        "spirit counts by that, in earlier months too.",
    ]
    if before is not None:
        facts.append(f"A year before: {describe_stock(before)}.")
    return tuple(filter(None, facts))
