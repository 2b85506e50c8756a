"""EWMA and CUSUM of the trends: from the frozen baseline on, telling when, and raising no alarm of their own."""

from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np
import pytest
from stable_houses import stable_watch

from gaugebook.pipeline.house.settings import House
from gaugebook.pipeline.statistics.ewma import ewma_chart
from gaugebook.reports.trends.change_findings import watch
from gaugebook.reports.trends.chart_averages import REACH, WEIGHT, average_of, dating_of, parameters, sums_of
from gaugebook.reports.trends.chart_limits import score
from gaugebook.reports.trends.measures import RULES, Chart, Measure, Point
from gaugebook.reports.trends.trend_charts import runs_chart

START = datetime(2031, 1, 1)
MEASURE = Measure("m", "Measure", "%", "strip", "higher", "", "")


def charted(values, measure=MEASURE):
    points = [Point(f"R{n:02}", "", START + timedelta(days=5 * n), v, float("nan"), v, 100.0)
              for n, v in enumerate(values)]  # fmt: skip
    scored = score(measure, "", points, House(name="h", time_zone="UTC"))
    chart = Chart("m", measure, "", "Measure", scored.points, (), scored.limits[-1] if scored.limits else None)
    return chart, scored.spans


NOISE = np.random.default_rng(5).normal(0, 1, 60)


def test_average_begins_after_the_baseline():
    """The averages are the handbook's of the runs after the baseline, from its mean, with its standard deviation."""
    chart, _ = charted(50 + NOISE)
    average = average_of(chart)
    expected = ewma_chart(50 + NOISE[20:], chart.limits.centre, chart.limits.sd, WEIGHT, REACH)
    assert average.values == pytest.approx(expected.averages)
    assert average.upper[0] < average.upper[5] < average.upper[-1] == pytest.approx(expected.upper[-1])
    assert average.when[0] == chart.points[20].when
    assert average_of(charted(50 + NOISE[:27])[0]) is None  # seven runs since the baseline


def test_counts_have_no_average():
    """Batches that are right or wrong are not averaged: the limits of the EWMA are those of normal values."""
    measure = replace(MEASURE, code="right_first_time", of_what="batch")
    right = [float(n % 5 > 0) for n in range(40)]
    points = [Point(f"B{n}", f"B{n}", START + timedelta(days=n), 100 * one, float("nan"), one, 1.0)
              for n, one in enumerate(right)]  # fmt: skip
    scored = score(measure, "", points, House(name="h", time_zone="UTC"))
    chart = Chart("right_first_time", measure, "", "", scored.points, (), scored.limits[-1])
    assert chart.limits.kind == "proportion" and average_of(chart) is None and sums_of(chart) is None


def test_slow_drift_is_dated_and_alarms_stay_those_of_the_runs():
    """A shift by 1.5 standard deviations from run 35 on is seen by both within ten runs, without adding an alarm."""
    values = 50 + 0.5 * NOISE
    values[35:] -= 0.75
    chart, trials = charted(values)
    found = watch([(chart, trials)], {}, None, "UTC")
    chart = replace(found.charts[0], average=average_of(found.charts[0]))
    [finding] = found.findings
    dating = dating_of(chart, finding)
    begun = START + timedelta(days=5 * 35)
    assert abs(dating.cusum_from - begun) <= timedelta(days=5 * 4)
    assert begun <= dating.ewma_at <= begun + timedelta(days=5 * 10)
    assert {name for point in chart.points for name in point.signals} <= set(RULES)
    rising = replace(finding, change=-finding.change)
    assert dating_of(chart, rising).cusum_run == "" and dating_of(chart, rising).ewma_at is None
    early = replace(finding, since=chart.points[2].when, since_low=START, until=chart.points[10].when)
    assert dating_of(chart, early) is None


def test_averages_beyond_are_as_many_as_stated():
    """In stable houses as many averages lie beyond their limits as chance is said to put there."""
    rng = np.random.default_rng(77)
    averages = [average_of(chart) for _ in range(15) for chart in stable_watch(rng).charts]
    drawn = [average for average in averages if average is not None]
    beyond = np.mean([bool(average.beyond) for average in drawn])
    assert beyond == pytest.approx(np.mean([average.by_chance for average in drawn]), abs=0.06)


def test_parameters_state_the_run_lengths():
    """λ 0.2 with L 2.962 has a run length of 500 (Lucas and Saccucci 1990, from memory), k 0.5 with h 5 one of 465."""
    ewma, cusum = parameters()
    assert "λ 0.2, L 2.962" in ewma and "once in 500" in ewma
    assert "h 5" in cusum and "once in 465" in cusum


def test_panels_are_few_marks():
    """An average adds no more than eight marks to its drawing however long it is, and sums as few."""
    chart, _ = charted(np.tile(50 + NOISE, 3))
    bare = runs_chart(chart, [], "UTC").count("<")
    one = runs_chart(replace(chart, average=average_of(chart)), [], "UTC").count("<")
    both = runs_chart(replace(chart, average=average_of(chart), sums=sums_of(chart)), [], "UTC").count("<")
    assert one - bare <= 14 and both - one <= 14  # opening and closing tags
