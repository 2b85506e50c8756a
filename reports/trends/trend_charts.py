"""The charts of the trends: run by run with frozen limits, month by month, and the years laid over each other."""

import math
from datetime import date, datetime, timedelta

from markupsafe import Markup

from gaugebook.reports.page import figures
from gaugebook.reports.page.drawing import FAINT, INK, SOFT, WASH, Drawing, Scale, scale_over, tick_label
from gaugebook.reports.trends.measures import FEW, Chart, Finding, Limits, Month, Point
from gaugebook.reports.trends.panels import average_panel, sums_panel

_LEFT, _RIGHT = 40.0, 62.0
_TINY = 6.5  # text size of what stands in rows [pt]
_PANEL, _PANEL_SHARE = 58.0, 0.38  # height of a panel below a chart: at most [pt], of the whole [-]
WINDOW = timedelta(days=400)  # of runs drawn one by one, where there are more than
_MOST_RUNS = 300
_QUARTERS = {1: "Jan", 4: "Apr", 7: "Jul", 10: "Oct"}
_TICKS = ((1, 1200.0), (12, 12_000.0), (120, math.inf))  # months between ticks, up to so many days
_FAR, _MOST_FAR, _NEAR = 8.0, 2, 4.0  # runs so many standard deviations off, no more, are drawn at the edge if all
# others are within the last number


def newest(points: tuple[Point, ...]) -> tuple[Point, ...]:
    """The runs that are drawn one by one: all where they are not too many, else those of thirteen months."""
    if len(points) <= _MOST_RUNS:
        return points
    return tuple(point for point in points if point.when > points[-1].when - WINDOW)


def runs_chart(
    chart: Chart, findings: list[Finding], zone: str, width: float = 486.0, height: float = 120.0, *,
    scale: tuple[float, float] | None = None,
) -> Markup:  # fmt: skip
    """Runs against time, limits and baseline, changed stretches shaded, signals by shape."""
    drawing = Drawing(width, height, f"{chart.title}, run by run")
    points = newest(chart.points)
    floor = height - 16
    panels = (chart.average is not None) + (chart.sums is not None)
    panel = min(_PANEL, height * _PANEL_SHARE)
    bottom = floor - panels * panel  # of the runs
    x = _time_scale(points, width)
    y = scale_over(scale or span_of(chart), bottom - 4, 14)
    drawing.text(0, 7, _heading(chart), bold=True, widest=width - _RIGHT)
    for finding in findings:
        _stretch(drawing, finding, points, x, 12, floor)
    _value_axis(drawing, y, x, chart.measure.unit, about=5 if bottom > 90 else 3)
    _calendar_axis(drawing, points, x, floor, zone)
    for limits, start, end in _eras(chart, points):
        _limit_lines(drawing, chart, limits, x(_days(start, points)), x(_days(end, points)), y)
    off = far_out(chart)
    places = [(x(_days(point.when, points)), min(max(y(point.value), 12), bottom - 3)) for point in points]
    for point, (across, up) in zip(points, places, strict=True):
        if point in off:
            value = figures.number(point.value, chart.measure.decimals)
            drawing.text(across - 5, up + (3 if up > 20 else 5), value, size=_TINY, anchor="end")
    if len(points) <= 120 and len({point.value for point in points}) > 2:  # a line between yes and no says nothing
        drawing.path(places, ink=FAINT, weight=0.5)
    _predictions(drawing, points, [place[0] for place in places], y)
    _points(drawing, points, places)

    def at(when: datetime) -> float:
        return x(_days(when, points)) if when >= points[0].when else math.nan

    if chart.average is not None:
        average_panel(drawing, chart.average, at, (x.start, x.end), bottom, bottom + panel, chart.measure.decimals)
        bottom += panel
    if chart.sums is not None:
        sums_panel(drawing, chart.sums, at, (x.start, x.end), bottom, floor)
    return drawing.svg()


