"""The stages of a batch as the dossier tells them: a sentence, what went in and out, the curves."""

from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from gaugebook.reports.dossier.records import STILL_STAGES, Balance, Batch, Flag, Gauge, Stage
from gaugebook.reports.dossier.stage_sums import Contraction, PartSum, balance_of, contraction, formed_in, part_sums
from gaugebook.reports.page.language import Language
from gaugebook.reports.runs.run_views import RunView, run_views

EACH_GAUGE = 3  # stages of up to so many runs show every gauge, longer ones show sums by part


@dataclass(frozen=True)
class Chart:
    """A drawing with the caption that says what it shows."""

    svg: Markup
    caption: str


@dataclass(frozen=True)
class StageView:
    stage: Stage
    title: str
    sentence: str
    total: Balance | None
    every_gauge: tuple[Gauge, ...]
    sums: tuple[PartSum, ...]
    charts: tuple[RunView, ...]
    no_chart: str
    flags: tuple[Flag, ...]
    formed: tuple[float, float] | None  # what fermentation formed, and its standard uncertainty [LPA]
    contraction: Contraction | None


def stage_views(batch: Batch, language: Language) -> tuple[StageView, ...]:
    """Each stage of the chain in order."""
    flags = flags_by_stage(batch)
    return tuple(_view(batch, stage, flags.get(stage.name, ()), language) for stage in batch.stages)


def flags_by_stage(batch: Batch) -> dict[str, tuple[Flag, ...]]:
    """Every flag of the batch at one stage: that of its run, else that at which its lot was made or, where the lot was
    received, first drawn; what names the batch alone, or a run or lot of no stage here, stands at the last stage."""
    stage_of_run = {run.run: stage.name for stage in batch.stages for run in stage.runs}
    stage_of_lot: dict[str, str] = {}
    for stage in reversed(batch.stages):  # the first stage that drew it is told last, and so stays
        stage_of_lot |= {edge.lot: stage.name for edge in batch.edges if edge.stage == stage.name}
    stage_of_lot |= {edge.into_lot: edge.stage for edge in batch.edges}
    by_stage: dict[str, list[Flag]] = {}
    for flag in batch.flags if batch.stages else ():
        place = stage_of_run.get(flag.run or "") or stage_of_lot.get(flag.lot or "") or batch.stages[-1].name
        by_stage.setdefault(place, []).append(flag)
    return {name: tuple(flags) for name, flags in by_stage.items()}


def _view(batch: Batch, stage: Stage, flags: tuple[Flag, ...], language: Language) -> StageView:
    total = balance_of(stage, batch.errors)
    curves, why_none = _charts(batch, stage, language)
    return StageView(
        stage=stage,
        title=language.name("title", stage.name),
        sentence=_sentence(stage, total, batch, language),
        total=total,
        every_gauge=stage.gauges if len(stage.runs) <= EACH_GAUGE else (),
        sums=part_sums(stage.gauges, batch.errors),
        formed=formed_in(stage, batch.errors),
        contraction=contraction(stage.gauges, batch.errors),
        charts=curves,
        no_chart=why_none,
        flags=flags,
    )


def _sentence(stage: Stage, total: Balance | None, batch: Batch, language: Language) -> str:
    ended = [run.ended_at for run in stage.runs if run.ended_at]
    opening = language.say(
        "stages.opening",
        runs=language.say("runs.count", n=len(stage.runs)),
        equipment=language.listed(sorted({run.equipment for run in stage.runs})),
        span=_span(stage.runs[0].started_at, max(ended) if ended else None, batch.house.time_zone, language),
    )
    if stage.name == "ferment" and stage.ferments:
        return _fermented(stage, formed_in(stage, batch.errors, with_grain=True), opening, language)
    if total is None or total.alcohol_in_l is None:
        return language.say("stages.alone", opening=opening)
    return language.say(
        "stages.moved",
        opening=opening,
        charged=language.stated(total.alcohol_in_l, total.u_alcohol_in_l, "LPA"),
        made=language.stated(total.hearts_l, total.u_hearts_l, "LPA"),
        kept=language.say("stages.hearts" if stage.name in STILL_STAGES else "stages.product"),
        share=language.percent(total.recovery, total.u_recovery),
    )


def _fermented(stage: Stage, formed: tuple[float, float] | None, opening: str, language: Language) -> str:
    if formed is None:
        return language.say("stages.no_yield", opening=opening)
    alcohol, u = formed
    grain = sum(row.grain_kg or 0 for row in stage.ferments.values() if row.alcohol_l is not None)
    tonnes = grain / 1000
    return language.say(
        "stages.formed",
        opening=opening,
        alcohol=language.stated(alcohol, u, "LPA"),
        grain=language.stated(grain, None, "kg"),
        **{"yield": language.stated(alcohol / tonnes, u / tonnes, "LPA")},
    )


def _span(start: datetime, end: datetime | None, zone: str, language: Language) -> str:
    first, last = language.day(start, zone), language.day(end, zone)
    if end is None:
        return language.say("stages.not_ended", first=first)
    if first == last:
        return language.say("stages.on_day", day=first)
    return language.say("stages.span", first=first, last=last)


def _charts(batch: Batch, stage: Stage, language: Language) -> tuple[tuple[RunView, ...], str]:
    if stage.name not in STILL_STAGES:
        return (), ""
    logged = [stage.curves[run.run] for run in stage.runs if run.run in stage.curves]
    silent = [run.run for run in stage.runs if run.run not in stage.curves]
    why = language.say("stages.no_log", n=len(silent), runs=language.listed(silent)) if silent else ""
    return run_views(logged, batch.house.time_zone, language), why
