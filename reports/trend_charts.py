"""The two charts of a trend page: run by run with limits, and month by month."""

import math
from datetime import date

from markupsafe import Markup

from reports import figures
from reports.drawing import FAINT, INK, SMALL, SOFT, Drawing, Scale, scale_over, tick_label
from reports.months import Month, Point, Series

_LEFT, _RIGHT = 42.0, 66.0
_GROUP_SHAPES = (("dot", False), ("square", True), ("diamond", False), ("triangle", True))


def individuals_chart(series: Series, zone: str, width: float = 728.0, height: float = 214.0) -> Markup:
    """Runs in order; limits where the series has them, else one shape a still."""
    drawing = Drawing(width, height, f"{series.title}, run by run")
    points, limits = series.points, series.limits
    around = [limits.lower, limits.upper] if limits else []
    y = scale_over([*(point.value for point in points), *around], height - 24, 10)
    x = Scale(-0.8, len(points) - 0.2, _LEFT, width - _RIGHT)
    _value_axis(drawing, y, x, series.unit)
    _month_starts(drawing, points, x, height - 24, zone)
    if limits:
        for value, name, dash in (
            (limits.upper, "upper limit", "5,2.5"),
            (limits.centre, "mean", ""),
            (limits.lower, "lower limit", "5,2.5"),
        ):
            drawing.line(x.start, y(value), x.end, y(value), weight=0.7, dash=dash)
            drawing.text(x.end + 4, y(value) + 2.4, f"{name} {figures.number(value, 1)}")
        drawing.path(((x(n), y(point.value)) for n, point in enumerate(points)), ink=SOFT, weight=0.5)
    shapes = _shapes(points)
    for n, point in enumerate(points):
        _point(drawing, point, x(n), y(point.value), shapes if series.together else {})
    if series.together:
        _key(drawing, shapes, x.end + 10)
    return drawing.svg()


def months_chart(months: tuple[Month, ...], unit: str, width: float = 728.0, height: float = 120.0) -> Markup:
    """Ratios of sums with their expanded uncertainty, and the number of runs under each month; gaps stay gaps."""
    drawing = Drawing(width, height, "Month by month")
    axis = _calendar(months)
    known = [month for month in months if month.runs]
    reach = [month.value + side * _expanded(month) for month in known for side in (-1, 1)]
    y = scale_over(reach, height - 32, 8)
    x = Scale(-0.6, len(axis) - 0.4, _LEFT, width - _RIGHT)
    _value_axis(drawing, y, x, unit)
    at = {first_day: x(n) for n, first_day in enumerate(axis)}
    held = {month.month: month for month in known}
    drawing.path(((at[day], y(held[day].value) if day in held else math.nan) for day in axis), ink=SOFT, weight=0.6)
    for month in known:
        place, reach_of_u = at[month.month], _expanded(month)
        if reach_of_u:
            drawing.line(place, y(month.value - reach_of_u), place, y(month.value + reach_of_u), weight=0.8)
        drawing.mark("square", place, y(month.value), 2.2, hollow=month.runs < 3)
    for n, day in enumerate(axis):
        name = f"{day:%Y-%m}" if n == 0 or day.month == 1 or len(axis) <= 14 else f"{day:%m}"
        drawing.text(at[day], height - 20, name, anchor="middle", ink=SOFT, size=6.5)
        runs = held[day].runs if day in held else 0
        drawing.text(at[day], height - 10, str(runs), anchor="middle", size=6.5)
    drawing.text(x.end + 4, height - 10, "runs")
    return drawing.svg()


def _expanded(month: Month) -> float:
    """U of a month's figure; 0 where too few runs show a scatter."""
    return 0.0 if math.isnan(month.u) else figures.COVERAGE * month.u


def _point(drawing: Drawing, point: Point, x: float, y: float, shapes: dict[str, tuple[str, bool]]) -> None:
    if point.beyond:
        drawing.mark("diamond", x, y, 3.0)
    elif point.in_row:
        drawing.mark("triangle", x, y, 2.5)
    elif shapes:
        shape, hollow = shapes[point.group]
        drawing.mark(shape, x, y, 1.9, hollow=hollow)
    else:
        drawing.mark("dot", x, y, 1.7, hollow=point.in_baseline)


def _shapes(points: tuple[Point, ...]) -> dict[str, tuple[str, bool]]:
    groups = sorted({point.group for point in points})
    return {group: _GROUP_SHAPES[n % len(_GROUP_SHAPES)] for n, group in enumerate(groups)}


def _key(drawing: Drawing, shapes: dict[str, tuple[str, bool]], x: float) -> None:
    for n, (group, (shape, hollow)) in enumerate(shapes.items()):
        drawing.mark(shape, x, 16 + 11 * n, 2.2, hollow=hollow)
        drawing.text(x + 7, 18.4 + 11 * n, group, widest=48)


def _value_axis(drawing: Drawing, y: Scale, x: Scale, unit: str) -> None:
    for tick in (ticks := y.ticks(5)):
        drawing.line(x.start, y(tick), x.end, y(tick), ink=FAINT, weight=0.3)
        drawing.text(x.start - 4, y(tick) + 2.4, tick_label(tick, ticks), anchor="end", ink=SOFT)
    drawing.text(9, (y.start + y.end) / 2, unit, anchor="middle", ink=SOFT, turned=True)


def _month_starts(drawing: Drawing, points: tuple[Point, ...], x: Scale, floor: float, zone: str) -> None:
    """A tick before the first run of each month, named where there is room."""
    last_named = -1e9
    before = None
    drawing.line(x.start, floor, x.end, floor, ink=SOFT)
    for n, point in enumerate(points):
        month = figures.local_month(point.ended_at, zone)
        if month != before:
            place = x(n - 0.5)
            drawing.line(place, floor, place, floor + 4, ink=INK)
            if place - last_named > 34:
                drawing.text(place + 2, floor + 10, f"{month:%Y-%m}", ink=SOFT, size=SMALL)
                last_named = place
        before = month


def _calendar(months: tuple[Month, ...]) -> list[date]:
    """Every month from the first to the last, those without runs too."""
    if not months:
        return []
    axis = [months[0].month]
    while axis[-1] < months[-1].month:
        year, month = axis[-1].year, axis[-1].month
        axis.append(date(year + month // 12, month % 12 + 1, 1))
    return axis
