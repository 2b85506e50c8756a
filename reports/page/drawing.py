"""A sheet to draw on: marks in points, out as SVG that the page takes in as it stands.

Text stays text, in the documents' own faces; every colour is a grey, so nothing is said by colour alone.
"""

import math
from collections.abc import Iterable, Sequence
from itertools import groupby

from markupsafe import Markup, escape

from gaugebook.reports.page import fonts
from gaugebook.reports.page.wording import LONGEST_SENTENCE, printable

INK, SOFT, FAINT, WASH = "#1a1a1a", "#6b6b6b", "#c4c4c4", "#efefef"
SMALL = 7.0  # text size of labels [pt]

# Shapes of markers in a square of side 2 about the origin; open ones are drawn as outlines.
_SHAPES = {
    "dot": "M1,0A1,1,0,1,1,-1,0A1,1,0,1,1,1,0Z",
    "square": "M-0.9,-0.9H0.9V0.9H-0.9Z",
    "diamond": "M0,-1.25L1.25,0L0,1.25L-1.25,0Z",
    "triangle": "M0,-1.2L1.2,0.95H-1.2Z",
}


class Drawing:
    """Marks gathered in the order in which they are drawn."""

    def __init__(self, width: float, height: float, title: str) -> None:
        self.width, self.height, self.title = width, height, title
        self._marks: list[str] = []

    def line(
        self, x1: float, y1: float, x2: float, y2: float, *, ink: str = INK, weight: float = 0.5, dash: str = ""
    ) -> None:
        self.path([(x1, y1), (x2, y2)], ink=ink, weight=weight, dash=dash)

    def path(
        self, points: Iterable[tuple[float, float]], *, ink: str = INK, weight: float = 0.8, dash: str = ""
    ) -> None:
        """A line through the points; a point that is no number interrupts it."""
        commands, pen_up = [], True
        for x, y in points:
            if math.isnan(x) or math.isnan(y):
                pen_up = True
                continue
            commands.append(f"{'M' if pen_up else 'L'}{_n(x)},{_n(y)}")
            pen_up = False
        look = f'stroke="{ink}" stroke-width="{weight}" stroke-linejoin="round"'
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        self._marks.append(f'<path d="{"".join(commands)}" fill="none" {look}{dashes}/>')

    def curve(self, x1: float, y1: float, x2: float, y2: float, *, ink: str = SOFT, weight: float = 0.6) -> None:
        """A line that leaves and arrives level."""
        middle = (x1 + x2) / 2
        self._marks.append(
            f'<path d="M{_n(x1)},{_n(y1)}C{_n(middle)},{_n(y1)},{_n(middle)},{_n(y2)},{_n(x2)},{_n(y2)}" '
            f'fill="none" stroke="{ink}" stroke-width="{_n(weight)}"/>'
        )

    def box(self, x: float, y: float, width: float, height: float, *, fill: str = "none", ink: str = "none",
            weight: float = 0.5, dash: str = "") -> None:  # fmt: skip
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        self._marks.append(
            f'<rect x="{_n(x)}" y="{_n(y)}" width="{_n(max(width, 0))}" height="{_n(max(height, 0))}" '
            f'fill="{fill}" stroke="{ink}" stroke-width="{weight}"{dashes}/>'
        )

    def area(self, points: Iterable[tuple[float, float]], *, fill: str) -> None:
        """The area inside the points, without an outline."""
        edge = "L".join(f"{_n(x)},{_n(y)}" for x, y in points)
        self._marks.append(f'<path d="M{edge}Z" fill="{fill}"/>')

    def mark(self, shape: str, x: float, y: float, size: float = 2.0, *, hollow: bool = False, ink: str = INK) -> None:
        """A marker: dot, square, diamond or triangle; size is half its width [pt]."""
        paint = f'fill="white" stroke="{ink}" stroke-width="{_n(0.8 / size)}"' if hollow else f'fill="{ink}"'
        self._marks.append(f'<path transform="translate({_n(x)},{_n(y)}) scale({size})" d="{_SHAPES[shape]}" {paint}/>')

    def dots(self, places: Iterable[tuple[float, float]], size: float = 1.6, *, ink: str = INK) -> None:
        """Many filled dots as one mark, since thousands of marks are slow to lay out."""
        commands = "".join(f"M{x:.1f},{y:.1f}h0" for x, y in places)
        look = f'stroke="{ink}" stroke-width="{_n(2 * size)}" stroke-linecap="round"'
        if commands:
            self._marks.append(f'<path d="{commands}" fill="none" {look}/>')

    def rings(self, places: Iterable[tuple[float, float]], size: float = 1.6, *, ink: str = INK) -> None:
        """Many open dots as one mark."""
        r = _n(size)
        circle = f"m-{r},0a{r},{r},0,1,1,{_n(2 * size)},0a{r},{r},0,1,1,-{_n(2 * size)},0Z"
        commands = "".join(f"M{_n(x)},{_n(y)}{circle}" for x, y in places)
        if commands:
            self._marks.append(f'<path d="{commands}" fill="white" stroke="{ink}" stroke-width="0.8"/>')

    def text(self, x: float, y: float, words: str, *, size: float = SMALL, anchor: str = "start", bold: bool = False,
             ink: str = INK, widest: float | None = None, turned: bool = False) -> None:  # fmt: skip
        """Words on a base line at y; cut with an ellipsis where they would be wider than `widest`."""
        words = printable(words)
        if widest is not None:
            words = fitted(words, size * (1.1 if bold else 1.0), widest)
        weight = ' font-weight="600"' if bold else ""
        turn = f' transform="rotate(-90,{_n(x)},{_n(y)})"' if turned else ""
        anchored = f' text-anchor="{anchor}"' if anchor != "start" else ""
        sized = f' font-size="{size}"' if size != SMALL else ""
        self._marks.append(
            f'<text x="{_n(x)}" y="{_n(y)}"{sized} fill="{ink}"{anchored}{weight}{turn}>{escape(words)}</text>'
        )

    def svg(self) -> Markup:
        """The drawing as SVG, to be set inside a page."""
        width, height = _n(self.width), _n(self.height)
        size = f'width="{width}pt" height="{height}pt" viewBox="0 0 {width} {height}"'
        face = f'font-family="Source Sans 3" font-size="{SMALL}"'
        words = escape(printable(self.title, LONGEST_SENTENCE))
        title = f"<title>{words}</title>"  # read aloud where the figure cannot be seen
        return Markup(f'<svg xmlns="http://www.w3.org/2000/svg" {size} {face}>{title}{"".join(self._marks)}</svg>')


