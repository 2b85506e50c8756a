"""Asks the book for every measure and puts the trends together; the trends' only queries."""

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from itertools import groupby
from pathlib import Path

import numpy as np
import polars as pl

from gaugebook.checks.rulebook.published_limits import label_at_20c
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.engineering.ethanol_water import DENSITY_WATER_20C
from gaugebook.pipeline.engineering.extract import plato_from_specific_gravity
from gaugebook.pipeline.house.settings import House
from gaugebook.pipeline.statistics.ratios import ratio_of_sums
from gaugebook.reports.page.figures import local_month
from gaugebook.reports.page.wording import plural
from gaugebook.reports.trends.change_findings import WINDOW, Watch, watch
from gaugebook.reports.trends.chart_averages import average_of, dating_of
from gaugebook.reports.trends.chart_limits import Spans, check_baselines, score
from gaugebook.reports.trends.chart_tests import capability, trend_of
from gaugebook.reports.trends.group_shares import breakdowns
from gaugebook.reports.trends.measure_list import BY_CODE, MEASURES, factor
from gaugebook.reports.trends.measures import FEW, FEWEST, RULES, Chart, Measure, Month, Point, Trends
from gaugebook.reports.warehouse.stock import stock_months

_HERE = Path(__file__).parent


def gather_trends(book: Book, house: House) -> Trends:
    """Every chart that the book holds runs for, with what changed."""
    check_baselines(house)
    first_time = book.frame((_HERE / "first_time.sql").read_text(encoding="utf-8"))
    rows = _rows(book, house, first_time)
    charts: list[tuple[Chart, Spans]] = []
    together: dict[str, dict[str, tuple[Month, ...]]] = {}
    for measure in MEASURES:
        of_measure = rows.get(measure.code, [])
        groups = _groups(measure, of_measure)
        if streams := _together(measure, of_measure, house.time_zone):
            together[measure.code] = streams
        charts += [_chart(measure, group, points, house) for group, points in groups.items()]
    last = _last(rows)
    watched = watch(charts, _consumers(book, last), last, house.time_zone)
    finished = {chart.key: _finished(chart, watched) for chart in watched.charts}
    findings = tuple(
        replace(finding, dating=dating_of(finished[finding.chart], finding)) for finding in watched.findings
    )
    standings = book.frame("SELECT standing, count(*) FROM flagged.standings GROUP BY standing")
    return Trends(
        house=house,
        charts=tuple(finished.values()),
        together=together,
        findings=findings,
        lone_runs=watched.lone_runs,
        breakdowns=breakdowns(tuple(finished.values())),
        alarms_seen=watched.alarms_seen,
        alarms_untold=watched.alarms_untold,
        alarms_by_chance=watched.alarms_by_chance,
        alarms_by_chance_most=watched.alarms_by_chance_most,
        alike=watched.alike,
        standings=dict(standings.iter_rows()),
        last=last,
        empty=_empty(finished.values()),
        rules=tuple(RULES.values()),
        notes={"right_first_time": _first_time_note(first_time)},
        stock=stock_months(book, house.time_zone),
    )


def _last(rows: dict[str, list[Point]]) -> datetime | None:
    """End of the last run; where none has ended, the last of all that is charted."""
    ended = {code: max(point.when for point in points) for code, points in rows.items() if points}
    runs = [when for code, when in ended.items() if BY_CODE[code].is_everywhere]
    return max(runs or ended.values(), default=None)


def _empty(charts: Iterable[Chart]) -> tuple[str, ...]:
    """Names of the measures without a figure, of those that every house has."""
    known = {chart.measure.code for chart in charts if chart.points}
    return tuple(measure.name for measure in MEASURES if measure.is_everywhere and measure.code not in known)


