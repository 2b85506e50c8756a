"""Data to drawings: the charts of the dossier. No query here, no figure that is not handed in.

Drawn by `drawing.py`: a page of charts then costs milliseconds, where starting a charting engine costs more than a
second of each document.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from gaugebook.reports.dossier.limits import Limit
from gaugebook.reports.page.drawing import FAINT, SOFT, Drawing, Scale, scale_over, tick_label
from gaugebook.reports.page.language import Language


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


@dataclass(frozen=True)
class FillEdge:
    """How little, or how much, a bottle may hold, with its name on the chart; drawn where a fill lies beyond it."""

    at_ml: float
    words: str
    is_floor: bool = True

    def is_passed_by(self, fill: float) -> bool:
        return fill < self.at_ml if self.is_floor else fill > self.at_ml


def fill_strip(
    fills: Sequence[float], nominal_ml: float, edges: Sequence[FillEdge], axis: str, language: Language,
    width: float = 480.0,
) -> Markup:  # fmt: skip
    """Every sampled fill as a dot, those of one tenth millilitre stacked; the nominal and the edges of law as lines."""
    passed = [edge for edge in edges if any(edge.is_passed_by(fill) for fill in fills)]
    shown = [*fills, nominal_ml, *(edge.at_ml for edge in passed)]
    x = scale_over(shown, 20, width - 20, room=0.12)
    pitch = 4.6
    bins: dict[int, int] = {}
    places = []
    for fill in sorted(fills):
        column = round(x(fill) / pitch)
        bins[column] = bins.get(column, 0) + 1
        places.append((column * pitch, bins[column], fill))
    height = 34 + pitch * max(bins.values()) + 23
    drawing = Drawing(width, height, language.say("bottling.title", n=len(fills)))
    base = height - 25
    drawing.line(20, base, width - 20, base, ink=SOFT)
    for tick in (ticks := x.ticks(8)):
        drawing.line(x(tick), base, x(tick), base + 3, ink=SOFT)
        drawing.text(x(tick), base + 14, language.figure(tick_label(tick, ticks)), anchor="middle", ink=SOFT)
    drawing.text(width - 20, base + 23, axis, anchor="end", ink=SOFT)
    _threshold(drawing, x(nominal_ml), base, language.say("bottling.nominal"), "")
    for edge in passed:
        _threshold(drawing, x(edge.at_ml), base, edge.words, "3,2")
    mean = sum(fills) / len(fills)
    drawing.mark("triangle", x(mean), base + 4, 3)
    for at, level, fill in places:
        shape = "diamond" if any(edge.is_passed_by(fill) for edge in edges) else "dot"
        drawing.mark(shape, at, base - pitch * (level - 0.5), 2.0)
    return drawing.svg()


def _threshold(drawing: Drawing, x: float, base: float, words: str, dash: str) -> None:
    drawing.line(x, 12, x, base, weight=0.9, dash=dash)
    drawing.text(x + 3, 16, words)
