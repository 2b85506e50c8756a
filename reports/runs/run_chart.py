"""The figure of a run drawn: temperatures, strength and flow over one time axis, cuts, band, findings.

Nothing rests on colour. The cut of the curve is a full line with a bar for its uncertainty, that of the run sheet a
dashed one, each with its name; the band of the good runs is a grey area; what cleaning sets aside is dotted; a finding
has a bar at the foot of its sensor's panel and a numbered label below all panels.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

from markupsafe import Markup

from gaugebook.pipeline.derived.curves.records import (
    COLUMN,
    COUNTER,
    FLOW,
    PARROT,
    PARROT_TEMPERATURE,
    POT,
    STRENGTH,
    VAPOUR,
)
from gaugebook.reports.page import figures, fonts
from gaugebook.reports.page.drawing import FAINT, INK, SMALL, SOFT, Drawing, Scale, scale_over, straightened, tick_label
from gaugebook.reports.page.labels import Box, Wanted, placed, rows_of, spread
from gaugebook.reports.page.language import Language
from gaugebook.reports.runs.run_figures import BandLine, FindingMark, Points, RunFigure

BAND = "#dcdcdc"
MOST_FINDINGS = 15  # with a label of their own; the rest are told in words
SHEET_DASH = "3,2"
CURVE_INK = "#8f8f8f"
_BESIDE = 2.5  # between a cut's line and its words
_LEFT, _RIGHT, _FOOT, _ROW, _STRIP_ROW, _APART = 34.0, 42.0, 22.0, 9.5, 11.5, 7.0
_DASHES = {COLUMN: "4,1.5", VAPOUR: "1.2,1.2"}


@dataclass(frozen=True)
class Panel:
    """One panel: the catalogue's key of its axis, tags drawn, tags whose findings are marked in it, height [pt]."""

    axis: str
    drawn: tuple[str, ...]
    marked: tuple[str, ...]
    height: float
    from_first_drop: bool = False  # its scale spans what is shown from then to the end: heating would press it flat


def panels_of(figure: RunFigure) -> list[Panel]:
    """Pot, head, strength and flow, as far as they were logged.

    The parrot's own reading stands in where there is no temperature to correct it with, the counter where there is no
    flow meter.
    """
    logged = figure.series
    head = tuple(tag for tag in (COLUMN, VAPOUR) if tag in logged)
    parrot = STRENGTH if STRENGTH in logged else PARROT
    stream = FLOW if FLOW in logged else COUNTER
    panels = [
        Panel("pot_axis", (POT,), (POT,), 34.0),
        Panel("head_axis", head, head, 46.0, from_first_drop=True),
        Panel("strength_axis" if parrot == STRENGTH else "parrot_axis", (parrot,),
              (STRENGTH, PARROT, PARROT_TEMPERATURE), 41.0),
        Panel("flow_axis" if stream == FLOW else "counter_axis", (stream,), (FLOW, COUNTER), 41.0),
    ]  # fmt: skip
    return [panel for panel in panels if set(panel.drawn) & set(logged)]


def run_chart(figure: RunFigure, zone: str, language: Language, width: float = 480.0) -> Markup:
    """The figure of one run at full size."""
    panels = panels_of(figure)
    x = Scale(0.0, max(figure.hours, 0.1), _LEFT, width - _RIGHT)
    head, foot = _head(figure, zone, x, language, width), _foot(figure, x, language, width)
    top = head.height + 3.0
    floor = top + sum(panel.height + _APART for panel in panels)
    axis = floor + foot.height
    drawing = Drawing(width, axis + _FOOT, language.say("log.title", run=figure.run))
    _panels(drawing, figure, panels, x, top, language)
    _draw_head(drawing, head, top, floor - _APART)
    _draw_foot(drawing, foot, floor, width - _LEFT)
    _hour_axis(drawing, x, axis, language)
    return drawing.svg()


@dataclass(frozen=True)
class _CutLabel:
    """The label of one line: where the line stands [pt], what half its uncertainty takes [pt], its words."""

    at: float
    reach: float  # 0 for the sheet's, and where it is not known
    is_curve: bool
    words: str
    wanted: Wanted


@dataclass(frozen=True)
class _Head:
    """Names of the cuts in the upper rows, their two lines' labels in the rows below."""

    names: list[tuple[str, Box]]
    cuts: list[tuple[_CutLabel, Box]]

    @property
    def cuts_from(self) -> float:
        return _ROW * rows_of([box for _, box in self.names])

    @property
    def height(self) -> float:
        return self.cuts_from + _ROW * rows_of([box for _, box in self.cuts])


@dataclass(frozen=True)
class _Foot:
    """A numbered label a finding, with its stretch [pt]."""

    labels: list[tuple[str, tuple[float, float], Box]]

    @property
    def height(self) -> float:
        return _STRIP_ROW * rows_of([box for *_, box in self.labels])