def _heading(chart: Chart) -> str:
    """The group, or where there is but one chart what it shows."""
    kind, size = (chart.limits.kind, chart.limits.size) if chart.limits else ("", 0)
    if kind == "means":
        return f"{chart.title}: X-bar, mean of each sample (about {size} bottles)"
    if kind == "spreads":
        return f"{chart.title}: s, standard deviation within each sample (about {size} bottles)"
    return chart.group or chart.measure.name


def _predictions(drawing: Drawing, points: tuple[Point, ...], across: list[float], y: Scale) -> None:
    """What was predicted of each run, as a stepped dotted line: it changes with the lot, not from run to run."""
    if all(math.isnan(point.predicted) for point in points):
        return
    steps = []
    for n, point in enumerate(points):
        value = math.nan if math.isnan(point.predicted) else y(point.predicted)
        left = (across[n] + across[n - 1]) / 2 if n else across[n]
        right = (across[n] + across[n + 1]) / 2 if n + 1 < len(points) else across[n]
        steps += [(left, value), (right, value)]
    drawing.path(steps, weight=0.8, dash="1.2,1.6")
    last = next(point.predicted for point in reversed(points) if not math.isnan(point.predicted))
    drawing.text(across[-1] + 8, y(last) + 2.2, "predicted", size=_TINY)


def span_of(chart: Chart) -> tuple[float, float]:
    """Least and greatest that a chart of runs must show."""
    shown, off = newest(chart.points), far_out(chart)
    values = [point.value for point in shown if point not in off]
    values += [point.predicted for point in shown if not math.isnan(point.predicted)]
    if chart.limits:
        values += [chart.limits.lower, chart.limits.upper]
    return min(values), max(values)


def far_out(chart: Chart) -> tuple[Point, ...]:
    """One or two runs so far off that a scale with them would flatten all others; more of them are no accident."""
    if chart.limits is None:
        return ()
    centre, sd = chart.limits.centre, chart.limits.sd
    farthest_first = sorted(newest(chart.points), key=lambda point: -abs(point.value - centre))
    off = [point for point in farthest_first[:_MOST_FAR] if abs(point.value - centre) > _FAR * sd]
    rest = max((abs(point.value - centre) for point in farthest_first[len(off) :]), default=0.0)
    return tuple(off) if rest <= _NEAR * sd else ()


def months_chart(
    months: tuple[Month, ...],
    name: str,
    unit: str,
    width: float = 245.0,
    height: float = 104.0,
    bounds: tuple[float, float] = (-math.inf, math.inf),
) -> Markup:
    """Ratios of sums with twice their standard error and the runs where there are few; a gap without any.

    `bounds` are values that cannot be passed, as by a share.
    """

    def reached(month: Month, side: int) -> float:
        return min(max(month.value + side * expanded(month), bounds[0]), bounds[1])

    drawing = Drawing(width, height, f"{name}, month by month")
    axis = calendar(months)
    known = {month.month: month for month in months if month.runs}
    y = scale_over([reached(m, side) for m in known.values() for side in (-1, 1)], height - 26, 14)
    x = Scale(-0.6, len(axis) - 0.4, _LEFT, width - 8)
    drawing.text(0, 7, name, bold=True, widest=width)
    _value_axis(drawing, y, x, unit, about=4)
    at = {day: x(n) for n, day in enumerate(axis)}
    drawing.path(((at[d], y(known[d].value) if d in known else math.nan) for d in axis), ink=SOFT, weight=0.6)
    crowded = len(axis) > 26
    size = 1.1 if crowded else 1.9
    ends = [(at[day], [y(reached(m, side)) for side in (-1, 1)]) for day, m in known.items()]
    whiskers = [(x, up) for x, (low, high) in ends for up in (low, high, math.nan)]
    drawing.path(whiskers, weight=0.6)
    for day, month in known.items():
        if month.runs < FEW:
            drawing.mark("square", at[day], y(month.value), size, hollow=True)
            if not crowded:
                drawing.text(at[day], height - 6, str(month.runs), anchor="middle", size=_TINY)
    drawing.dots([(at[day], y(month.value)) for day, month in known.items() if month.runs >= FEW], size)
    _month_names(drawing, axis, at, height - 14)
    return drawing.svg()


