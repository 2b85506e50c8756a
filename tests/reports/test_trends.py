"""Trends: months as the book has them, signals where they were put, sentences from the numbers."""

import subprocess
from datetime import datetime, timedelta
from io import BytesIO

import pikepdf
import polars as pl
import pytest
from demo_book import demo_house, write_demo_book

from pipeline.database import open_book
from reports.months import BASELINE, gather_months
from reports.trends import rows_on_one_side, trends_html, trends_pdf

FIRST = datetime(2031, 1, 3, 12)


def strip_runs(recoveries, still="S1", first=FIRST):
    """One strip run every five days with 250 LPA charged."""
    return [
        {
            "run": f"{still}-{number:03}", "stage": "strip", "equipment": still,
            "started_at": first + timedelta(days=5 * number), "ended_at": first + timedelta(days=5 * number, hours=6),
            "alcohol_in_l": 250.0, "hearts_l": 250.0 * recovery,
        }
        for number, recovery in enumerate(recoveries)
    ]  # fmt: skip


def trends_of(folder, rows):
    write_demo_book(folder)
    with open_book(folder, writing=True) as book:
        for table in ("derived.run_balances", "derived.ferment_yields", "derived.monthly"):
            book.execute(f"DELETE FROM {table}")
        book.append("derived.run_balances", pl.DataFrame(rows) if rows else pl.DataFrame())
        return gather_months(book, demo_house())


STEADY = [0.95, 0.96] * 10


def test_fall_is_found_and_dated(tmp_path):
    """A fall after the baseline is told with its first run, its day and the number of runs."""
    series = trends_of(tmp_path, strip_runs([*STEADY, *[0.955 - 0.01 * n for n in range(1, 11)]])).series[0]
    # Baseline of 0.95 and 0.96 in turn: mean 95.5 %, mean moving range 1 %, lower limit 95.5 - 3 x 1 / 1.128 = 92.84 %.
    assert series.limits.centre == pytest.approx(95.5)
    assert series.limits.lower == pytest.approx(95.5 - 3 / 1.128)
    beyond = [point for point in series.points if point.beyond]
    assert beyond[0].run == "S1-022"  # 92.5 %, the first below 92.84 %
    assert len(beyond) == 8
    [row] = rows_on_one_side(series)
    assert (row.first.run, row.last.run, row.runs, row.side) == ("S1-020", "S1-029", 10, "below")


def test_sentence_is_the_numbers(tmp_path):
    """The page says how many runs signal, the first of them with its date, and the longest row."""
    page = trends_html(trends_of(tmp_path, strip_runs([*STEADY, *[0.955 - 0.01 * n for n in range(1, 11)]])))
    said = page.replace('<span class="nb">', "").replace("</span>", "")
    assert "8 of the 10 runs since lie below the lower limit, first S1-022 on 2031-04-23" in said
    assert "10 runs in a row lie below the mean" in said
    assert "1 of 1 series shows a signal" in said


def test_steady_series_has_no_signal(tmp_path):
    """A series that goes on as it began says that nothing lies beyond the limits."""
    page = trends_html(trends_of(tmp_path, strip_runs(STEADY * 2)))
    assert "lies beyond the limits and no 8 in a row" in page
    assert "None of 1 series shows a signal" in page


def test_month_is_a_ratio_of_sums(tmp_path):
    """A month's figure is output over charge of its runs together, not the mean of their ratios."""
    rows = strip_runs([0.8] * 8)
    rows[0].update(alcohol_in_l=100.0, hearts_l=80.0)
    rows[1].update(alcohol_in_l=900.0, hearts_l=810.0)  # 890 / 1000 = 0.890, the mean of the ratios is 0.850
    month = trends_of(tmp_path, rows[:2]).series[0].months[0]
    assert month.value == pytest.approx(89.0)
    assert month.runs == 2


def test_run_belongs_to_the_month_of_the_house(tmp_path):
    """A run that ends at 23:30 UTC on the last of March ended in April in Copenhagen."""
    rows = strip_runs([0.95])
    rows[0]["ended_at"] = datetime(2031, 3, 31, 23, 30)
    [month] = trends_of(tmp_path, rows).series[0].months
    assert f"{month.month:%Y-%m}" == "2031-04"


def test_run_without_a_figure_is_counted_and_left_out(tmp_path):
    """A run whose alcohol could not be computed is a gap that is counted, not a zero."""
    rows = strip_runs([0.95] * 3)
    rows[1]["hearts_l"] = None
    series = trends_of(tmp_path, rows).series[0]
    assert [point.run for point in series.points] == ["S1-000", "S1-002"]
    assert (series.months[0].runs, series.months[0].left_out) == (2, 1)


def test_stills_are_not_one_process(tmp_path):
    """With two stills each has its own limits, and all together have none."""
    trends = trends_of(tmp_path, strip_runs(STEADY) + strip_runs(STEADY, "S2"))
    assert [(series.title, series.limits is None) for series in trends.series] == [
        ("Stripping recovery, all stills", True),
        ("Stripping recovery, S1", False),
        ("Stripping recovery, S2", False),
    ]
    assert all(series.baseline == BASELINE for series in trends.series if series.limits)


def test_document(tmp_path):
    """One page a figure with its title, the table of all figures, and the same bytes twice."""
    trends = trends_of(tmp_path / "book", strip_runs(STEADY * 2))
    made = trends_pdf(trends)
    assert made == trends_pdf(trends)
    with pikepdf.open(BytesIO(made)) as document:
        assert len(document.pages) == 3  # front, one series, table with method
        assert "Monthly trends" in str(document.docinfo["/Title"])
    (tmp_path / "trends.pdf").write_bytes(made)
    said = subprocess.run(
        ["pdftotext", "-layout", tmp_path / "trends.pdf", "-"], capture_output=True, check=True
    ).stdout.decode()
    for words in ("Stripping recovery, S1", "All figures", "2031-07", "An invented house", "page 3 of 3"):
        assert words in said


def test_empty_book(tmp_path):
    """A book without ended runs gives a document that says so."""
    page = trends_html(trends_of(tmp_path, []))
    assert "too few ended runs" in page
    assert "No figures yet" in page