class Scale:
    """Where a value lies along an axis."""

    def __init__(self, least: float, most: float, start: float, end: float) -> None:
        if most <= least:
            least, most = least - 0.5, most + 0.5
        self.least, self.most, self.start, self.end = least, most, start, end

    def __call__(self, value: float) -> float:
        return self.start + (value - self.least) / (self.most - self.least) * (self.end - self.start)

    def ticks(self, about: int = 5) -> list[float]:
        """Round values inside the scale, about so many."""
        step = _round_step((self.most - self.least) / about)
        first = math.ceil(self.least / step - 1e-9)
        last = math.floor(self.most / step + 1e-9)
        return [n * step for n in range(first, last + 1)]


def scale_over(values: Sequence[float], start: float, end: float, room: float = 0.06) -> Scale:
    """A scale over the finite values with a little room on both sides."""
    finite = [value for value in values if math.isfinite(value)] or [0.0]
    least, most = min(finite), max(finite)
    spread = most - least if most - least > 1e-9 * abs(most) else 0.0
    margin = spread * room or abs(most) * 0.01 or 0.5
    return Scale(least - margin, most + margin, start, end)


def straightened(points: Iterable[tuple[float, float]], reach: float = 0.1) -> list[tuple[float, float]]:
    """The points that a line with rising x needs so that none left out lies more than `reach` above or below it [pt].

    From a point that is kept, points are passed over as long as one straight line runs within reach of all of them (the
    swinging door by which process logs are compressed; common practice). Interruptions stay.
    """
    kept: list[tuple[float, float]] = []
    for is_interrupted, piece in groupby(points, key=lambda point: math.isnan(point[1])):
        run = list(piece)
        kept += run[:1] if is_interrupted else _straight(run, reach)
    return kept


def _straight(points: list[tuple[float, float]], reach: float) -> list[tuple[float, float]]:
    kept, last = [points[0]], points[0]
    least, most = -math.inf, math.inf  # slopes from the point kept that pass all since within reach
    for point in points[1:]:
        along, up = point[0] - kept[-1][0], point[1] - kept[-1][1]
        if not least <= up / along <= most:
            kept.append(last)
            least, most = -math.inf, math.inf
            along, up = point[0] - last[0], point[1] - last[1]
        least, most = max(least, (up - reach) / along), min(most, (up + reach) / along)
        last = point
    return kept if last is kept[-1] else [*kept, last]


def tick_label(value: float, ticks: Sequence[float]) -> str:
    """A tick's value with as many decimals as the step between ticks needs; one that stands alone with its own."""
    step = ticks[1] - ticks[0] if len(ticks) > 1 else abs(value)
    decimals = next(places for places in range(9) if abs(round(step, places) - step) <= 1e-9 * step or places == 8)
    return f"{value + 0.0:,.{decimals}f}".replace("-", "−")


def fitted(words: str, size: float, widest: float) -> str:
    """The words, or as many of their characters as fit with an ellipsis."""
    if fonts.width(words, size) <= widest:
        return words
    while words and fonts.width(words + "…", size) > widest:
        words = words[:-1]
    return words.rstrip() + "…"


def _round_step(step: float) -> float:
    power = 10.0 ** math.floor(math.log10(step))
    return next(factor * power for factor in (1, 2, 2.5, 5, 10) if factor * power >= step * 0.999)


def _n(value: float) -> str:
    """A coordinate to a hundredth of a point."""
    return f"{value:.2f}".rstrip("0").rstrip(".")
