"""Charts of amounts: what lies in casks by age and month by month, and sums of months as bars from nothing."""

import math
from collections.abc import Sequence

from markupsafe import Markup

from gaugebook.reports.page import figures
from gaugebook.reports.page.drawing import FAINT, INK, SOFT, Drawing, Scale, tick_label
from gaugebook.reports.trends.measures import Month
from gaugebook.reports.trends.trend_charts import calendar
from gaugebook.reports.warehouse.stock import StockMonth, age_name

_LEFT, _RIGHT, _TINY = 40.0, 8.0, 6.5
_FILL, _MOST_NAMES = "#b4b4b4", 8
_QUARTERS = {4: "Apr", 7: "Jul", 10: "Oct"}


def profile_chart(stock: StockMonth, before: StockMonth | None, width: float = 486.0, height: float = 150.0) -> Markup:
    """LPA in casks by completed years: bars of what should be left, ± U; the book as lines; open dots a year before."""
    ages = [years for years, _ in stock.ages]
    earlier = dict(before.ages) if before else {}
    classes = list(dict.fromkeys([*ages, *earlier]))
    classes.sort(key=lambda years: math.inf if years is None else years)
    now = dict(stock.ages)
    top = max([held.book_l for held in (*now.values(), *earlier.values())] + [1.0])
    drawing = Drawing(width, height, _profile_words(stock))
    foot = height - 30
    y, x = Scale(0.0, 1.08 * top, foot, 14), Scale(-0.5, len(classes) - 0.5, _LEFT, width - _RIGHT)
    drawing.text(0, 7, f"By age, {stock.as_of_day}", bold=True)
    _amount_axis(drawing, y, (x.start, x.end), "LPA")
    wide = min(0.62 * (x(1.0) - x(0.0)), 30.0)
    for place, years in enumerate(classes):
        across = x(place)
        if years in now:
            held = now[years]
            drawing.box(across - wide / 2, y(held.expected_l), wide, foot - y(held.expected_l), fill=_FILL)
            drawing.line(across - wide / 2 - 2, y(held.book_l), across + wide / 2 + 2, y(held.book_l), weight=0.9)
            reach = figures.COVERAGE * held.u_expected_l
            drawing.line(across, y(held.expected_l - reach), across, y(held.expected_l + reach), weight=1.4)
            drawing.text(across, foot + 19, f"n {held.casks}", anchor="middle", ink=SOFT, size=_TINY)
        if years in earlier:
            aside = min(wide / 2 + 5, (x(1.0) - x(0.0)) / 2 - 2)
            drawing.mark("dot", across + aside, y(earlier[years].expected_l), 1.8, hollow=True)
        drawing.text(across, foot + 10, age_name(years), anchor="middle", size=_TINY)
    drawing.line(x.start, foot, x.end, foot, ink=SOFT)
    return drawing.svg()


def _profile_words(stock: StockMonth) -> str:
    parts = [f"{age_name(years)}: {figures.stated(held.expected_l, held.u_expected_l, 'LPA')}" for years, held in
             stock.ages]  # fmt: skip
    return f"LPA in casks by completed years, {stock.as_of_day}. {'; '.join(parts)}."