def _head(figure: RunFigure, zone: str, x: Scale, language: Language, width: float) -> _Head:
    names, cuts = _cut_names(figure, x, language), _cut_labels(figure, zone, x, language)
    name_boxes = placed([wanted for _, wanted in names], 0.0, width)
    cut_boxes = placed([label.wanted for label in cuts], 0.0, width)
    return _Head(
        [(name, box) for (name, _), box in zip(names, name_boxes, strict=True)],
        list(zip(cuts, cut_boxes, strict=True)),
    )


def _foot(figure: RunFigure, x: Scale, language: Language, width: float) -> _Foot:
    marks = figure.findings[:MOST_FINDINGS]
    words = [f"{number} {in_few_words(mark, language)}" for number, mark in enumerate(marks, start=1)]
    spans = [_span(mark, x) for mark in marks]
    wanted = [Wanted(*span, fonts.width(text, SMALL)) for span, text in zip(spans, words, strict=True)]
    return _Foot(list(zip(words, spans, placed(wanted, _LEFT, width), strict=True)))


def _draw_head(drawing: Drawing, head: _Head, top: float, floor: float) -> None:
    """The lines of the cuts first, the curve's under the sheet's, then all words."""
    for label, box in sorted(head.cuts, key=lambda pair: not pair[0].is_curve):
        _cut_line(drawing, label, head.cuts_from + _ROW * box.row, top, floor)
    for name, box in head.names:
        drawing.text(box.words, _ROW * (box.row + 1) - 2.5, name, bold=True)
    for label, box in head.cuts:
        _on_white(drawing, box, head.cuts_from + _ROW * (box.row + 1) - 2.5, label.words)


def _draw_foot(drawing: Drawing, foot: _Foot, floor: float, widest: float) -> None:
    for words, (start, end), box in foot.labels:
        base = floor + _STRIP_ROW * box.row + 4.0
        drawing.text(box.words, base, words, widest=widest)
        drawing.line(start, base + 2.8, end, base + 2.8, weight=1.8)


def in_few_words(mark: FindingMark, language: Language) -> str:
    """What a finding's label says: the kind and the sensor."""
    kind = language.name("finding", mark.kind)
    return f"{kind}: {language.name('tag', mark.tag)}" if mark.tag else kind


def _span(mark: FindingMark, x: Scale) -> tuple[float, float]:
    return x(mark.from_h), max(x(mark.to_h), x(mark.from_h) + 2.0)


def _cut_names(figure: RunFigure, x: Scale, language: Language) -> list[tuple[str, Wanted]]:
    names = []
    for cut in figure.cuts:
        known = [x(at) for at in (cut.sheet_h, cut.curve_h) if at is not None]
        if known:
            name = language.name("cut", cut.name)
            wide = fonts.width(name, SMALL) * 1.1
            start = sum(known) / len(known) - wide / 2
            names.append((name, Wanted(start, start, wide)))
    return names


def _cut_labels(figure: RunFigure, zone: str, x: Scale, language: Language) -> list[_CutLabel]:
    """Of each cut the earlier line's words stand before it, the later one's after it."""
    labels = []
    for cut in figure.cuts:
        is_curve_first = cut.curve_h is not None and cut.sheet_h is not None and cut.curve_h < cut.sheet_h
        if cut.sheet_h is not None:
            words = language.say("log.sheet", at=clock(figure, cut.sheet_h, zone))
            labels.append(_cut_label(x(cut.sheet_h), 0.0, False, words, not is_curve_first))
        if cut.curve_h is not None:
            known = cut.expanded_h or 0.0
            within = f" ± {math.ceil(60 * known)} min" if known else ""
            words = language.say("log.curve", at=clock(figure, cut.curve_h, zone) + within)
            labels.append(_cut_label(x(cut.curve_h), x(known) - x(0.0), True, words, is_curve_first))
    return labels


def _cut_label(at: float, reach: float, is_curve: bool, words: str, is_before: bool) -> _CutLabel:
    beside = at - _BESIDE if is_before else at + _BESIDE
    return _CutLabel(at, reach, is_curve, words, Wanted(beside, beside, fonts.width(words, SMALL), is_before))


def clock(figure: RunFigure, at_h: float | None, zone: str) -> str:
    """The time of day so many hours after the log began, in the house's zone, to the nearest minute."""
    if at_h is None:
        return figures.MISSING
    return f"{figures.local(figure.log_started_at + timedelta(hours=at_h, seconds=30), zone):%H:%M}"


def _cut_line(drawing: Drawing, label: _CutLabel, start: float, top: float, floor: float) -> None:
    """The curve's cut broad and grey, the sheet's thin and dashed over it: both are seen where they agree."""
    if label.is_curve:
        drawing.line(label.at, start, label.at, floor, ink=CURVE_INK, weight=1.8)
        drawing.line(label.at - label.reach, top, label.at + label.reach, top, ink=CURVE_INK, weight=2.4)
    else:
        drawing.line(label.at, start, label.at, floor, weight=0.8, dash=SHEET_DASH)


