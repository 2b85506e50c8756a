"""Charts that remember: the EWMA of the runs since the baseline, and the CUSUM that dates what was found.

They raise no alarms of their own. What is told is found by the scan over all charts and by the run rules, whose false
alarms are counted; the average confirms it, or shows a slow drift that the single runs hide in their scatter. So it is
stated how many of the averages lie beyond their limits, beside how many chance gives, and nothing else follows from
them. The reason: limits from twenty runs are too uncertain for a statistic that adds up small differences. A stable
house's average leaves them on one chart of five in thirty runs, and on two of five in eighty.
"""

from functools import cache

import numpy as np

from gaugebook.pipeline.statistics.cusum import CusumChart, cusum_chart, cusum_run_length
from gaugebook.pipeline.statistics.ewma import ewma_chance, ewma_chart, ewma_run_length
from gaugebook.reports.trends.average_records import Average, Dating, Sums
from gaugebook.reports.trends.measures import Chart, Finding, Limits, Point

WEIGHT, REACH = 0.2, 2.962  # one false signal in 500 values, where mean and standard deviation are known
ALLOWANCE, DECISION = 0.5, 5.0  # in standard deviations; one false signal in 465 values, both sides together
FEWEST_AFTER = 8  # runs since the baseline, fewer than which show no drift
_KINDS = ("individuals", "means")


def average_of(chart: Chart, alike: float = 0.0) -> Average | None:
    """The EWMA of the runs since the baseline in force, from its mean on; None where there are too few.

    `alike` is the correlation of neighbouring runs that chance is reckoned with.
    """
    points = _since(chart)
    if chart.limits is None or len(points) < FEWEST_AFTER:
        return None
    centre = chart.limits.centre
    averages = ewma_chart([point.value for point in points], centre, chart.limits.sd, WEIGHT, REACH)
    outside = (averages.averages < averages.lower) | (averages.averages > averages.upper)
    return Average(
        centre=centre,
        when=tuple(point.when for point in points),
        values=tuple(averages.averages.tolist()),
        lower=tuple(averages.lower.tolist()),
        upper=tuple(averages.upper.tolist()),
        beyond=tuple(np.flatnonzero(outside).tolist()),
        first_run=chart.name_of(points[int(outside.argmax())]) if outside.any() else "",
        by_chance=ewma_chance(chart.limits.points, len(points), WEIGHT, REACH, alike=alike),
    )


def sums_of(chart: Chart) -> Sums | None:
    """The CUSUM of the runs since the baseline in force, in its standard deviations; None where there are too few."""
    points = _since(chart)
    if chart.limits is None or len(points) < FEWEST_AFTER:
        return None
    sums = _cusum(points, chart.limits)
    return Sums(tuple(point.when for point in points), tuple(sums.high.tolist()), tuple(sums.low.tolist()))


def dating_of(chart: Chart, finding: Finding) -> Dating | None:
    """When EWMA and CUSUM of a chart saw what was found there; None where no run of it lies after the baseline.

    The CUSUM dates the beginning: the run after the sum last was nought before it passed its decision value (Page,
    Biometrika 41 (1954) 100-115).
    """
    points, average = _since(chart), chart.average
    until = finding.until or chart.points[-1].when
    inside = [n for n, point in enumerate(points) if finding.since_low <= point.when <= until]
    if chart.limits is None or average is None or not inside:
        return None
    cusum = _cusum(points, chart.limits)
    rises = finding.change > 0
    sums = cusum.high if rises else cusum.low
    passed = next((n for n in inside if sums[n] > DECISION), None)
    left = next((n for n in average.beyond if n in inside and (average.values[n] > average.centre) == rises), None)
    begun = None if passed is None else max((n + 1 for n in range(passed) if sums[n] == 0), default=0)
    return Dating(
        ewma_run="" if left is None else chart.name_of(points[left]),
        ewma_at=None if left is None else points[left].when,
        cusum_run="" if begun is None else chart.name_of(points[begun]),
        cusum_from=None if begun is None else points[begun].when,
        passed_run="" if passed is None else chart.name_of(points[passed]),
        passed_at=None if passed is None else points[passed].when,
    )


def _since(chart: Chart) -> list[Point]:
    """Runs after the baseline in force; none where points are counts or standard deviations, which are not normal."""
    limits = chart.limits
    if limits is None or limits.kind not in _KINDS:
        return []
    return [point for point in chart.points if not point.in_baseline and point.when > limits.last]


def _cusum(points: list[Point], limits: Limits) -> CusumChart:
    standardised = [(point.value - limits.centre) / limits.sd for point in points]
    return cusum_chart(standardised, 0.0, ALLOWANCE, DECISION)


@cache
def parameters() -> tuple[str, str]:
    """Parameters of EWMA and CUSUM with their average run lengths, as captions state them."""
    ewma, cusum = ewma_run_length(WEIGHT, REACH), cusum_run_length(ALLOWANCE, DECISION, two_sided=True)
    known = "were the limits known, beyond once in"
    return (
        f"λ {WEIGHT}, L {REACH}; {known} {ewma:.0f} by chance",
        f"k {ALLOWANCE}, h {DECISION:g} standard deviations; {known} {cusum:.0f} by chance",
    )
