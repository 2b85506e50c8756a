"""Figures as CSV and workbook, and any series from a CSV file."""

import importlib.util
from io import BytesIO
from pathlib import Path

import numpy as np
import openpyxl
import polars as pl
import pytest
from click.testing import CliRunner

from gaugebook.pipeline.errors import GaugebookError
from gaugebook.pipeline.spreadsheets import csv_bytes
from gaugebook.reports.trends.series import read_series, series_trends
from gaugebook.reports.trends.trend_tables import tables, workbook
from gaugebook.reports.trends.trends import trends_html
from gaugebook.reports.trends.trends_command import trends_command


def nile() -> Path:
    """Annual flow of the Nile 1871 to 1970, a file of statsmodels."""
    package = importlib.util.find_spec("statsmodels")
    assert package is not None and package.origin
    return Path(package.origin).parent / "datasets" / "nile" / "nile.csv"


def write(folder: Path, text: str) -> Path:
    file = folder / "series.csv"
    file.write_text(text, encoding="utf-8")
    return file


def test_public_series_from_csv(tmp_path):
    """The Nile's file gives a chart whose change begins with 1899, the first year after the published 1898."""
    result = CliRunner().invoke(trends_command, ["--series", str(nile()), "--out", str(tmp_path)], obj=tmp_path)
    assert result.exit_code == 0, result.output
    assert (tmp_path / "series-nile.pdf").read_bytes().startswith(b"%PDF")
    changes = pl.read_csv(tmp_path / "series-nile-changes.csv")
    assert changes["first_run"].to_list() == [1899]
    assert changes["before"][0] == pytest.approx(1097.75)
    assert changes["cusum_from_utc"][0].startswith("1899")  # against the first twenty years alone


def test_page_of_a_series_shows_every_chart():
    """Beside the values stand their EWMA and CUSUM, with parameters and run lengths in the caption."""
    page = trends_html(series_trends(nile(), None, None, "10⁸ m³"))
    drawing = page[page.index("<svg") : page.index("</svg>")]
    for words in ("EWMA", "CUSUM", "upper", "lower"):
        assert words in drawing
    assert "once in 500 by chance" in page and "once in 465 by chance" in page
    assert "Trends of a series" in page and "unfinished" not in page


def test_every_run_and_month_stands_in_the_tables():
    """The table of runs holds each value of the file as it is, and the chart's row its limits."""
    trends = series_trends(nile(), None, None)
    made = tables(trends)
    with nile().open(encoding="utf-8") as file:
        values = [float(line.split(",")[1]) for line in file.readlines()[1:]]
    assert made["runs"]["value"].to_list() == values
    assert made["charts"]["centre"][0] == pytest.approx(np.mean(values[:20]))
    assert pl.read_csv(csv_bytes(made["runs"]))["value"].to_list() == values


def test_workbook_is_the_tables():
    """Each table is a sheet with the same numbers, and the same figures give the same bytes."""
    trends = series_trends(nile(), None, None)
    made = workbook(tables(trends), trends.last)
    assert made == workbook(tables(trends), trends.last)
    book = openpyxl.load_workbook(BytesIO(made))
    for name, frame in tables(trends).items():
        assert book[name].max_row == max(frame.height + 1, 1)
    column = [cell.value for cell in book["runs"][1]].index("value") + 1
    assert [row[0] for row in book["runs"].iter_rows(min_row=2, min_col=column, max_col=column, values_only=True)] == (
        tables(trends)["runs"]["value"].to_list()
    )


def test_columns_are_found_or_named(tmp_path):
    """Dates and numbers are found by what stands in the columns; --column takes another one; blanks are gaps."""
    rows = "\n".join(f"A{n};2031-01-{n + 1:02};{n};{'' if n == 3 else 10 + n % 3}" for n in range(12))
    file = write(tmp_path, f"name;day;first;second\n{rows}\n")
    assert [value for _, _, value in read_series(file)] == list(range(12))
    second = read_series(file, "second")
    assert np.isnan(second[3][2]) and second[4][2] == 11
    assert second[0][1].isoformat() == "2031-01-01T12:00:00"


@pytest.mark.parametrize(
    ("text", "column", "said"),
    [
        ("a,b\n", None, "no rows"),
        ("day,value\n2031-01-01,x\n2031-01-02,y\n", None, "no column of numbers"),
        ("day,value\n2031-01-01,1\n", "weight", 'no column "weight"'),
        ("day,value\n" + "2031-01-01,1\n" * 3, None, "too few"),
        ("day,value\n" + "2031-01-01,1\n" * 9 + "2031-01-02,1o\n", "value", 'line 11, column "value": found "1o"'),
    ],
)
def test_what_cannot_be_charted(tmp_path, text, column, said):
    """Each fault is one sentence that names file, place and value."""
    with pytest.raises(GaugebookError, match=said):
        read_series(write(tmp_path, text), column)
