"""Laboratory results beside their limits, with what is required and not on record."""

from dataclasses import dataclass

from markupsafe import Markup

from reports import charts, figures
from reports.limits import Limit
from reports.records import Batch, Result
from reports.wording import spaced, unit


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


def result_rows(batch: Batch) -> tuple[ResultRow, ...]:
    """Results on the bottled liquid and on the batch itself, then the required analytes that are missing."""
    lots = set(batch.bottled_lots)
    rows = [_row(result, batch.limits.get(result.analyte)) for result in batch.results if result.lot in lots]
    measured = {row.analyte for row in rows}
    required = batch.product.laboratory if batch.product else ()
    missing = [_missing(analyte, batch.limits.get(analyte)) for analyte in required if spaced(analyte) not in measured]
    return (*rows, *missing)


def earlier_results(batch: Batch) -> tuple[tuple[str, tuple[Result, ...]], ...]:
    """Results on the lots that the bottled liquid came from, lot by lot."""
    lots = sorted({result.lot for result in batch.results} - set(batch.bottled_lots))
    return tuple((lot, tuple(result for result in batch.results if result.lot == lot)) for lot in lots)


def shown(result: Result) -> str:
    """The value as printed; below the limit of quantification as "< 0.5 mg/L"."""
    if result.below_limit:
        return f"< {result.value:g} {unit(result.unit)}"
    return figures.stated(result.value, result.u_value, unit(result.unit))


def _row(result: Result, limit: Limit | None) -> ResultRow:
    value = None if limit is None else _in_unit_of(limit, result)
    if limit is None or value is None:
        why = "no limit" if limit is None else f"limit is in {unit(limit.unit)}"
        return ResultRow(spaced(result.analyte), result, shown(result), "–", None, why, "")
    bar = charts.position_bar(value, result.below_limit, limit)
    relative = abs(value / result.value) if result.value else 1.0
    answer = position(value, 2 * (result.u_value or 0.0) * relative, limit)
    return ResultRow(spaced(result.analyte), result, shown(result), _limits(limit), bar, answer, limit.citation)


def _missing(analyte: str, limit: Limit | None) -> ResultRow:
    span, citation = (_limits(limit), limit.citation) if limit else ("–", "")
    return ResultRow(spaced(analyte), None, "not on record", span, None, "required", citation)


def position(value: float, expanded: float, limit: Limit) -> str:
    """Within, beyond, or so near a limit that the uncertainty reaches over it."""
    edges = [edge for edge in (limit.least, limit.most) if edge is not None]
    if any(abs(value - edge) <= expanded for edge in edges):
        return "near the limit"
    low = limit.least is not None and value < limit.least
    high = limit.most is not None and value > limit.most
    return "below" if low else "above" if high else "within"


def _in_unit_of(limit: Limit, result: Result) -> float | None:
    if limit.unit == result.unit:
        return result.value
    return result.per_alcohol_g_hl if limit.unit == "g/hL pa" else None


def _limits(limit: Limit) -> str:
    least, most = (None if edge is None else f"{edge:,g}" for edge in (limit.least, limit.most))
    span = f"{least} to {most}" if least and most else f"{least} or more" if least else f"{most} or less"
    return f"{span} {unit(limit.unit)}"