def _on_white(drawing: Drawing, box: Box, base: float, words: str) -> None:
    drawing.box(box.words - 1.0, base - 6.0, fonts.width(words, SMALL) + 2.0, 8.0, fill="white")
    drawing.text(box.words, base, words)


def _panels(
    drawing: Drawing, figure: RunFigure, panels: Sequence[Panel], x: Scale, top: float, language: Language
) -> None:
    """The panels below each other, with the findings of their sensors."""
    for panel in panels:
        bottom = top + panel.height
        _panel(drawing, figure, panel, x, (top, bottom), language)
        for mark in figure.findings:
            if mark.tag in panel.marked:
                start, end = _span(mark, x)
                drawing.line(start, bottom, end, bottom, weight=2.2)
        top = bottom + _APART


def _panel(
    drawing: Drawing, figure: RunFigure, panel: Panel, x: Scale, span: tuple[float, float], language: Language
) -> None:
    """One panel: band, grid, lines, what was set aside, and the names of the lines at their right ends."""
    top, bottom = span
    bands = {tag: figure.band[tag] for tag in panel.drawn if tag in figure.band}
    y = _value_scale(figure, panel, bands, bottom, top)
    for band in bands.values():
        band_area(drawing, band, x, y)
    for tick in (ticks := y.ticks(4)):
        drawing.line(x.start, y(tick), x.end, y(tick), ink=FAINT, weight=0.3)
        drawing.text(x.start - 4, y(tick) + 2.4, language.figure(tick_label(tick, ticks)), anchor="end", ink=SOFT)
    drawing.text(9, (top + bottom) / 2, language.say(f"log.{panel.axis}"), anchor="middle", ink=SOFT, turned=True)
    ends = []
    for tag in panel.drawn:
        points = figure.series[tag]
        drawing.path(within(points, x, y), weight=0.9, dash=_DASHES.get(tag, ""))
        last = next(value for _, value in reversed(points) if value is not None)
        ends.append(min(max(y(last), top), bottom) + 2.4)
        _set_aside(drawing, figure.set_aside.get(tag, ()), x, y)
    for base, tag in zip(spread(ends, SMALL + 0.5, bottom + 2.4), panel.drawn, strict=True):
        drawing.text(x.end + 4, base, language.name("tag", tag))


def _value_scale(figure: RunFigure, panel: Panel, bands: dict[str, BandLine], bottom: float, top: float) -> Scale:
    drop, end = figure.phases.get("first drop"), figure.phases.get("end")
    least, most = (drop, end) if panel.from_first_drop and drop is not None and end is not None else (0.0, math.inf)
    used = [
        value for tag in panel.drawn for hour, value in figure.series[tag]
        if value is not None and least <= hour <= most
    ]  # fmt: skip
    for band in bands.values():
        used += [value for side in (band.low, band.high)
                 for hour, value in zip(band.hours, side, strict=True) if least <= hour <= most]  # fmt: skip
    return scale_over(used, bottom, top)


def within(points: Points, x: Scale, y: Scale) -> list[tuple[float, float]]:
    """Points of a line on the page; it is interrupted where it leaves the panel or the log has a gap."""
    return straightened(
        [
            (x(hour), y(value) if value is not None and y.least <= value <= y.most else math.nan)
            for hour, value in points
        ]
    )


def band_area(drawing: Drawing, band: BandLine, x: Scale, y: Scale) -> None:
    """The good runs' band as an area, cut off where the panel ends."""
    low, high = sorted((y.start, y.end))

    def edge(values: Sequence[float]) -> list[tuple[float, float]]:
        return straightened(
            [(x(hour), min(max(y(value), low), high)) for hour, value in zip(band.hours, values, strict=True)]
        )

    drawing.area([*edge(band.high), *reversed(edge(band.low))], fill=BAND)


def _set_aside(drawing: Drawing, points: Points, x: Scale, y: Scale) -> None:
    """Values that are not used: dotted, single ones as hollow marks; at the panel's edge where they lie beyond it."""
    low, high = sorted((y.start, y.end))
    piece: list[tuple[float, float]] = []
    for hour, value in (*points, (0.0, None)):
        if value is not None:
            piece.append((x(hour), min(max(y(value), low), high)))
            continue
        if len(piece) == 1:
            drawing.mark("diamond", *piece[0], 1.7, hollow=True)
        elif piece:
            drawing.path(piece, ink=INK, weight=0.9, dash="0.7,3")
        piece = []


def _hour_axis(drawing: Drawing, x: Scale, floor: float, language: Language) -> None:
    drawing.line(x.start, floor, x.end, floor, ink=SOFT)
    for tick in (ticks := x.ticks(8)):
        drawing.line(x(tick), floor, x(tick), floor + 3, ink=SOFT)
        drawing.text(x(tick), floor + 10, language.figure(tick_label(tick, ticks)), anchor="middle", ink=SOFT)
    drawing.text(x.end, floor + 19, language.say("log.hours"), anchor="end", ink=SOFT)