def years_chart(months: tuple[Month, ...], name: str, unit: str, width: float = 245.0, height: float = 104.0) -> Markup:
    """Each calendar year as a line over the same twelve months; the newest is black and full, older ones are paler."""
    drawing = Drawing(width, height, f"{name}, year on year")
    known = [month for month in months if month.runs]
    years = sorted({month.month.year for month in known})
    y = scale_over([month.value for month in known], height - 18, 14)
    x = Scale(0.5, 12.5, _LEFT, width - 26)
    drawing.text(0, 7, f"{name}, year on year", bold=True, widest=width)
    _value_axis(drawing, y, x, unit, about=4)
    for n in (1, 4, 7, 10):
        drawing.text(x(n), height - 7, _QUARTERS[n], anchor="middle", ink=SOFT, size=_TINY)
    named: list[float] = []  # where the names of years stand
    for age, year in enumerate(reversed(years)):
        values = {month.month.month: month.value for month in known if month.month.year == year}
        ink, dash = (INK, "") if age == 0 else (SOFT, "4,1.6") if age == 1 else (FAINT, "")
        places = [(x(n), y(values[n]) if n in values else math.nan) for n in range(1, 13)]
        drawing.path(places, ink=ink, weight=1.1 if age == 0 else 0.7, dash=dash)
        there = [place for place in places if not math.isnan(place[1])]
        drawing.dots(there, 1.5 if age == 0 else 1.0, ink=ink)
        if age < 4:  # more names than four would lie on each other
            name_at = there[-1][1] + 2.2
            while any(abs(name_at - other) < 6.5 for other in named):
                name_at += 1.0
            named.append(name_at)
            drawing.text(width - 22, name_at, str(year), size=_TINY, ink=ink if age < 2 else SOFT)
    return drawing.svg()


def _month_names(drawing: Drawing, axis: list[date], at: dict[date, float], y: float) -> None:
    """Years, and quarters where there is room."""
    for n, day in enumerate(axis):
        place = at[day]
        if day.month == 1:
            drawing.text(place, y, f"{day:%Y}", size=_TINY, anchor="middle", ink=SOFT)
        elif len(axis) <= 26 and (day.month in (4, 7, 10) or (n == 0 and day.month % 3 == 1)):
            drawing.text(place, y, _QUARTERS[day.month], size=_TINY, anchor="middle", ink=SOFT)


