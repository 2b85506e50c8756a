"""Trends: months as ratios of sums, limits that later runs do not move, changes found and told from the numbers."""

import re
import time
from dataclasses import replace
from datetime import date, datetime, timedelta
from io import BytesIO
from itertools import pairwise

import numpy as np
import pikepdf
import polars as pl
import pytest
from demo_book import demo_house, write_demo_book
from pdf_text import pdf_text

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.house.settings import Baseline, Person
from gaugebook.reports.page import figures
from gaugebook.reports.trends.chart_limits import FIRST_RUNS
from gaugebook.reports.trends.trends import trends_html, trends_pdf
from gaugebook.reports.trends.trends_gather import gather_trends

FIRST = datetime(2031, 1, 3, 12)
NOISE = np.random.default_rng(31).normal(0, 0.005, 60).tolist()
STEADY = [0.955 + off for off in NOISE[:20]]
FALL = [0.955 + off - 0.008 * n for n, off in enumerate(NOISE[20:30], start=1)]


def plain(page):
    """A page without the marks that keep a number and its unit on one line."""
    return re.sub(r"</?(span|data)[^>]*>", "", page)


def strip_runs(recoveries, still="S1", first=FIRST, charge=250.0):
    """One strip run every five days."""
    return [
        {
            "run": f"{still}-{number:03}", "stage": "strip", "equipment": still,
            "started_at": first + timedelta(days=5 * number), "ended_at": first + timedelta(days=5 * number, hours=6),
            "alcohol_in_l": charge, "hearts_l": charge * recovery,
        }
        for number, recovery in enumerate(recoveries)
    ]  # fmt: skip


def trends_of(folder, rows, house=None):
    write_demo_book(folder)
    with open_book(folder, writing=True) as book:
        for table in ("derived.run_balances", "derived.ferment_yields", "derived.bottlings", "derived.gauges",
                      "derived.laboratory", "typed.runs"):  # fmt: skip
            book.execute(f"DELETE FROM {table}")
        if rows:
            book.append("derived.run_balances", pl.DataFrame(rows))
            runs = pl.DataFrame(rows).select("run", "stage", "equipment", "started_at", "ended_at")
            book.append("typed.runs", runs.with_columns(pl.lit(1, pl.Int32).alias("source_id"),
                                                        pl.lit(1, pl.Int32).alias("line")))  # fmt: skip
        return gather_trends(book, house or demo_house())


def test_fall_is_found_and_dated(tmp_path):
    """A fall that begins with run 20 is found as a slope, begins within two runs of it and says what it is worth."""
    trends = trends_of(tmp_path, strip_runs([*STEADY, *FALL]))
    [finding] = [f for f in trends.findings if f.chart == "strip_recovery:S1"]
    assert finding.shape == "slope"
    assert finding.first_run in {"S1-019", "S1-020", "S1-021", "S1-022"}
    assert finding.since_low <= FIRST + timedelta(days=105) <= finding.since_high + timedelta(days=5)
    assert finding.until is None
    lost = 250 * sum(0.955 - value for value in FALL)
    assert finding.alcohol_l == pytest.approx(-lost, abs=3 * finding.u_alcohol_l)
    assert finding.p_adjusted < 0.001


def test_sentence_is_the_numbers(tmp_path):
    """The page tells the finding's own numbers, and a changed record changes the sentence."""
    trends = trends_of(tmp_path, strip_runs([*STEADY, *FALL]))
    finding = trends.findings[0]
    page = plain(trends_html(trends))
    assert f"began with {finding.first_run} on {finding.since:%Y-%m-%d}" in page
    assert f"fell slowly over {finding.runs} runs" in page
    assert f"{figures.number(-finding.alcohol_l)} LPA less" in page, finding.sentence
    assert "1 change that chance does not explain, seen on 1 chart." in page


def test_steady_series_tells_nothing(tmp_path):
    """A series that goes on as it began has no finding, and the page says so."""
    trends = trends_of(tmp_path, strip_runs([0.955 + off for off in NOISE[:40]]))
    assert trends.findings == ()
    assert "Nothing changed that chance does not explain" in trends_html(trends)


def test_month_is_a_ratio_of_sums(tmp_path):
    """A month's figure is output over charge of its runs together, not the mean of their ratios."""
    rows = strip_runs([0.8, 0.9])
    rows[0].update(alcohol_in_l=100.0, hearts_l=80.0)
    rows[1].update(alcohol_in_l=900.0, hearts_l=810.0)  # 890 / 1000 = 0.890, the mean of the ratios is 0.850
    month = trends_of(tmp_path, rows).chart("strip_recovery:S1").months[0]
    assert month.value == pytest.approx(89.0)
    assert month.runs == 2


