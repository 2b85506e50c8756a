"""Many runs of one stage side by side, small and on the same scales: the one that went otherwise is seen."""

import math
from collections.abc import Sequence

from markupsafe import Markup

from gaugebook.pipeline.derived.curves.records import FLOW, STRENGTH, VAPOUR
from gaugebook.reports.page.drawing import FAINT, SOFT, Drawing, Scale, scale_over, tick_label
from gaugebook.reports.page.language import Language
from gaugebook.reports.runs.run_chart import CURVE_INK, SHEET_DASH, band_area, within
from gaugebook.reports.runs.run_figures import RunFigure

SHOWN = (STRENGTH, FLOW, VAPOUR)
_TALL, _HEAD, _FOOT, _LEFT, _RIGHT = 78.0, 16.0, 14.0, 20.0, 4.0


def shown_tag(runs: Sequence[RunFigure]) -> str:
    """What the small panels show: strength, else flow, else the vapour's temperature."""
    return next((tag for tag in SHOWN if any(tag in run.series for run in runs)), SHOWN[-1])


def overview_chart(runs: Sequence[RunFigure], tag: str, language: Language, width: float = 480.0) -> Markup:
    """One small panel a run, four in a row: line, band and both cuts; a diamond at the name of a run with findings.

    All are on the same scales, so the values stand at the first of a row and the hours at the last of a column.
    """
    columns = 3 if len(runs) in (5, 6, 9) else 4
    cell = width / columns
    drawing = Drawing(width, math.ceil(len(runs) / columns) * _TALL, language.say("log.titles", n=len(runs)))
    values = [value for run in runs for _, value in run.series.get(tag, ()) if value is not None]
    bands = [run.band[tag] for run in runs if tag in run.band]
    reach = scale_over([*values, *(value for band in bands for value in (*band.low, *band.high))], 0.0, 1.0)
    longest = max(run.hours for run in runs)
    for position, run in enumerate(runs):
        left, top = (position % columns) * cell, (position // columns) * _TALL
        x = Scale(0.0, longest, left + _LEFT, left + cell - _RIGHT)
        y = Scale(reach.least, reach.most, top + _TALL - _FOOT, top + _HEAD)
        _small(drawing, run, tag, x, y)
        if position % columns == 0:
            for tick in (ticks := y.ticks(3)):
                words = language.figure(tick_label(tick, ticks))
                drawing.text(x.start - 3, y(tick) + 2, words, size=5.5, anchor="end", ink=SOFT)
        if position + columns >= len(runs):
            for tick in (ticks := x.ticks(4)):
                words = language.figure(tick_label(tick, ticks))
                drawing.text(x(tick), y.start + 8, words, size=5.5, anchor="middle", ink=SOFT)
    return drawing.svg()


def _small(drawing: Drawing, run: RunFigure, tag: str, x: Scale, y: Scale) -> None:
    top, floor = y.end, y.start
    if run.findings:
        drawing.mark("diamond", x.start + 2.0, top - 8.2, 2.0)
    drawing.text(x.start + (6.0 if run.findings else 0.0), top - 6.0, run.run, bold=True, widest=x.end - x.start - 8.0)
    if tag in run.band:
        band_area(drawing, run.band[tag], x, y)
    for tick in y.ticks(3):
        drawing.line(x.start, y(tick), x.end, y(tick), ink=FAINT, weight=0.3)
    for cut in run.cuts:
        if cut.curve_h is not None:
            drawing.line(x(cut.curve_h), top, x(cut.curve_h), floor, ink=CURVE_INK, weight=1.4)
        if cut.sheet_h is not None:
            drawing.line(x(cut.sheet_h), top, x(cut.sheet_h), floor, weight=0.6, dash=SHEET_DASH)
    drawing.path(within(run.series.get(tag, ()), x, y), weight=0.7)