def calendar(months: tuple[Month, ...]) -> list[date]:
    """Every month from the first to the last, those without runs too."""
    if not months:
        return []
    axis = [months[0].month]
    while axis[-1] < months[-1].month:
        year, month = axis[-1].year, axis[-1].month
        axis.append(date(year + month // 12, month % 12 + 1, 1))
    return axis


def expanded(month: Month) -> float:
    """Twice the standard error of a month's figure; 0 where too few runs show a scatter."""
    return 0.0 if math.isnan(month.u) else figures.COVERAGE * month.u


def _days(at: datetime, points: tuple[Point, ...]) -> float:
    return (at - points[0].when).total_seconds() / 86400


def _time_scale(points: tuple[Point, ...], width: float) -> Scale:
    span = _days(points[-1].when, points) if points else 1.0
    return Scale(-0.015 * span - 0.5, span * 1.015 + 0.5, _LEFT, width - _RIGHT)


def _stretch(drawing: Drawing, finding: Finding, points: tuple[Point, ...], x: Scale, top: float, floor: float) -> None:
    """The changed runs on a grey ground, and the interval in which the change began as a bar on the axis."""
    end = finding.until or points[-1].when
    start = max(finding.since, points[0].when)
    left, right = x(_days(start, points)) - 3, x(_days(end, points)) + 3
    drawing.box(left, top, right - left, floor - top, fill=WASH)
    low, high = (max(at, points[0].when) for at in (finding.since_low, finding.since_high))
    drawing.box(
        x(_days(low, points)) - 1, floor - 1.6, x(_days(high, points)) - x(_days(low, points)) + 2, 3.2, fill=INK
    )


def _eras(chart: Chart, points: tuple[Point, ...]) -> list[tuple[Limits, datetime, datetime]]:
    """Limits with the part of the picture that each judges."""
    eras = [*chart.earlier_limits, *([chart.limits] if chart.limits else [])]
    starts = [points[0].when, *(limits.first for limits in eras[1:])]
    ends = [*(limits.first for limits in eras[1:]), points[-1].when]
    shown = zip(eras, starts, ends, strict=False)
    return [(limits, max(start, points[0].when), end) for limits, start, end in shown if end > points[0].when]


def _limit_lines(drawing: Drawing, chart: Chart, limits: Limits, left: float, right: float, y: Scale) -> None:
    places = chart.measure.decimals
    named = -math.inf
    for value, name, dash in (
        (limits.upper, "upper", "5,2.5"),
        (limits.centre, "mean", ""),
        (limits.lower, "lower", "5,2.5"),
    ):
        drawing.line(left, y(value), right, y(value), weight=0.6, dash=dash)
        if limits is chart.limits:
            named = max(y(value) + 2.2, named + 6.0)  # a name is never on the one above
            drawing.text(right + 8, named, f"{name} {figures.number(value, places)}", size=_TINY)


def _points(drawing: Drawing, points: tuple[Point, ...], places: list[tuple[float, float]]) -> None:
    plain, baseline = [], []
    for point, (x, y) in zip(points, places, strict=True):
        if "beyond" in point.signals:
            drawing.mark("diamond", x, y, 2.8)
        elif point.signals:
            drawing.mark("triangle", x, y, 2.2)
        elif point.in_baseline:
            baseline.append((x, y))
        else:
            plain.append((x, y))
    drawing.rings(baseline, 1.4)
    drawing.dots(plain, 1.5 if len(points) <= 250 else 0.9)


def _value_axis(drawing: Drawing, y: Scale, x: Scale, unit: str, about: int = 5) -> None:
    ticks = y.ticks(about)
    grid = [(end, y(tick)) for tick in ticks for end in (x.start, x.end, math.nan)]
    drawing.path(grid, ink=FAINT, weight=0.3)
    for tick in ticks:
        drawing.text(x.start - 4, y(tick) + 2.2, tick_label(tick, ticks), anchor="end", ink=SOFT, size=_TINY)
    drawing.text(6, (y.start + y.end) / 2, unit, anchor="middle", ink=SOFT, turned=True, size=_TINY)


def _calendar_axis(drawing: Drawing, points: tuple[Point, ...], x: Scale, floor: float, zone: str) -> None:
    """A tick at the first of each month (of long series: year, decade), named where there is room."""
    drawing.line(x.start, floor, x.end, floor, ink=SOFT)
    if not points:
        return
    span = _days(points[-1].when, points)
    step = next(months for months, longest in _TICKS if span <= longest)
    day = figures.local_month(points[0].when, zone).replace(day=1)
    first = day.year * 12 + day.month  # months since the year 0, of the month after the first run
    last_named = -1e9
    ticks: list[tuple[float, float]] = []
    for number in range(-(-first // step) * step, 10**6, step):
        day = date(number // 12, number % 12 + 1, 1)
        place = x(_days(datetime(day.year, day.month, 1), points))
        if place > x.end:
            break
        if place >= x.start:
            ticks += [(place, floor), (place, floor + 3), (math.nan, floor)]
            if place - last_named > 30:
                drawing.text(place + 2, floor + 9, f"{day:%Y-%m}" if step == 1 else str(day.year), ink=SOFT, size=_TINY)
                last_named = place
    drawing.path(ticks, ink=INK, weight=0.5)