def test_run_belongs_to_the_month_of_the_house(tmp_path):
    """A run that ends at 23:30 UTC on the last of March ended in April in Copenhagen."""
    rows = strip_runs([0.95])
    rows[0]["ended_at"] = datetime(2031, 3, 31, 23, 30)
    [month] = trends_of(tmp_path, rows).chart("strip_recovery:S1").months
    assert month.month == date(2031, 4, 1)


def test_run_without_a_figure_is_counted_and_left_out(tmp_path):
    """A run whose alcohol could not be computed is a gap that is counted, not a zero, and no range is taken over it."""
    values = STEADY[:10]
    rows = strip_runs(values)
    rows[4]["hearts_l"] = None
    chart = trends_of(tmp_path, rows).chart("strip_recovery:S1")
    assert "S1-004" not in [point.run for point in chart.points]
    assert sum(month.left_out for month in chart.months) == 1
    ranges = [abs(b - a) for n, (a, b) in enumerate(pairwise(values)) if n not in (3, 4)]
    assert chart.limits.sd == pytest.approx(100 * np.mean(ranges) / 1.128)


def test_later_runs_do_not_move_the_limits(tmp_path):
    """The limits rest on the first twenty runs, whatever comes after; so a lasting fall keeps its signals."""
    short = trends_of(tmp_path / "short", strip_runs(STEADY)).chart("strip_recovery:S1")
    long = trends_of(tmp_path / "long", strip_runs([*STEADY, *FALL])).chart("strip_recovery:S1")
    assert (short.limits.centre, short.limits.lower) == (long.limits.centre, long.limits.lower)
    assert sum(point.in_baseline for point in long.points) == FIRST_RUNS
    assert long.limits.provisional
    assert long.alarms and all(not point.in_baseline for point in long.alarms)


def test_reviewed_baseline_judges_from_its_first_day(tmp_path):
    """A reviewed baseline takes over from its first day; the runs before keep their own limits and their signals."""
    review = Baseline(
        "strip_recovery", date(2031, 4, 13), date(2031, 6, 1), "AQ", date(2031, 6, 2), "new condenser", "S1"
    )
    house = replace(demo_house(), baselines=(review,), people=(Person("AQ", "head distiller"),))
    low = [0.90 + off for off in NOISE[20:40]]
    chart = trends_of(tmp_path, strip_runs([*STEADY, *low]), house).chart("strip_recovery:S1")
    assert not chart.limits.provisional and chart.limits.reason == "new condenser"
    assert chart.limits.centre == pytest.approx(90.0, abs=0.6)
    [before] = chart.earlier_limits
    assert before.centre == pytest.approx(95.5, abs=0.6)


def test_baseline_of_nothing_is_refused(tmp_path):
    """A baseline of a measure that does not exist is an error that names it."""
    house = demo_house()
    wrong = Baseline("strip_recovry", date(2031, 1, 1), date(2031, 2, 1), "AQ", date(2031, 2, 2), "typing")
    with pytest.raises(SettingsError, match="strip_recovry"):
        trends_of(tmp_path, strip_runs(STEADY), replace(house, baselines=(wrong,)))


def test_stills_are_not_one_process(tmp_path):
    """Two stills have a chart each with its own limits; of runs without a recipe nobody knows that they are alike, so
    no months of both together."""
    trends = trends_of(tmp_path, strip_runs(STEADY) + strip_runs([v - 0.03 for v in STEADY], "S2"))
    one, two = trends.chart("strip_recovery:S1"), trends.chart("strip_recovery:S2")
    assert one.limits.centre - two.limits.centre == pytest.approx(3.0)
    assert "strip_recovery" not in trends.together


def test_document(tmp_path):
    """One page a measure with its title, the table of all figures, and the same bytes twice."""
    trends = trends_of(tmp_path / "book", strip_runs([0.955 + off for off in NOISE]))
    made = trends_pdf(trends)
    assert made == trends_pdf(trends)
    with pikepdf.open(BytesIO(made)) as document:
        assert "Monthly trends" in str(document.docinfo["/Title"])
    said = pdf_text(made, "-layout")
    for words in ("Stripping recovery", "All figures", "2031-07", "An invented house", "page 1 of"):
        assert words in said


def test_empty_book(tmp_path):
    """A book without ended runs gives a document that says so."""
    page = trends_html(trends_of(tmp_path, []))
    assert "no ended runs" in page
    assert "No figures yet" in page


def test_figures_do_not_depend_on_the_machine_s_zone(tmp_path, monkeypatch):
    """The slope a year and its interval are the same on a machine in UTC and on one whose clocks change in the time."""
    rows = strip_runs([value + 0.001 * n for n, value in enumerate(STEADY)])
    slopes = []
    for number, zone in enumerate(("UTC", "America/New_York")):
        monkeypatch.setenv("TZ", zone)
        time.tzset()
        trend = trends_of(tmp_path / str(number), rows).chart("strip_recovery:S1").trend
        slopes.append((trend.slope, trend.low, trend.high))
    monkeypatch.undo()
    time.tzset()
    assert slopes[0] == slopes[1]
