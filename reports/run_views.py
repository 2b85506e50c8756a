"""What the dossier shows of a stage's logs: which runs at full size, which small, and the words under each figure.

A stage of a few runs shows each at full size. Of a longer one all runs stand side by side, small, and those whose log
has findings follow at full size, those farthest from the good runs: a QA lead looks at what went otherwise, and sees
beside it that the rest did not.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.derived.curve_records import COLUMN, COUNTER, FLOW, PARROT, POT, STRENGTH, VAPOUR
from pipeline.statistics.run_band import LEAST_RUNS
from reports import figures
from reports.run_chart import MOST_FINDINGS, clock, in_few_words, panels_of, run_chart
from reports.run_figures import STRETCHES, FindingMark, RunFigure
from reports.run_overview import overview_chart, shown_tag
from reports.wording import listed, plural

EACH_FULL = 3  # stages of up to so many logged runs show each at full size
MOST_FULL = 3  # of a longer stage
SMALL_ON_A_PAGE = 24
_THERMOMETERS = {POT: "pot", COLUMN: "column", VAPOUR: "vapour"}
_OTHERS = {
    STRENGTH: "strength (parrot, corrected to 20 °C)",
    PARROT: "reading of the parrot, uncorrected",
    FLOW: "flow of distillate",
    COUNTER: "counted volume",
}


@dataclass(frozen=True)
class RunView:
    """A figure with its caption and what was found, in words."""

    svg: Markup
    caption: str
    findings: tuple[str, ...] = ()


def run_views(runs: Sequence[RunFigure], zone: str) -> tuple[RunView, ...]:
    """The figures of a stage."""
    if len(runs) <= EACH_FULL:
        return tuple(full_view(run, zone) for run in runs)
    told = sorted((run for run in runs if run.findings), key=_farthest, reverse=True)
    shown = {run.run for run in told[:MOST_FULL]}
    small = [
        _small_view(runs[start : start + SMALL_ON_A_PAGE], shown) for start in range(0, len(runs), SMALL_ON_A_PAGE)
    ]
    return (*small, *(full_view(run, zone) for run in runs if run.run in shown))


def full_view(figure: RunFigure, zone: str) -> RunView:
    """One run at full size."""
    sentences = [
        f"{figure.run} on {figure.equipment}, log from {figures.moment(figure.log_started_at, zone)}: {_drawn(figure)}",
        _cuts(figure),
        band_sentence(figure),
    ]
    if {tag for panel in panels_of(figure) for tag in panel.drawn} & set(figure.set_aside):
        sentences.append("Dotted, or a hollow diamond: set aside as not measured; nothing is put in its place")
    found = [
        f"{number} {in_few_words(mark)}, {times_of(figure, mark, zone)}: {minus(mark.detail)}"
        for number, mark in enumerate(figure.findings[:MOST_FINDINGS], start=1)
    ]
    if rest := figure.findings[MOST_FINDINGS:]:
        found.append(f'{plural(len(rest), "more finding")}; "gaugebook run {figure.run}" lists them')
    return RunView(run_chart(figure, zone), ". ".join(sentences) + ".", tuple(found))


def band_sentence(figure: RunFigure) -> str:
    """Whether the run is as the good runs are, or why that cannot be said."""
    if figure.band_standing == "no band yet":
        return (
            f"No band yet: {plural(figure.band_runs, 'other good run')} of this still and recipe, "
            f"and a band takes {LEAST_RUNS}"
        )
    if figure.band_standing not in ("within", "left"):
        return "Not compared with other runs: the log does not show the phases"
    how = "within" if figure.band_standing == "within" else "beyond"
    return (
        f"Grey area: {figure.band_runs} good runs of this still and recipe, laid over by phase; distance of this run "
        f"{figures.number(figure.distance, 2)}, {how} the limit of {figures.number(figure.distance_limit, 2)}"
    )


def _small_view(runs: Sequence[RunFigure], full: set[str]) -> RunView:
    tag, words = shown_tag(runs)
    told = [run.run for run in runs if run.findings]
    left_out = [run for run in told if run not in full]
    sentences = [
        f"{plural(len(runs), 'run')}, {runs[0].run} to {runs[-1].run}: {words} against hours after the log began, "
        f"all on the same scales, {sum(run.rows for run in runs):,} rows of log",
        "Grey line: cut by the curve; dashed: by the run sheet",
    ]
    bands = sum(tag in run.band for run in runs)
    if bands:
        others = f"; {plural(len(runs) - bands, 'run')} without" if bands < len(runs) else ""
        sentences.append(f"Grey area: band of the good runs of the same still and recipe{others}")
    else:
        sentences.append(f"No band yet: a band takes {LEAST_RUNS} other good runs of the same still and recipe")
    if told:
        sentences.append(f"Diamond: something was found in the log; {'each' if not left_out else 'the farthest'} below")
    else:
        sentences.append("Nothing was found in these logs")
    if left_out:
        sentences.append(f'Not shown at full size: {listed(left_out)} ("gaugebook run RUN" tells)')
    return RunView(overview_chart(runs, tag), ". ".join(sentences) + ".")


def _farthest(figure: RunFigure) -> tuple[float, int]:
    away = (figure.distance or 0.0) / figure.distance_limit if figure.distance_limit else 0.0
    return away, len(figure.findings)


def _drawn(figure: RunFigure) -> str:
    """What the panels show, and of how many rows."""
    tags = [tag for panel in panels_of(figure) for tag in panel.drawn]
    warm = [_THERMOMETERS[tag] for tag in tags if tag in _THERMOMETERS]
    words = [f"{'temperature' if len(warm) == 1 else 'temperatures'} of {listed(warm)}"] if warm else []
    words += [_OTHERS[tag] for tag in tags if tag in _OTHERS]
    thinned = f" thinned to the extremes of {STRETCHES} stretches" if figure.rows > 2 * STRETCHES else ""
    return f"{listed(words)}; {figure.rows:,} rows{thinned}"


def _cuts(figure: RunFigure) -> str:
    shown = [cut for cut in figure.cuts if cut.curve_h is not None]
    sentence = "The curve does not show its cuts"
    if shown:
        by = listed([f"{cut.name} by {cut.by}" for cut in shown])
        sentence = f"Grey lines: cuts by the curve ± U (k = 2), {by}; dashed: by the run sheet"
    if all(cut.sheet_h is None for cut in figure.cuts):
        sentence += "; no cuts are on the run sheet"
    if figure.clock_off_min:
        sentence += f", {clock_difference(figure)}"
    return sentence


def clock_difference(figure: RunFigure) -> str:
    """By how much the sheet's cuts were moved to stand on the log's clock."""
    return f"moved by {minus(f'{figure.clock_off_min:+.0f}')} min, by which the log's clock is off"


def minus(words: str) -> str:
    """The sign of a negative number as it is printed."""
    return re.sub(r"(?<!\w)-(?=\d)", "−", words)


def times_of(figure: RunFigure, mark: FindingMark, zone: str) -> str:
    """The times of day of a finding."""
    start, end = (clock(figure, at, zone) for at in (mark.from_h, mark.to_h))
    return start if start == end else f"{start} to {end}"
