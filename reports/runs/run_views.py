"""What the dossier shows of a stage's logs: which runs at full size, which small, and the words under each figure.

A stage of a few runs shows each at full size. Of a longer one all runs stand side by side, small, and those whose log
has findings follow at full size, those farthest from the good runs: a QA lead looks at what went otherwise, and sees
beside it that the rest did not.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from gaugebook.pipeline.derived.curves.records import COLUMN, POT, VAPOUR
from gaugebook.pipeline.statistics.run_band import LEAST_RUNS
from gaugebook.reports.page.language import Language
from gaugebook.reports.page.rule_words import minus
from gaugebook.reports.page.wording import shown, unbroken
from gaugebook.reports.runs.run_chart import MOST_FINDINGS, clock, in_few_words, panels_of, run_chart
from gaugebook.reports.runs.run_figures import STRETCHES, FindingMark, RunFigure
from gaugebook.reports.runs.run_overview import overview_chart, shown_tag

EACH_FULL = 3  # stages of up to so many logged runs show each at full size
BANDED = ("within", "left")  # standings of a run that was held against a band
MOST_FULL = 3  # of a longer stage
SMALL_ON_A_PAGE = 24
_THERMOMETERS = (POT, COLUMN, VAPOUR)


@dataclass(frozen=True)
class RunView:
    """A figure with its caption and what was found, in words."""

    svg: Markup
    caption: str
    findings: tuple[Markup, ...] = ()


def run_views(runs: Sequence[RunFigure], zone: str, language: Language) -> tuple[RunView, ...]:
    """The figures of a stage."""
    if len(runs) <= EACH_FULL:
        return tuple(full_view(run, zone, language) for run in runs)
    with_findings = sorted((run for run in runs if run.findings), key=_farthest, reverse=True)
    shown = {run.run for run in with_findings[:MOST_FULL]}
    small = [
        _small_view(runs[start : start + SMALL_ON_A_PAGE], shown, language)
        for start in range(0, len(runs), SMALL_ON_A_PAGE)
    ]
    return (*small, *(full_view(run, zone, language) for run in runs if run.run in shown))


def full_view(figure: RunFigure, zone: str, language: Language) -> RunView:
    """One run at full size."""
    rows = "log.thinned" if figure.rows > 2 * STRETCHES else "log.rows"
    sentences = [
        language.say(
            "log.caption", run=figure.run, equipment=figure.equipment, drawn=_drawn(figure, language),
            began=language.moment(figure.log_started_at, zone),
            rows=language.say(rows, n=figure.rows, of=STRETCHES),
        ),
        _cuts(figure, language),
        band_sentence(figure, language),
    ]  # fmt: skip
    if {tag for panel in panels_of(figure) for tag in panel.drawn} & set(figure.set_aside):
        sentences.append(language.say("log.set_aside"))
    findings_shown = [
        Markup("{} {}").format(number, describe_finding(figure, mark, zone, language))
        for number, mark in enumerate(figure.findings[:MOST_FINDINGS], start=1)
    ]
    if rest := figure.findings[MOST_FINDINGS:]:
        findings_shown.append(language.markup("log.more_findings", n=len(rest), run=figure.run))
    return RunView(run_chart(figure, zone, language), " ".join(sentences), tuple(findings_shown))


def describe_finding(figure: RunFigure, mark: FindingMark, zone: str, language: Language) -> Markup:
    """A finding in a line: what, where, when, how much."""
    start, end = (clock(figure, at, zone) for at in (mark.from_h, mark.to_h))
    times = start if start == end else language.say("log.from_to", start=start, end=end)
    words, detail = in_few_words(mark, language), language.marked(unbroken(minus(mark.detail)))
    return Markup("{}, {}: {}").format(shown(words), times, detail)


def band_sentence(figure: RunFigure, language: Language) -> str:
    """Whether the run is as the good runs are, below a chart that draws their band."""
    band = describe_band(figure, language)
    return language.say("log.grey_area", band=band) if figure.band_standing in BANDED else band


def describe_band(figure: RunFigure, language: Language) -> str:
    """Whether the run is as the good runs are, or why that cannot be said."""
    if figure.band_standing == "no band yet":
        return language.say("log.no_band", n=figure.band_runs, least=LEAST_RUNS)
    if figure.band_standing not in BANDED:
        return language.say("log.not_compared")
    return language.say(
        f"log.{figure.band_standing}",
        n=figure.band_runs,
        distance=language.number(figure.distance, 2),
        limit=language.number(figure.distance_limit, 2),
    )


def clock_difference(figure: RunFigure, language: Language, run: str = "") -> str:
    """By how much the sheet's cuts were moved to stand on the log's clock; of many runs with the run's name."""
    minutes = minus(f"{figure.clock_off_min:+.0f}")
    return language.say("log.clock_off_of" if run else "log.clock_off", minutes=minutes, run=run)


def _small_view(runs: Sequence[RunFigure], full: set[str], language: Language) -> RunView:
    tag = shown_tag(runs)
    with_findings = [run.run for run in runs if run.findings]
    left_out = [run for run in with_findings if run not in full]
    banded, least = sum(tag in run.band for run in runs), LEAST_RUNS
    sentences = [
        language.say(
            "log.caption_small", runs=language.say("runs.count", n=len(runs)), first=runs[0].run, last=runs[-1].run,
            drawn=language.say(f"log.{tag}"), n=sum(run.rows for run in runs),
        ),
        language.say("log.small_band", n=len(runs) - banded) if banded else language.say("log.small_no_band", n=least),
        *(clocks := [clock_difference(run, language, run.run) for run in runs if run.clock_off_min]),
        language.say(f"log.small_{'found' if with_findings else 'else_quiet' if clocks else 'quiet'}"),
    ]  # fmt: skip
    if left_out:
        sentences.append(language.say("log.small_left_out", runs=language.listed(left_out)))
    return RunView(overview_chart(runs, tag, language), " ".join(sentences))


def _farthest(figure: RunFigure) -> tuple[float, int]:
    away = (figure.distance or 0.0) / figure.distance_limit if figure.distance_limit else 0.0
    return away, len(figure.findings)


def _drawn(figure: RunFigure, language: Language) -> str:
    """What the panels show."""
    tags = [tag for panel in panels_of(figure) for tag in panel.drawn]
    warm = [language.name("tag", tag) for tag in tags if tag in _THERMOMETERS]
    words = [language.say("log.temperatures", n=len(warm), of=language.listed(warm))] if warm else []
    return language.listed([*words, *(language.say(f"log.{tag}") for tag in tags if tag not in _THERMOMETERS)])


def _cuts(figure: RunFigure, language: Language) -> str:
    by = [
        language.say("log.cut_by", cut=language.name("cut", cut.name), by=language.name("cut_by", cut.by))
        for cut in figure.cuts
        if cut.curve_h is not None
    ]
    sentences = [language.say("log.cuts", by=language.listed(by)) if by else language.say("log.no_curve_cuts")]
    if all(cut.sheet_h is None for cut in figure.cuts):
        sentences.append(language.say("log.no_cuts"))
    if figure.clock_off_min:
        sentences.append(clock_difference(figure, language))
    return " ".join(sentences)
