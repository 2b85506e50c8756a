"""The board as plain data: what the page and `--json` show, every figure already in words by the one rounding rule.

Records point at each other by their place in the lists. Moments are minutes of the house's own clock since 1970, so
that the page needs no time zone. Text from files is made fit to print here; escaping is the page's.
"""

import math
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from gaugebook.pipeline.exported import exported
from gaugebook.reports.board.board import AGES, Board, Row, age_class, days_to
from gaugebook.reports.board.board_curves import packed_curves
from gaugebook.reports.board.board_warehouse import warehouse_data
from gaugebook.reports.page import figures, wording
from gaugebook.reports.page.pages import file_name
from gaugebook.reports.page.rule_words import spell_flag
from gaugebook.reports.page.wording import listed, plural
from gaugebook.reports.trends.events import changed_charts, events, headline
from gaugebook.reports.trends.measures import (
    FEWEST,
    RULES,
    Chart,
    Finding,
    LoneRun,
    Measure,
    Month,
    Point,
    Share,
    Trends,
)
from gaugebook.reports.trends.trend_words import describe_baseline, describe_chart, describe_months

HEADLINES = {"clear": "may go", "to explain": "may go once explained", "stopped": "may not go"}
# What a part is called where its name on record says less, or something else, than a distiller does; by stage first.
_PRODUCTS = {
    ("rectify", "hearts"): "rectified spirit",
    ("botanical", "hearts"): "distillate",
    ("", "bottles"): "bottled spirit",
}
Plain = dict[str, Any]
_EXACT = ("slug", "dossier")  # addresses, of safe characters only


