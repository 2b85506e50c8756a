"""The stages of a batch as the dossier tells them: a sentence, what went in and out, the curves."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from reports.dossier.records import STILL_STAGES, Balance, Batch, Flag, Gauge, Stage
from reports.page.language import Language
from reports.runs.run_views import RunView, run_views

EACH_GAUGE = 3  # stages of up to so many runs show every gauge, longer ones show sums by part


@dataclass(frozen=True)
class Chart:
    """A drawing with the caption that says what it shows."""

    svg: Markup
    caption: str


@dataclass(frozen=True)
class PartSum:
    """All gauges of one part of a stage, taken together."""

    direction: str
    part: str
    lots: int
    mass_kg: float | None
    volume_l: float | None
    u_volume_l: float | None
    alcohol_l: float | None
    u_alcohol_l: float | None
    not_computed: int

    @property
    def strength_pct_vol(self) -> float | None:
        return 100 * self.alcohol_l / self.volume_l if self.alcohol_l and self.volume_l else None


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

    @property
    def formed_l(self) -> float | None:
        """What fermentation formed in this stage, where it did [LPA]."""
        formed = [row.alcohol_l for row in self.stage.ferments.values() if row.alcohol_l is not None]
        return sum(formed) if formed else None

    @property
    def u_formed_l(self) -> float:
        """Its standard uncertainty, runs taken as independent [LPA]."""
        return sum((row.u_alcohol_l or 0.0) ** 2 for row in self.stage.ferments.values()) ** 0.5


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
    found: dict[str, list[Flag]] = {}
    for flag in batch.flags if batch.stages else ():
        place = stage_of_run.get(flag.run or "") or stage_of_lot.get(flag.lot or "") or batch.stages[-1].name
        found.setdefault(place, []).append(flag)
    return {name: tuple(flags) for name, flags in found.items()}


def _view(batch: Batch, stage: Stage, flags: tuple[Flag, ...], language: Language) -> StageView:
    total = balance_of(stage.balances.values(), stage.name)
    curves, why_none = _charts(batch, stage, language)
    return StageView(
        stage=stage,
        title=language.name("title", stage.name),
        sentence=_sentence(stage, total, batch.house.time_zone, language),
        total=total,
        every_gauge=stage.gauges if len(stage.runs) <= EACH_GAUGE else (),
        sums=_sums(stage.gauges),
        charts=curves,
        no_chart=why_none,
        flags=flags,
    )


def balance_of(balances: Iterable[Balance], name: str) -> Balance | None:
    """Several runs as one balance: sums, ratios of sums, uncertainties of the runs taken as independent."""
    rows = list(balances)
    if len(rows) == 0:
        return None
    if len(rows) == 1:
        return rows[0]

    def total(field: str) -> float | None:
        values = [value for row in rows if (value := getattr(row, field)) is not None]
        return sum(values) if values else None

    def u_total(field: str) -> float | None:
        values = [value for row in rows if (value := getattr(row, field)) is not None]
        return sum(value * value for value in values) ** 0.5 if values else None

    charge, hearts, out = total("alcohol_in_l"), total("hearts_l"), total("alcohol_out_l")
    missing = [row.missing_gauges for row in rows if row.missing_gauges]
    u_in, u_out = u_total("u_alcohol_in_l"), u_total("u_alcohol_out_l")
    # a ratio of sums takes in only runs that have both; the whole closes only where every gauge is there
    closure = out / charge if out is not None and charge and not missing else None
    both = [row for row in rows if row.recovery is not None]
    charged = sum(row.alcohol_in_l or 0.0 for row in both)
    recovery = sum(row.hearts_l or 0.0 for row in both) / charged if charged else None

    def u_weighted(field: str) -> float | None:
        """Of a ratio of sums: each run's own, weighted by its charge."""
        if not charge:
            return None
        return (
            sum((row.alcohol_in_l * (getattr(row, field) or 0.0)) ** 2 for row in rows if row.alcohol_in_l) ** 0.5
            / charge
        )

    return Balance(
        run=name,
        alcohol_in_l=charge, u_alcohol_in_l=u_in, alcohol_out_l=out, u_alcohol_out_l=u_out,
        heads_l=total("heads_l"), hearts_l=hearts, u_hearts_l=u_total("u_hearts_l"), tails_l=total("tails_l"),
        spent_l=total("spent_l"),
        loss_l=total("loss_l"), u_loss_l=u_total("u_loss_l"), recovery=recovery, u_recovery=u_weighted("u_recovery"),
        closure=closure, u_closure=u_weighted("u_closure"), volume_in_l=total("volume_in_l"),
        volume_out_l=total("volume_out_l"), hearts_strength_pct_vol=None,
        parts_not_computed=sum(row.parts_not_computed or 0 for row in rows),
        missing_gauges=", ".join(missing) or None,
    )  # fmt: skip


def _sums(gauges: tuple[Gauge, ...]) -> tuple[PartSum, ...]:
    keys = dict.fromkeys((gauge.direction, gauge.part) for gauge in sorted(gauges, key=lambda g: g.direction))
    return tuple(_part_sum(key, [g for g in gauges if (g.direction, g.part) == key]) for key in keys)


def _part_sum(key: tuple[str, str], gauges: list[Gauge]) -> PartSum:
    def total(field: str, power: int = 1) -> float | None:
        values = [value for gauge in gauges if (value := getattr(gauge, field)) is not None]
        return sum(value**power for value in values) ** (1 / power) if values else None

    return PartSum(
        *key,
        lots=len({gauge.lot for gauge in gauges}),
        mass_kg=total("mass_kg"),
        volume_l=total("volume_l"),
        u_volume_l=total("u_volume_l", 2),
        alcohol_l=total("alcohol_l"),
        u_alcohol_l=total("u_alcohol_l", 2),
        not_computed=sum(gauge.not_computed is not None for gauge in gauges),
    )


def contraction(sums: Iterable[PartSum]) -> tuple[float, float, float] | None:
    """What is missing in the sum of the volumes: it and its standard uncertainty [L], and its share of what went in.

    Gauges are taken as independent; None where one side has no volume.
    """
    known = [part for part in sums if part.volume_l is not None]
    into, out = (sum(part.volume_l or 0.0 for part in known if part.direction == way) for way in ("in", "out"))
    if not into or not out:
        return None
    u = sum((part.u_volume_l or 0.0) ** 2 for part in known) ** 0.5
    return into - out, u, (into - out) / into


def _sentence(stage: Stage, total: Balance | None, zone: str, language: Language) -> str:
    ended = [run.ended_at for run in stage.runs if run.ended_at]
    opening = language.say(
        "stages.opening",
        runs=language.say("runs.count", n=len(stage.runs)),
        equipment=language.listed(sorted({run.equipment for run in stage.runs})),
        span=_span(stage.runs[0].started_at, max(ended) if ended else None, zone, language),
    )
    if stage.name == "ferment" and stage.ferments:
        return _fermented(stage, opening, language)
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


def _fermented(stage: Stage, opening: str, language: Language) -> str:
    rows = [row for row in stage.ferments.values() if row.alcohol_l is not None and row.grain_kg]
    if not rows:
        return language.say("stages.no_yield", opening=opening)
    alcohol, grain = sum(row.alcohol_l or 0 for row in rows), sum(row.grain_kg or 0 for row in rows)
    u = sum((row.u_alcohol_l or 0) ** 2 for row in rows) ** 0.5
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
