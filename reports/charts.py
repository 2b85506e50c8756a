"""Data to drawings: the charts of the dossier. No query here, no figure that is not handed in.

Drawn by `drawing.py`: a page of charts then costs milliseconds, where starting a charting engine costs more than a
second of each document.
"""

import math
from collections.abc import Sequence
from datetime import datetime

from markupsafe import Markup

from reports.drawing import FAINT, INK, SMALL, SOFT, WASH, Drawing, Scale, scale_over, tick_label
from reports.language import Language
from reports.limits import Limit
from reports.records import Curve, Run

# Tag of the log: its name in the catalogue, dash of its line.
TEMPERATURES = {
    "pot_temperature_c": ("pot", ""),
    "column_temperature_c": ("column", "4,1.5"),
    "vapour_temperature_c": ("vapour", "1.2,1.2"),
}
PARROT, FLOW = "parrot_strength_pct_vol", "distillate_flow_l_h"
_LEFT, _RIGHT, _FOOT = 34.0, 40.0, 20.0


def run_curve(run: Run, curve: Curve, language: Language, width: float = 480.0) -> Markup:
    """Temperatures above, parrot strength and flow below, against hours; the cuts of the run sheet marked."""
    panels = [
        ("temperature", {name: (tag, dash) for tag, (name, dash) in TEMPERATURES.items() if tag in curve.series}),
        ("parrot_axis", {"parrot": (PARROT, "")} if PARROT in curve.series else {}),
        ("flow_axis", {"flow": (FLOW, "")} if FLOW in curve.series else {}),
    ]
    panels = [panel for panel in panels if panel[1]]
    height = 74.0 * len(panels) + 30 + _FOOT
    drawing = Drawing(width, height, language.say("log.title", run=run.run))
    hours = _hours(run, curve)
    x = Scale(0, hours, _LEFT, width - _RIGHT)
    floor = height - _FOOT
    _hearts(drawing, run, x, 14, floor, language)
    for row, (title, series) in enumerate(panels):
        top = 22 + row * (floor - 22) / len(panels)
        bottom = 22 + (row + 1) * (floor - 22) / len(panels) - 8
        named = {language.say(f"log.{name}"): line for name, line in series.items()}
        _panel(drawing, curve, language, language.say(f"log.{title}"), named, x, top, bottom)
    _hour_axis(drawing, x, floor, language)
    return drawing.svg()


