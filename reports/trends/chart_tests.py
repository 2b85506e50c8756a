"""What is asked of a whole chart: does it rise or fall slowly, does a run follow the one before, is it capable."""

import math
import tomllib
from datetime import datetime
from functools import cache
from pathlib import Path

import numpy as np

from gaugebook import checks
from gaugebook.pipeline.statistics.capability import cpk
from gaugebook.pipeline.statistics.trend_tests import autocorrelation, mann_kendall, persistence, sen_slope
from gaugebook.reports.trends.measures import Capability, Chart, Trend

_MOST_RUNS = 150  # a longer series is tested by its months
_FEWEST = 10
_EPOCH = datetime(2000, 1, 1)
_SECONDS_A_YEAR = 365.25 * 86400
_LAGS = 10  # over which likeness of neighbours is allowed for


def trend_of(chart: Chart) -> tuple[Trend | None, float]:
    """Slope with its test, and correlation of neighbouring values; (None, NaN) where there are too few."""
    times, values = _series(chart)
    if len(values) < _FEWEST:
        return None, math.nan
    years = np.array([(at - times[0]) / _SECONDS_A_YEAR for at in times])
    slope = sen_slope(years, values)
    test = mann_kendall(values, lags=min(_LAGS, len(values) // 4), persistence=persistence(values))
    order = np.arange(len(values), dtype=float)
    detrended = np.asarray(values) - sen_slope(order, values).slope * order
    near = autocorrelation(detrended)
    return Trend(slope.slope, slope.low, slope.high, test.p, near, len(values)), near


def _series(chart: Chart) -> tuple[list[float], list[float]]:
    """Runs, or months where there are very many runs, as seconds and values."""
    if len(chart.points) <= _MOST_RUNS:
        return [_seconds(point.when) for point in chart.points], [point.value for point in chart.points]
    months = [month for month in chart.months if month.runs]
    return [_seconds(datetime(month.month.year, month.month.month, 1)) for month in months], [
        month.value for month in months
    ]


def _seconds(at: datetime) -> float:
    """Since a fixed moment; the book's times are UTC without zone, and `timestamp` would take the machine's."""
    return (at - _EPOCH).total_seconds()


def capability(chart: Chart, *, is_stable: bool) -> tuple[Capability | None, str]:
    """Where a stable process lies to its tolerance; else None and why not."""
    tolerance = _tolerances().get(chart.measure.code)
    if tolerance is None:
        return None, ""
    if chart.limits is None:
        return None, "there are too few runs"
    if not is_stable:
        return None, "the process is not stable: what a changing process will do cannot be foretold"
    values = np.array([point.value for point in chart.points])
    index = cpk(*tolerance, float(values.mean()), chart.limits.sd, len(values))
    lower, upper = (math.nan if side is None else side for side in tolerance)
    return Capability(lower, upper, index.value, index.low, index.high, len(values)), ""


@cache
def _tolerances() -> dict[str, tuple[float | None, float | None]]:
    """Tolerances: the label's by the rule book; a mean fill may not fall short of the nominal quantity."""
    path = Path(checks.__file__).parent / "limits" / "label.toml"
    table = tomllib.loads(path.read_text(encoding="utf-8"))
    label = min(float(entry["spirits_pct_vol"]) for entry in table["strength_tolerance"])
    return {"label_deviation": (-label, label), "reduction_accuracy": (-label, label), "fill_deviation": (0.0, None)}
