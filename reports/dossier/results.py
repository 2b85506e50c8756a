"""Laboratory results beside their limits, with what is required and not on record."""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from gaugebook.reports.dossier import charts
from gaugebook.reports.dossier.limits import Limit
from gaugebook.reports.dossier.records import Batch, Result
from gaugebook.reports.page.language import Language
from gaugebook.reports.page.wording import unit

SIDE_BY_SIDE = 2  # results of a lot that fit into half a line
_Lot = tuple[str, tuple[Result, ...]]


@dataclass(frozen=True)
class ResultRow:
    """One line of the laboratory table; `result` is None where a required analyte is not on record."""

    analyte: str
    result: Result | None
    shown: str
    limits: str
    bar: Markup | None
    answer: str
    citation: str


def result_rows(batch: Batch, language: Language) -> tuple[ResultRow, ...]:
    """Results on the bottled liquid and on the batch itself, then the required analytes that are missing."""
    lots = set(batch.bottled_lots)
    results = [result for result in batch.results if result.lot in lots]
    rows = [_row(result, batch.limits.get(result.analyte), language) for result in results]
    measured = {result.analyte for result in results}
    required = batch.product.laboratory if batch.product else ()
    missing = [
        _missing(analyte, batch.limits.get(analyte), language) for analyte in required if analyte not in measured
    ]
    return (*rows, *missing)


def earlier_results(batch: Batch) -> tuple[_Lot, ...]:
    """Results on the lots that the bottled liquid came from, lot by lot."""
    lots = sorted({result.lot for result in batch.results} - set(batch.bottled_lots))
    return tuple((lot, tuple(result for result in batch.results if result.lot == lot)) for lot in lots)


def in_pairs(earlier: Sequence[_Lot]) -> tuple[tuple[tuple[_Lot, ...], ...], tuple[_Lot, ...]]:
    """Lots with so few results that two fit beside each other, down the left half and then the right one, and the
    others."""
    few = [item for item in earlier if len(item[1]) <= SIDE_BY_SIDE]
    if len(few) < 2:
        return (), tuple(earlier)
    half = (len(few) + 1) // 2
    pairs = tuple(tuple(few[row : len(few) : half]) for row in range(half))
    return pairs, tuple(item for item in earlier if len(item[1]) > SIDE_BY_SIDE)


def shown(result: Result, language: Language) -> str:
    """The value as printed; below the limit of quantification as "< 0.5 mg/L"."""
    if result.below_limit:
        return f"< {language.plain(result.value)} {unit(result.unit)}"
    write = language.bare if result.unit == "sg" else language.stated  # the analyte's name says "specific gravity"
    return write(result.value, result.u_value, unit(result.unit))


def _row(result: Result, limit: Limit | None, language: Language) -> ResultRow:
    analyte, value_shown = language.name("analyte", result.analyte), shown(result, language)
    value = None if limit is None else _in_unit_of(limit, result)
    if limit is None or value is None:
        why = "laboratory.no_limit" if limit is None else "laboratory.limit_is_in"
        answer_shown = language.say(why, unit=unit(limit.unit if limit else ""))
        return ResultRow(analyte, result, value_shown, "–", None, answer_shown, "")
    relative = abs(value / result.value) if result.value else 1.0
    answer = language.say(f"laboratory.{position(value, 2 * (result.u_value or 0.0) * relative, limit)}")
    limits = _limits(limit, language)
    title = language.say("laboratory.bar", value=f"{analyte} {value_shown}", limits=limits, answer=answer)
    bar = charts.position_bar(value, result.below_limit, limit, title)
    return ResultRow(analyte, result, value_shown, limits, bar, answer, limit.citation)


def _missing(analyte: str, limit: Limit | None, language: Language) -> ResultRow:
    span, citation = (_limits(limit, language), limit.citation) if limit else ("–", "")
    not_on_record, required = language.say("first.not_on_record"), language.say("laboratory.required")
    return ResultRow(language.name("analyte", analyte), None, not_on_record, span, None, required, citation)


def position(value: float, expanded: float, limit: Limit) -> str:
    """Within, below, above, or near: so near a limit that the uncertainty reaches over it."""
    edges = [edge for edge in (limit.least, limit.most) if edge is not None]
    if any(abs(value - edge) <= expanded for edge in edges):
        return "near"
    low = limit.least is not None and value < limit.least
    high = limit.most is not None and value > limit.most
    return "below" if low else "above" if high else "within"


def _in_unit_of(limit: Limit, result: Result) -> float | None:
    if limit.unit == result.unit:
        return result.value
    return result.per_alcohol_g_hl if limit.unit == "g/hL pa" else None


def _limits(limit: Limit, language: Language) -> str:
    key = "between" if None not in (limit.least, limit.most) else "least" if limit.most is None else "most"
    least, most = language.plain(limit.least), language.plain(limit.most)
    return language.say(f"laboratory.{key}", least=least, most=most, unit=unit(limit.unit))