def small_curves(runs: Sequence[tuple[Run, Curve]], tag: str, language: Language, width: float = 480.0) -> Markup:
    """One small panel a run, all on the same scales, four in a row."""
    columns = 3 if len(runs) in (5, 6, 9) else 4
    rows = math.ceil(len(runs) / columns)
    cell, tall = width / columns, 84.0
    drawing = Drawing(width, rows * tall, language.say("log.titles", n=len(runs)))
    values = [value for _, curve in runs for _, value in curve.series.get(tag, ())]
    longest = max(_hours(run, curve) for run, curve in runs)
    for position, (run, curve) in enumerate(runs):
        left, top = (position % columns) * cell, (position // columns) * tall
        x = Scale(0, longest, left + 22, left + cell - 8)
        y = scale_over(values, top + tall - 18, top + 16)
        drawing.text(left + 22, top + 10, run.run, bold=True, widest=cell - 30)
        _hearts(drawing, run, x, top + 16, top + tall - 18)
        for tick in (ticks := y.ticks(3)):
            drawing.line(left + 22, y(tick), left + cell - 8, y(tick), ink=FAINT, weight=0.3)
            drawing.text(
                left + 19, y(tick) + 2, language.figure(tick_label(tick, ticks)), size=5.5, anchor="end", ink=SOFT
            )
        drawing.path(((x(h), y(v)) for h, v in curve.series.get(tag, ())), weight=0.7)
        for tick in (ticks := x.ticks(4)):
            drawing.text(
                x(tick), top + tall - 10, language.figure(tick_label(tick, ticks)), size=5.5, anchor="middle", ink=SOFT
            )
    return drawing.svg()


def position_bar(value: float, below_limit: bool, limit: Limit, title: str, width: float = 72.0) -> Markup:
    """Where a value lies against its limits: the allowed span is the grey bar, a diamond beyond it, a dot within."""
    drawing = Drawing(width, 12, title)
    low, high = limit.least, limit.most
    span = (high - low) if low is not None and high is not None else abs(high or low or 1.0)
    least = low - 0.6 * span if low is not None and high is not None else min(0.0, value)
    most = high + 0.6 * span if low is not None and high is not None else max(1.4 * (high or 0), 2 * (low or 0), 1e-9)
    x = Scale(least, most, 5, width - 5)
    drawing.line(5, 6, width - 5, 6, ink=FAINT, weight=0.5)
    start, end = x(low) if low is not None else 5, x(high) if high is not None else width - 5
    drawing.box(start, 3.4, end - start, 5.2, fill="#d9d9d9")
    for edge in (low, high):
        if edge is not None:
            drawing.line(x(edge), 1.5, x(edge), 10.5, weight=1.0)
    beyond = (low is not None and value < low) or (high is not None and value > high)
    at = min(max(x(value), 5), width - 5)
    drawing.mark("diamond" if beyond else "dot", at, 6, 3.0 if beyond else 2.2, hollow=below_limit)
    return drawing.svg()


def ratio_bar(ratio: float, title: str, width: float = 60.0) -> Markup:
    """A charge in per cent of its recipe: the line stands at 100 %; an arrow beyond 200 %."""
    drawing = Drawing(width, 9, title)
    x = Scale(0.0, 2.0, 1.0, width - 6)
    drawing.box(x(0), 2.2, x(min(ratio, 2.0)) - x(0), 4.6, fill="#b4b4b4")
    drawing.line(x(1.0), 0.4, x(1.0), 8.6, weight=1.0)
    if ratio > 2.0:
        drawing.path([(width - 5, 1.5), (width - 1, 4.5), (width - 5, 7.5)], weight=0.9)
    return drawing.svg()


def fill_strip(
    fills: Sequence[float], nominal_ml: float, tne_ml: float | None, language: Language, width: float = 480.0
) -> Markup:
    """Every sampled fill as a dot, those of one tenth millilitre stacked; nominal and tolerable error as lines."""
    floor_ml = nominal_ml - tne_ml if tne_ml is not None else nominal_ml
    beyond = min(fills) < floor_ml
    shown = [*fills, nominal_ml, *([floor_ml] if beyond else [])]
    x = scale_over(shown, 20, width - 20, room=0.12)
    pitch = 4.6
    bins: dict[int, int] = {}
    places = []
    for fill in sorted(fills):
        column = round(x(fill) / pitch)
        bins[column] = bins.get(column, 0) + 1
        places.append((column * pitch, bins[column], fill))
    height = 34 + pitch * max(bins.values()) + 18
    drawing = Drawing(width, height, language.say("bottling.title", n=len(fills)))
    base = height - 20
    drawing.line(20, base, width - 20, base, ink=SOFT)
    for tick in (ticks := x.ticks(8)):
        drawing.line(x(tick), base, x(tick), base + 3, ink=SOFT)
        drawing.text(x(tick), base + 10, language.figure(tick_label(tick, ticks)), anchor="middle", ink=SOFT)
    drawing.text(width - 20, base + 18, language.say("bottling.axis"), anchor="end", ink=SOFT)
    _threshold(drawing, x(nominal_ml), base, language.say("bottling.nominal"), "")
    if beyond:
        _threshold(drawing, x(floor_ml), base, language.say("bottling.floor"), "3,2")
    mean = sum(fills) / len(fills)
    drawing.mark("triangle", x(mean), base + 4, 3)
    for at, level, fill in places:
        shape = "diamond" if fill < floor_ml else "dot"
        drawing.mark(shape, at, base - pitch * (level - 0.5), 2.0)
    return drawing.svg()


def _threshold(drawing: Drawing, x: float, base: float, words: str, dash: str) -> None:
    drawing.line(x, 12, x, base, weight=0.9, dash=dash)
    drawing.text(x + 3, 16, words)


def _hours(run: Run, curve: Curve) -> float:
    if run.ended_at is not None:
        return max((run.ended_at - run.started_at).total_seconds() / 3600, 0.1)
    return max(series[-1][0] for series in curve.series.values())


def _hearts(drawing: Drawing, run: Run, x: Scale, top: float, bottom: float, language: Language | None = None) -> None:
    """The hearts as a pale band between the cuts of the run sheet; the cuts are named where there is room."""

    def at(moment: datetime) -> float:
        return x(min(max((moment - run.started_at).total_seconds() / 3600, x.least), x.most))

    if run.hearts_from is None or run.hearts_to is None:
        return
    start, end = at(run.hearts_from), at(run.hearts_to)
    drawing.box(start, top, end - start, bottom - top, fill=WASH)
    for cut in (start, end):
        drawing.line(cut, top, cut, bottom, ink=SOFT, weight=0.7, dash="2.5,1.5")
    if language is not None:
        drawing.text(start, top - 3, language.say("log.to_hearts"), anchor="middle")
        drawing.text(end, top - 3, language.say("log.to_tails"), anchor="middle")


def _panel(drawing: Drawing, curve: Curve, language: Language, title: str, series: dict[str, tuple[str, str]],
           x: Scale, top: float, bottom: float) -> None:  # fmt: skip
    """One panel: grid, lines and the names of the lines at their right ends."""
    values = [value for tag, _ in series.values() for _, value in curve.series[tag]]
    y = scale_over(values, bottom, top)
    for tick in (ticks := y.ticks(4)):
        drawing.line(x.start, y(tick), x.end, y(tick), ink=FAINT, weight=0.3)
        drawing.text(x.start - 4, y(tick) + 2.4, language.figure(tick_label(tick, ticks)), anchor="end", ink=SOFT)
    drawing.text(9, (top + bottom) / 2, title, anchor="middle", ink=SOFT, turned=True)
    ends = []
    for name, (tag, dash) in series.items():
        points = curve.series[tag]
        drawing.path(((x(h), y(v)) for h, v in points), weight=0.9, dash=dash)
        ends.append((y(points[-1][1]), name))
    lowest = -math.inf
    for end, name in sorted(ends):
        lowest = max(end + 2.4, lowest + SMALL + 0.5)
        drawing.text(x.end + 4, lowest, name, ink=INK)


def _hour_axis(drawing: Drawing, x: Scale, floor: float, language: Language) -> None:
    drawing.line(x.start, floor - 4, x.end, floor - 4, ink=SOFT)
    for tick in (ticks := x.ticks(8)):
        drawing.line(x(tick), floor - 4, x(tick), floor - 1, ink=SOFT)
        drawing.text(x(tick), floor + 6, language.figure(tick_label(tick, ticks)), anchor="middle", ink=SOFT)
    drawing.text(x.end, floor + 15, language.say("log.hours"), anchor="end", ink=SOFT)