def _rows(book: Book, house: House, first_time: pl.DataFrame) -> dict[str, list[Point]]:
    """By measure the runs or batches in order of time, also those without a figure (value NaN)."""
    labels = pl.DataFrame(
        [(p.code, label_at_20c(p.label_strength_pct_vol, p.jurisdiction)) for p in house.products],
        schema={"product": pl.String, "label_strength_pct_vol": pl.Float64}, orient="row",
    )  # fmt: skip
    with book.with_temp_view("labels", labels):
        frame = book.frame((_HERE / "measure_rows.sql").read_text(encoding="utf-8"))
    parts = [_mash_rows(book), frame, _first_time_rows(first_time), _cask_rows(book, house), _dispatch_rows(book)]
    frame = pl.concat(parts, how="diagonal_relaxed")
    batch_of = dict(
        book.frame(
            "SELECT run, first(batch ORDER BY consumed DESC, batch) FROM derived.lineage "
            "WHERE (basis = 'LPA' OR basis = 'kg') AND consumed IS NOT NULL GROUP BY run"
        ).iter_rows()
    )
    scale = {measure.code: factor(measure) for measure in MEASURES}
    points: dict[str, list[Point]] = defaultdict(list)
    for row in frame.iter_rows(named=True):
        numerator, denominator = row["numerator"], row["denominator"]
        known = numerator is not None and denominator is not None and denominator > 0 and math.isfinite(numerator)
        by = scale[row["measure"]]
        points[row["measure"]].append(
            Point(
                run=row["run"] or "",
                batch=row["batch"] or batch_of.get(row["run"], ""),
                when=row["ended_at"],
                value=by * numerator / denominator if known else math.nan,
                u=by * row["u"] if known and row["u"] is not None else math.nan,
                numerator=numerator if known else math.nan,
                denominator=denominator if known else math.nan,
                still=row["equipment"] or "",
                recipe=row["recipe"] or "",
                operator=row["operator"] or "",
                product=row["product"] or "",
                malt_lots=tuple(sorted(row["malt_lots"] or ())),
                size=row["size"] or 1,
                predicted=math.nan if row["predicted"] is None else row["predicted"],
                casks=row["casks"] or "",
                duty_status=row["duty_status"] or "",
            )
        )
    return points


def _first_time_rows(frame: pl.DataFrame) -> pl.DataFrame:
    """Batches as ones and noughts; no number where no check has seen one."""
    return frame.select(
        pl.lit("right_first_time").alias("measure"), "run", "batch", "ended_at", "equipment", "product", "operator",
        pl.col("is_right").cast(pl.Float64).alias("numerator"), pl.lit(1.0).alias("denominator"),
        pl.lit(None, pl.Float64).alias("u"),
    )  # fmt: skip


def _first_time_note(frame: pl.DataFrame) -> str:
    """How many batches have no decision, and how many no check either."""
    undecided, unchecked = (~frame["has_decision"]).sum(), frame["is_right"].is_null().sum()
    if not undecided:
        return ""
    sentence = f"{undecided} of {plural(len(frame), 'batch', 'batches')} have no decision on record"
    sentence += ": they go by the flags of all checks so far."
    return f"{sentence} {unchecked} that no check has seen are left out." if unchecked else sentence


def _mash_rows(book: Book) -> pl.DataFrame:
    """Extract in the wort over extract fed, mash by mash."""
    frame = book.frame((_HERE / "mash_rows.sql").read_text(encoding="utf-8"))
    gravity = frame["original_gravity"].cast(pl.Float64).to_numpy().astype(float)
    fit = np.where((gravity > 0.98) & (gravity < 1.18), gravity, np.nan)
    plato = np.asarray(plato_from_specific_gravity(np.where(np.isfinite(fit), fit, 1.0)))
    wort_kg = frame["volume_l"].cast(pl.Float64) * pl.Series(fit * DENSITY_WATER_20C / 1000 * plato / 100)
    return frame.select(
        pl.lit("mash_efficiency").alias("measure"),
        "run",
        pl.lit(None, pl.String).alias("batch"),
        "ended_at",
        wort_kg.fill_nan(None).alias("numerator"),
        pl.col("extract_kg").alias("denominator"),
        (wort_kg * frame["u_volume_l"] / frame["volume_l"] / frame["extract_kg"]).fill_nan(None).alias("u"),
        "equipment",
        "recipe",
        pl.lit(None, pl.String).alias("product"),
        "malt_lots",
        "operator",
    )


def _cask_rows(book: Book, house: House) -> pl.DataFrame:
    """What evaporated, by days on which casks were gauged."""
    return book.frame((_HERE / "cask_rows.sql").read_text(encoding="utf-8"), {"zone": house.time_zone})


def _dispatch_rows(book: Book) -> pl.DataFrame:
    """What was sent out, by documents."""
    return book.frame((_HERE / "dispatch_rows.sql").read_text(encoding="utf-8"))


