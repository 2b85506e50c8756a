"""Panels below a chart of runs, on its time axis: the EWMA with its widening limits, and the CUSUM."""

import math
from collections.abc import Callable
from datetime import datetime

from gaugebook.reports.page import figures
from gaugebook.reports.page.drawing import FAINT, INK, SOFT, Drawing, scale_over
from gaugebook.reports.trends.average_records import Average, Sums
from gaugebook.reports.trends.chart_averages import DECISION

_TINY = 6.5  # text size of what stands in rows [pt]
TimeScale = Callable[[datetime], float]  # where a time lies; NaN before the first run that is drawn


def average_panel(
    drawing: Drawing,
    average: Average,
    at: TimeScale,
    span: tuple[float, float],
    top: float,
    floor: float,
    decimals: int,
) -> None:
    """The averages, their limits and centre; those beyond a limit are larger dots."""
    places = [at(when) for when in average.when]
    shown = [n for n, x in enumerate(places) if not math.isnan(x)]
    kinds = (average.values, average.lower, average.upper)
    y = scale_over([values[n] for values in kinds for n in shown], floor - 2, top + 4)
    _frame(drawing, "EWMA", span, top, floor)
    limits = [(places[n], y(values[n])) for values in (average.lower, average.upper) for n in shown]
    middle = len(limits) // 2
    drawing.path([*limits[:middle], (math.nan, 0.0), *limits[middle:]], weight=0.6, dash="5,2.5")
    drawing.line(places[shown[0]], y(average.centre), span[1], y(average.centre), weight=0.6)
    drawing.path([(places[n], y(average.values[n])) for n in shown], ink=SOFT, weight=1.0)
    drawing.dots([(places[n], y(average.values[n])) for n in average.beyond if n >= shown[0]], 1.7)
    for value in (average.upper[shown[-1]], average.lower[shown[-1]]):
        drawing.text(span[1] + 8, y(value) + 2.2, figures.number(value, decimals), size=_TINY)


def sums_panel(
    drawing: Drawing, sums: Sums, at: TimeScale, span: tuple[float, float], top: float, floor: float
) -> None:
    """The sum of what lies above upwards and of what lies below downwards, with the decision values."""
    places = [at(when) for when in sums.when]
    shown = [n for n, x in enumerate(places) if not math.isnan(x)]
    low = [-value for value in sums.low]
    y = scale_over([DECISION, -DECISION, *(v for n in shown for v in (sums.high[n], low[n]))], floor - 2, top + 4)
    _frame(drawing, "CUSUM", span, top, floor)
    is_narrow = y(-DECISION) - y(DECISION) < 7
    if is_narrow:
        drawing.text(span[1] + 8, y(0.0) + 2.2, f"± h {DECISION:g}", size=_TINY)
    for value in (DECISION, -DECISION):
        drawing.line(places[shown[0]], y(value), span[1], y(value), weight=0.6, dash="5,2.5")
        if is_narrow:
            continue
        drawing.text(
            span[1] + 8, y(value) + 2.2, f"{'h' if value > 0 else '−h'} {figures.number(value, 0)}", size=_TINY
        )
    both = [[(places[n], y(side[n])) for n in shown] for side in (sums.high, low)]
    drawing.path([*both[0], (math.nan, 0.0), *both[1]], ink=INK, weight=0.9)


def _frame(drawing: Drawing, name: str, span: tuple[float, float], top: float, floor: float) -> None:
    drawing.line(span[0], top, span[1], top, ink=FAINT, weight=0.3)
    drawing.text(span[0] - 4, (top + floor) / 2 + 2.2, name, anchor="end", ink=SOFT, size=_TINY)