def stock_chart(months: Sequence[StockMonth], width: float = 486.0, height: float = 120.0) -> Markup:
    """Month by month what should be in casks: in all, and of each age or older; dashed, all by the book."""
    drawing = Drawing(width, height, _stock_words(months))
    foot = height - 16
    y = Scale(0.0, 1.06 * max(month.total.book_l for month in months) or 1.0, foot, 14)
    x = Scale(-0.4, max(len(months) - 0.6, 0.4), _LEFT, width - 62)
    drawing.text(0, 7, "Month by month: of each age or older", bold=True)
    _amount_axis(drawing, y, (x.start, x.end), "LPA")
    drawing.path([(x(n), y(month.total.book_l)) for n, month in enumerate(months)], weight=0.7, dash="3,2")
    whiskers = []
    for n, month in enumerate(months):
        reach = figures.COVERAGE * month.total.u_expected_l
        whiskers += [
            (x(n), y(month.total.expected_l - reach)),
            (x(n), y(month.total.expected_l + reach)),
            (math.nan, 0.0),
        ]
    drawing.path(whiskers, weight=1.2)
    oldest = max((years for month in months for years, _ in month.ages if years is not None), default=0)
    lines = [("all", [month.total.expected_l for month in months])]
    lines += [(f"{age}+", [month.at_least(age) for month in months]) for age in range(1, oldest + 1)]
    named: list[float] = []
    for number, (name, values) in enumerate(lines):
        places = [(x(n), y(value)) for n, value in enumerate(values)]
        drawing.path(places, ink=INK if number == 0 else SOFT, weight=1.1 if number == 0 else 0.7)
        if len(months) == 1:
            drawing.dots(places, 1.4)
        at = places[-1][1] + 2.2
        if len(named) < _MOST_NAMES and all(abs(at - other) >= 6.5 for other in named):
            drawing.text(x.end + 4, at, f"{name} years" if number else "all", size=_TINY)
            named.append(at)
    for n, month in enumerate(months):
        if month.month.month == 1 or (n == 0 and len(months) < 12):
            drawing.text(x(n), height - 7, f"{month.month:%Y}", anchor="middle", ink=SOFT, size=_TINY)
        elif len(months) <= 26 and month.month.month in _QUARTERS:
            drawing.text(x(n), height - 7, _QUARTERS[month.month.month], anchor="middle", ink=SOFT, size=_TINY)
    return drawing.svg()


def _stock_words(months: Sequence[StockMonth]) -> str:
    first, last = months[0], months[-1]
    return f"LPA in casks by month: {_predicted(first)} on {first.as_of_day}, {_predicted(last)} on {last.as_of_day}."


def _predicted(month: StockMonth) -> str:
    return figures.stated(month.total.expected_l, month.total.u_expected_l, "LPA")


def amounts_chart(months: tuple[Month, ...], name: str, unit: str, width: float, height: float = 104.0) -> Markup:
    """Sums of months as bars from nothing; a month without stays empty."""
    drawing = Drawing(width, height, f"{name}, sums of months")
    axis = calendar(months)
    known = {month.month: month.value for month in months if month.runs}
    foot = height - 20
    y = Scale(0.0, 1.06 * max(known.values(), default=0.0) or 1.0, foot, 14)
    x = Scale(-0.6, len(axis) - 0.4, _LEFT, width - 8)
    drawing.text(0, 7, name, bold=True, widest=width)
    _amount_axis(drawing, y, (x.start, x.end), unit)
    wide = max(0.6 * (x(1.0) - x(0.0)), 0.5)
    for n, day in enumerate(axis):
        if day in known:
            drawing.box(x(n) - wide / 2, y(known[day]), wide, foot - y(known[day]), fill=SOFT)
        if day.month == 1:
            drawing.text(x(n), height - 8, f"{day:%Y}", size=_TINY, anchor="middle", ink=SOFT)
        elif len(axis) <= 26 and day.month in _QUARTERS:
            drawing.text(x(n), height - 8, _QUARTERS[day.month], size=_TINY, anchor="middle", ink=SOFT)
    return drawing.svg()


def _amount_axis(drawing: Drawing, y: Scale, across: tuple[float, float], unit: str) -> None:
    ticks = y.ticks(4)
    for tick in ticks:
        drawing.line(across[0], y(tick), across[1], y(tick), ink=FAINT, weight=0.3)
        drawing.text(across[0] - 4, y(tick) + 2.2, tick_label(tick, ticks), anchor="end", ink=SOFT, size=_TINY)
    drawing.text(6, (y.start + y.end) / 2, unit, anchor="middle", ink=SOFT, turned=True, size=_TINY)