def _groups(measure: Measure, points: list[Point]) -> dict[str, list[Point]]:
    """Points that make one chart: of one still (and recipe, where a still has several), recipe or product."""
    if not measure.group_kind:
        return {"": points} if points else {}
    recipes: dict[str, set[str]] = defaultdict(set)
    for point in points:
        recipes[point.still].add(point.recipe)
    groups: dict[str, list[Point]] = defaultdict(list)
    for point in points:
        name = getattr(point, measure.group_kind) or f"no {measure.group_kind} on record"
        if measure.group_kind == "still" and len(recipes[point.still]) > 1 and measure.code != "utilisation":
            name = f"{name}, {point.recipe or 'no recipe on record'}"
        groups[name].append(point)
    return dict(sorted(groups.items()))


def _chart(measure: Measure, group: str, points: list[Point], house: House) -> tuple[Chart, Spans]:
    key = f"{measure.code}:{group}" if group else measure.code
    scored = score(measure, group, points, house)
    chart = Chart(
        key=key,
        measure=measure,
        group=group,
        title=f"{measure.name}, {group}" if group else measure.name,
        points=scored.points,
        months=_months(measure, points, house.time_zone),
        limits=scored.limits[-1] if scored.limits else None,
        earlier_limits=scored.limits[:-1],
    )
    return chart, scored.spans


def _months(measure: Measure, points: list[Point], zone: str) -> tuple[Month, ...]:
    """Ratios of sums, or sums, by the house's calendar; a month in which nothing ended is not there."""
    by, months = factor(measure), []
    in_order = sorted(points, key=lambda point: point.when)
    for month, part in groupby(in_order, key=lambda point: local_month(point.when, zone)):
        of_month = list(part)
        known = [point for point in of_month if point.value == point.value]
        if not known:
            months.append(Month(month, math.nan, math.nan, 0, len(of_month)))
            continue
        if measure.adds_up:
            total = math.fsum(point.numerator for point in known)
            months.append(Month(month, by * total, math.nan, len(known), len(of_month) - len(known)))
            continue
        ratio = ratio_of_sums([point.numerator for point in known], [point.denominator for point in known])
        u = by * ratio.u_ratio if len(known) >= FEW else math.nan
        months.append(Month(month, by * ratio.ratio, u, len(known), len(of_month) - len(known)))
    return tuple(months)


def _together(measure: Measure, points: list[Point], zone: str) -> dict[str, tuple[Month, ...]]:
    """By recipe or product its months over all its stills, where it ran on several.

    Only what is alike has a mean: apple spirit at 33 % vol beside grain spirit at 91 would give a strength of neither.
    """
    if measure.group_kind != "still":
        return {}
    streams: dict[str, list[Point]] = defaultdict(list)
    for point in points:
        streams["" if measure.code == "utilisation" else point.recipe or point.product].append(point)
    several = {
        name: own
        for name, own in sorted(streams.items())
        if len({point.still for point in own}) > 1 and (name or measure.code == "utilisation")
    }
    return {name: _months(measure, own, zone) for name, own in several.items()}


def _finished(chart: Chart, watched: Watch) -> Chart:
    """The chart with what needs to know whether it is stable."""
    if len(chart.points) < FEWEST or chart.measure.adds_up:
        return chart
    changed = any(finding.chart == chart.key for finding in watched.findings)
    lone = any(run.chart == chart.key for run in watched.lone_runs)
    index, why = capability(chart, is_stable=not (changed or lone or chart.alarms))
    trend, neighbours = trend_of(chart)
    return replace(
        chart,
        capability=index,
        why_no_capability=why,
        trend=trend,
        neighbours=neighbours,
        average=average_of(chart, watched.alike),
    )


def _consumers(book: Book, last: datetime | None) -> dict[str, list[tuple[str, float]]]:
    """By run of the last year the batches behind which it stands, with how much of its lots went there, most first."""
    if last is None:
        return {}
    frame = book.frame(
        "SELECT run, batch, sum(consumed) AS drawn FROM derived.lineage "
        "WHERE (basis = 'LPA' OR basis = 'kg') AND run IN (SELECT run FROM derived.runs WHERE ended_at > ?) "
        "GROUP BY ALL ORDER BY run, drawn DESC NULLS LAST, batch",
        [last - WINDOW],
    )
    consumers: dict[str, list[tuple[str, float]]] = defaultdict(list)
    for run, batch, drawn in frame.iter_rows():
        consumers[run].append((batch, drawn or 0.0))
    return consumers