class _Places:
    """Where each batch, run and flag stands in its list."""

    def __init__(self, board: Board) -> None:
        self.batch = {row["batch"]: number for number, row in enumerate(board.batches)}
        self.run = {row["run"]: number for number, row in enumerate(board.runs)}
        self.zone = ZoneInfo(board.house.time_zone)

    def batches(self, codes: Any) -> list[int]:
        return [self.batch[code] for code in codes or () if code in self.batch]

    def minute(self, at: datetime | None) -> int | None:
        """Minutes of the house's clock since 1970."""
        if at is None:
            return None
        local = at.replace(tzinfo=UTC).astimezone(self.zone).replace(tzinfo=UTC)
        return int(local.timestamp() // 60)


def board_data(board: Board) -> Plain:
    """Everything that the board shows, ready for JSON and for the template."""
    places = _Places(board)
    zone = board.house.time_zone
    flags = [_flag(row, board, places) for row in board.flags]
    by_batch: dict[int, list[int]] = {}
    by_run: dict[str, list[int]] = {}
    for number, (flag, row) in enumerate(zip(flags, board.flags, strict=True)):
        for batch in flag["batches"]:
            by_batch.setdefault(batch, []).append(number)
        by_run.setdefault(row["run"], []).append(number)
    logged, curves = packed_curves(board.curves)
    data = {
        "house": {"name": board.house.name, "note": board.house.note, "zone": zone},
        "checked": figures.moment(board.checked_at, zone),
        "last": figures.day(board.last, zone),
        "ages": [words for _, words in AGES],
        "rules": RULES,
        "batches": [_batch(row, board, by_batch.get(n, []), zone) for n, row in enumerate(board.batches)],
        "flags": flags,
        "runs": [_run(row, by_run.get(row["run"], []), logged, places) for row in board.runs],
        "measures": _measures(board),
        "charts": [_chart(chart, board, places) for chart in board.trends.charts],
        "headline": headline(board.trends),
        "changes": _changes(board, places),
        "findings": [_finding(finding, board, places) for finding in board.trends.findings],
        "lone_runs": [_lone_run(lone, places) for lone in board.trends.lone_runs],
        "alarms": _alarms(board.trends),
        "empty": list(board.trends.empty),
        "warehouse": warehouse_data(board.warehouse, board.trends.stock, zone),
        "curves": curves,
    }
    fit: Plain = _printable(data)
    return fit


def _alarms(trends: Trends) -> str:
    """How many alarms each month gave, and what they are held against."""
    return " ".join([*describe_months(trends), describe_baseline(trends)]) if trends.charts else ""


def _batch(row: Row, board: Board, flags: list[int], zone: str) -> Plain:
    product = board.house.product(row["product"])
    strength = figures.stated(row["laboratory_strength_pct_vol"], row["u_laboratory_strength_pct_vol"], "% vol")
    return {
        "code": row["batch"],
        "slug": file_name(row["batch"]),
        "product": product.name if product else row["product"],
        "bottled": figures.day(row["bottled_at"], zone),
        "waits": days_to(board.checked_at, row["bottled_at"]),
        "standing": row["standing"],
        "headline": HEADLINES.get(row["standing"], "not checked"),
        "counts": [row["stops_release"] or 0, row["needs_explanation"] or 0, row["for_information"] or 0],
        "state": row["state"],
        "decided": figures.day(row["decided_at"], zone) if row["decided_at"] else "",
        "by": f"{row['person']}, {row['role']}" if row["person"] else "",
        "why": row["reason"] or "",
        "dossier": board.dossiers.get(row["batch"], ""),
        "flags": flags,
        "facts": [
            ["bottles", f"{row['bottles_filled']:,} of {figures.number(row['nominal_ml'])} mL"],
            ["alcohol bottled", figures.stated(row["alcohol_bottled_l"], row["u_alcohol_bottled_l"], "LPA")],
            ["strength on the label", figures.stated(row["label_strength_pct_vol"], None, "% vol")],
            ["strength by the laboratory", strength],
        ],
    }


def _flag(row: Row, board: Board, places: _Places) -> Plain:
    zone = board.house.time_zone
    raised, recorded = (days_to(board.checked_at, row[name]) for name in ("raised_at", "recorded_at"))
    return {
        "flag": row["flag"],
        "rule": row["rule"],
        "severity": row["severity"],
        "record": spell_flag(row["record"]),
        "message": spell_flag(row["message"]),
        "citation": row["citation"],
        "state": row["state"],
        "by": row["person"] or "",
        "on": figures.day(row["state_at"], zone) if row["person"] else "",
        "why": (row["reason"] or "") if row["person"] else "",
        "raised": figures.day(row["raised_at"], zone),
        "recorded": figures.day(row["recorded_at"], zone),
        "days": raised,
        "age": [age_class(raised), age_class(recorded)],
        "batches": places.batches(row["batches"]),
        "run": places.run.get(row["run"]),
        "place": row["place"] or "",
    }


def _run(row: Row, flags: list[int], logged: dict[str, int], places: _Places) -> Plain:
    product = product_of(row["stage"], row["parts"])
    facts = [
        ("charged", figures.stated(row["alcohol_in_l"], row["u_alcohol_in_l"], "LPA")),
        (product, figures.stated(row["hearts_l"], row["u_hearts_l"], "LPA")),
        ("recovery", figures.percent(row["recovery"], row["u_recovery"])),
        ("not found again", figures.stated(row["loss_l"], row["u_loss_l"], "LPA")),
        ("in and out by apparent strength", figures.stated(row["apparent_l"], None, "LPA")),
        ("in and out by estimated strength", figures.stated(row["estimated_l"], None, "LPA")),
        ("not gauged", row["missing_gauges"] or figures.MISSING),
        (f"strength of the {product}", figures.stated(row["hearts_strength_pct_vol"], None, "% vol")),
        ("original gravity", figures.stated(row["original_gravity"], None, "SG")),
        ("final gravity", figures.stated(row["final_gravity"], None, "SG")),
        ("alcohol formed", figures.stated(row["alcohol_l"], row["u_alcohol_l"], "LPA")),
        ("yield", figures.stated(row["yield_l_per_t"], row["u_yield_l_per_t"], "LPA per tonne")),
        ("of what the extract promises", figures.percent(row["yield_ratio"])),
        ("grain, fruit or sugar", ", ".join(row["malt_lots"] or ()) or figures.MISSING),
    ]
    return {
        "code": row["run"],
        "slug": file_name(row["run"]),
        "stage": row["stage"],
        "equipment": row["equipment"],
        "recipe": row["recipe"] or "",
        "operator": row["operator"] or "",
        "start": places.minute(row["started_at"]),
        "end": places.minute(row["ended_at"]),
        "ended": figures.day(row["ended_at"], places.zone.key),
        "hours": figures.hours(row["started_at"], row["ended_at"]),
        "facts": [[name, words] for name, words in facts if words != figures.MISSING],
        "batches": places.batches(row["batches"]),
        "flags": flags,
        "curve": logged.get(row["run"]),
        "place": row["place"] or "",
    }


def product_of(stage: str, parts: list[str]) -> str:
    """What a run made, by the part that it is on record as: only a still cuts hearts.

    Examples
    --------
    >>> product_of("strip", ["hearts"]), product_of("reduce", ["spirit"]), product_of("bottle", ["bottles"])
    ('hearts', 'spirit', 'bottled spirit')
    >>> product_of("botanical", ["hearts"]), product_of("blend", ["liquid", "spirit"]), product_of("filter", [])
    ('distillate', 'liquid and spirit', 'product')
    """
    return listed([_PRODUCTS.get((stage, part), _PRODUCTS.get(("", part), part)) for part in parts]) or "product"


def _measures(board: Board) -> list[Plain]:
    """Each measure with the places of its charts, and what its scatter goes with."""
    charts, shares = board.trends.charts, {item.measure: item for item in board.trends.breakdowns}
    measures = {chart.measure.code: chart.measure for chart in charts}
    return [
        {
            "code": code,
            "name": measure.name,
            "unit": measure.unit,
            "stage": measure.stage,
            "of": measure.of_what,
            "points": measure.points,
            "definition": measure.definition,
            "charts": [n for n, chart in enumerate(charts) if chart.measure.code == code],
            "runs": shares[code].runs if code in shares else 0,
            "shares": [_share(share) for share in shares[code].shares] if code in shares else [],
        }
        for code, measure in measures.items()
    ]


def _share(share: Share) -> list[Any]:
    by_chance = "less than 1 in 1,000" if share.p < 0.001 else figures.percent(share.p)
    alone, unique = (f"{figures.number(100 * part)} %" for part in (share.alone, share.unique))
    return [share.attribute, share.levels, alone, unique, by_chance, ", ".join(share.confounded_with)]


def _chart(chart: Chart, board: Board, places: _Places) -> Plain:
    measure, limits = chart.measure, chart.limits
    findings: list[Finding | LoneRun] = [*board.trends.findings, *board.trends.lone_runs]
    changes = [item.sentence for item in findings if item.chart == chart.key]
    about = {
        "key": chart.key,
        "slug": file_name(chart.key),
        "title": chart.title,
        "unit": measure.unit,
        "stage": measure.stage,
        "better": measure.better,
        "target": _or_none(measure.target),
        "definition": measure.definition,
        "of": measure.of_what,
        "points": measure.points,
        "decimals": measure.decimals,
        "latest": _latest(chart),
        "changes": changes,
        "said": "changed" if chart.key in changed_charts(board.trends) else "single" if changes else "",
        "says": " ".join(describe_chart(chart, [], board.house.time_zone)),
        "limits": limits
        and {
            "centre": exported(limits.centre),
            "lower": _or_none(limits.lower),
            "upper": _or_none(limits.upper),
        },
        "months": [_month(month, measure) for month in chart.months],
    }
    return about | _points([point for point in chart.points if point.when >= board.since], measure, places)


def _points(points: list[Point], measure: Measure, places: _Places) -> Plain:
    """The points column by column, which weighs less than one by one."""
    return {
        "run": [places.run.get(point.run, -1) for point in points],
        "name": ["" if point.run in places.run else point.run for point in points],
        "batch": [places.batch.get(point.batch, -1) for point in points],
        "at": [places.minute(point.when) for point in points],
        "value": [_rounded(point.value, measure.decimals + 2) for point in points],
        "words": [figures.stated(point.value, _or_none(point.u), measure.unit) for point in points],
        "base": "".join("1" if point.in_baseline else "0" for point in points),
        "signal": [" ".join(point.signals) for point in points],
    }


def _month(month: Month, measure: Measure) -> list[Any]:
    """Month, value, U, runs, runs left out, and value with U in words."""
    value, expanded = (_rounded(number, measure.decimals + 2) for number in (month.value, 2 * month.u))
    words = figures.stated(_or_none(month.value), _or_none(month.u), measure.unit)
    return [f"{month.month:%Y-%m}", value, expanded, month.runs, month.left_out, words]


def _latest(chart: Chart) -> str:
    """The last month with a figure, beside the baseline."""
    known = [month for month in chart.months if month.runs]
    if not known:
        return "No month has a figure yet."
    last, unit = known[-1], chart.measure.unit
    sentence = f"{last.month:%Y-%m}: {figures.stated(last.value, _or_none(last.u), unit)} from "
    sentence += _counted(last.runs, chart.measure)
    if chart.limits is None:
        return f"{sentence}; {'too few for' if len(chart.points) < FEWEST else 'it has no'} limits."
    centre = figures.number(chart.limits.centre, chart.measure.decimals)
    change = last.value - chart.limits.centre
    if abs(change) < 0.5 * 10**-chart.measure.decimals:
        return f"{sentence}, as in the baseline ({centre})."
    by = figures.number(abs(change), chart.measure.decimals)
    return f"{sentence}, {by} {'above' if change > 0 else 'below'} the baseline's {centre}."


def _counted(number: int, measure: Measure) -> str:
    """So many runs or batches."""
    return plural(number, measure.of_what, measure.points)


def _finding(finding: Finding, board: Board, places: _Places) -> Plain:
    return {
        "chart": finding.chart,
        "sentence": finding.sentence,
        "good": finding.good,
        "since": places.minute(finding.since),
        "until": places.minute(finding.until),
        "between": [places.minute(finding.since_low), places.minute(finding.since_high)],
        "first": places.run.get(finding.first_run, -1),
        "last": places.run.get(finding.last_run, -1),
        "level": [exported(finding.before), exported(finding.before + finding.change)],
        "worth": figures.stated(_or_none(finding.alcohol_l), _or_none(finding.u_alcohol_l), "LPA"),
        "batches": places.batches(finding.batches),
        "with": list(finding.with_charts),
    }


def _lone_run(lone: LoneRun, places: _Places) -> Plain:
    return {
        "chart": lone.chart,
        "run": places.run.get(lone.run, -1),
        "sentence": lone.sentence,
        "batches": places.batches([lone.batch]),
    }


def _changes(board: Board, places: _Places) -> list[Plain]:
    """What changed, as the first page of the trends counts it: one a change, then the single runs far off."""
    changes = [
        {"slug": file_name(event.chart.key), "sentence": event.finding.sentence,
         "also": [{"slug": file_name(chart.key), "title": chart.title} for chart in event.also],
         "batches": places.batches(event.finding.batches)}
        for event in events(board.trends)
    ]  # fmt: skip
    return changes + [
        {"slug": file_name(lone.chart), "sentence": lone.sentence, "also": [], "batches": places.batches([lone.batch])}
        for lone in board.trends.lone_runs
    ]


def _or_none(value: float | None) -> float | None:
    return None if value is None or math.isnan(value) else exported(value)


def _rounded(value: float, decimals: int) -> float | None:
    return None if math.isnan(value) else round(value, decimals)


def _printable(value: Any) -> Any:
    """Every text inside made fit to print; sentences may be long."""
    if isinstance(value, str):
        return wording.printable(value, wording.LONGEST_SENTENCE)
    if isinstance(value, dict):
        return {key: item if key in _EXACT else _printable(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_printable(item) for item in value] if not value or not isinstance(value[0], int) else list(value)
    return value
