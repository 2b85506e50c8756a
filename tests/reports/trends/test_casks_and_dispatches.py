"""Evaporation and dispatches as measures, by hand; and the charts of amounts."""

import math
import re
from datetime import date, datetime, timedelta

import pytest
from cask_house import CASKS, OPENING, cask_book, event, filled
from goods_house import EACH_L, gone, goods_book

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.house.profile_in_force import profile_in_force
from gaugebook.reports.trends.measures import Chart, Month
from gaugebook.reports.trends.stock_charts import amounts_chart, profile_chart, stock_chart
from gaugebook.reports.trends.stock_page import stock_page
from gaugebook.reports.trends.trends import _by_year
from gaugebook.reports.trends.trends_gather import _chart, _groups, _rows, gather_trends
from gaugebook.reports.warehouse.levels import Held
from gaugebook.reports.warehouse.stock import OLDEST, StockMonth

YEAR = timedelta(days=365.2425)
RUN = {"run": "FILL-1", "stage": "fill", "equipment": "T1", "started_at": "2024-01-10", "ended_at": "2024-01-10",
       "operator": "AB"}  # fmt: skip


def charts_of(folder, *codes: str) -> dict[str, Chart]:
    """The charts of measures by their keys, without a check of the book."""
    import polars as pl

    from gaugebook.reports.trends.measure_list import BY_CODE

    empty = pl.DataFrame(schema={"run": pl.String, "batch": pl.String, "ended_at": pl.Datetime, "equipment": pl.String,
                                 "product": pl.String, "operator": pl.String, "is_right": pl.Boolean,
                                 "has_decision": pl.Boolean})  # fmt: skip
    with open_book(folder) as book:
        house = profile_in_force(book)
        rows = _rows(book, house, empty)
    charts = [
        _chart(BY_CODE[code], group, points, house)[0]
        for code in codes
        for group, points in _groups(BY_CODE[code], rows.get(code, [])).items()
    ]
    return {chart.key: chart for chart in charts}


@pytest.fixture(scope="module")
def casks(tmp_path_factory):
    """Two casks gauged on one day after a year, one of them moved; one emptied later; a third of another size."""
    register = [CASKS[0] | {"location": "A", "position": "1/2"}, CASKS[1] | {"location": "A"},
                CASKS[2] | {"cask": "C3", "nominal_l": 50, "location": "B"}]  # fmt: skip
    return cask_book(
        tmp_path_factory.mktemp("casks"),
        opening_stock=OPENING[:1],
        casks=register,
        cask_events=[
            *(filled(cask, 100, "2024-01-10", run="FILL-1") for cask in ("C1", "C2", "C3")),
            event("C1", "regauged", "2025-01-10", volume_at_t_l=98, strength_reading=62.5),
            event("C2", "regauged", "2025-01-10", volume_at_t_l=96, strength_reading=62.5),
            event("C2", "moved", "2025-01-20", location="B"),
            event("C2", "emptied", "2025-07-10", run="DUMP-1", lot="VAT-1", volume_at_t_l=94, strength_reading=62.5),
            event("C3", "regauged", "2026-01-10", volume_at_t_l=90, strength_reading=62.5),
        ],
        runs=[RUN],
    )


def test_evaporation_is_lpa_lost_over_lpa_years(casks):
    """A: 2 and 4 L of 100 at 62.5 % vol in a year: (1.25 + 2.5) LPA over (61.875 + 61.25) LPA-years, 3.05 % a year."""
    charts = charts_of(casks, "evaporation")
    assert set(charts) == {"evaporation:A, 200 L", "evaporation:B, 200 L", "evaporation:B, 50 L"}
    [point] = charts["evaporation:A, 200 L"].points
    years = 366 / 365.2425
    assert point.numerator == pytest.approx(1.25 + 2.5)
    assert point.denominator == pytest.approx((61.875 + 61.25) * years)
    assert point.value == pytest.approx(100 * 3.75 / (123.125 * years))
    assert (point.run, point.casks, math.isnan(point.u)) == ("2 casks on 2025-01-10", "A, 200 L", True)


def test_what_a_cask_lost_until_it_was_emptied_counts_where_it_lay(casks):
    """C2 stood with 60 LPA in B since it was moved; 58.75 came out half a year later, with the one cask's own u."""
    [point] = charts_of(casks, "evaporation")["evaporation:B, 200 L"].points
    years = 181 / 365.2425
    assert (point.run, point.when) == ("cask C2", datetime(2025, 7, 10))
    assert point.value == pytest.approx(100 * 1.25 / (59.375 * years))
    with open_book(casks) as book:
        u_loss = book.value("SELECT u_loss_l FROM derived.cask_losses WHERE cask = 'C2' AND found_when = 'emptied'")
    assert point.u == pytest.approx(100 * u_loss / (59.375 * years))


def test_sums_of_months_and_years_are_ratios_of_sums(casks):
    """Month and year of the two casks gauged together have the same figure as their point."""
    chart = charts_of(casks, "evaporation")["evaporation:A, 200 L"]
    [month] = chart.months
    assert (month.month, month.runs) == (date(2025, 1, 1), 1)
    assert month.value == pytest.approx(chart.points[0].value)
    assert _by_year(chart, "UTC") == {2025: (pytest.approx(month.value), 1)}


def test_a_cask_outside_its_band_is_left_out_and_counted(tmp_path):
    """Nine casks lose 2 % a year and one 30 %: the mean is that of the nine, and the month has one row left out."""
    names = [f"K{n}" for n in range(10)]
    left = [98.0, 98.1, 97.9, 98.05, 97.95, 98.02, 97.98, 98.1, 97.9, 70.0]
    folder = cask_book(
        tmp_path,
        opening_stock=[OPENING[0] | {"volume_at_t_l": 3000}],
        casks=[CASKS[0] | {"cask": name} for name in names],
        cask_events=[
            *(filled(name, 100, "2024-01-10", run="FILL-1") for name in names),
            *(event(name, "regauged", "2025-01-10", volume_at_t_l=volume, strength_reading=62.5)
              for name, volume in zip(names, left, strict=True)),
        ],
        runs=[RUN],
    )  # fmt: skip
    [chart] = charts_of(folder, "evaporation").values()
    [month] = chart.months
    assert chart.group == "place not on record, 200 L"
    assert chart.points[0].run == "9 casks on 2025-01-10"
    assert (month.runs, month.left_out) == (1, 1)
    assert month.value == pytest.approx(100 * 2 / 99 / (366 / 365.2425), rel=1e-3)


@pytest.fixture(scope="module")
def goods(tmp_path_factory):
    """Bottles of half a litre at 41.3 % vol: 0.2065 LPA each, in three documents and one line without."""
    return goods_book(
        tmp_path_factory.mktemp("goods"),
        dispatches=[
            gone(10, "2026-02-03", document="D-1"),
            gone(20, "2026-02-03T10:00", document="D-1"),
            gone(5, "2026-02-20", document="D-2", duty_status="duty paid"),
            gone(7, "2026-04-01", document=""),
            gone(8, "2026-04-01T10:00", document=""),
            {"lot": "LIQ-1", "vessel": "T2", "dispatched_at": "2026-04-02", "customer": "K-2", "duty_status": "in bond",
             "document": "D-9", "volume_at_t_l": 10, "volume_temperature_c": 20, "strength_reading": 41.3,
             "reading_kind": "pct_vol_20c"},
        ],
    )  # fmt: skip


def test_dispatches_are_documents_by_duty_status(goods):
    """Lines of one document are one dispatch; without a document each stands alone; a month is their sum."""
    charts = charts_of(goods, "dispatched_bottles")
    assert set(charts) == {"dispatched_bottles:in bond", "dispatched_bottles:duty paid"}
    bond = charts["dispatched_bottles:in bond"]
    assert [(point.run, point.value) for point in bond.points] == [
        ("D-1", 30), ("no document", 7), ("no document", 8),
    ]  # fmt: skip
    assert [(month.month.month, month.value, month.runs) for month in bond.months] == [(2, 30, 1), (4, 15, 2)]
    assert _by_year(bond, "UTC") == {2026: (45, 3)}


def test_alcohol_dispatched_tells_bottles_from_bulk(goods):
    """0.2065 LPA a bottle; 10 L of 41.3 % vol in bulk are 4.13 LPA."""
    charts = charts_of(goods, "dispatched_alcohol")
    values = {key.split(":")[1]: [round(m.value, 3) for m in chart.months] for key, chart in charts.items()}
    assert values == {
        "bottles, in bond": [pytest.approx(30 * EACH_L, abs=2e-3), pytest.approx(15 * EACH_L, abs=2e-3)],
        "bottles, duty paid": [pytest.approx(5 * EACH_L, abs=2e-3)],
        "bulk, in bond": [pytest.approx(4.13, abs=5e-3)],
    }


# Charts of amounts


def test_bars_are_as_high_as_their_sums():
    """Heights in proportion from nothing; a month without stays empty."""
    months = (Month(date(2026, 1, 1), 10.0, math.nan, 1, 0), Month(date(2026, 3, 1), 40.0, math.nan, 5, 0))
    drawn = amounts_chart(months, "in bond", "LPA", 200.0)
    first, second = (float(height) for height in re.findall(r'<rect[^>]* height="([\d.]+)"', drawn))
    assert second == pytest.approx(4 * first, rel=0.01)


def stock(month: int, ages: dict[int | None, float]) -> StockMonth:
    """A month end with so many predicted litres of each age; the book has a tenth more."""
    held = {age: Held(1, 0, 1.1 * litres, 0.5, litres, 1.0, 0) for age, litres in ages.items()}
    total = Held(len(held), 0, 1.1 * sum(ages.values()), 1.0, sum(ages.values()), 2.0, 0)
    day = date(2025 + (month - 1) // 12, (month - 1) % 12 + 1, 28)
    return StockMonth(day.replace(day=1), datetime(day.year, day.month, 28), day, total, tuple(held.items()))


def test_profile_bars_are_in_proportion_and_put_in_words():
    """A bar an age, an open dot for the year before, and both in the words of the drawing."""
    now, before = stock(13, {0: 100.0, 3: 50.0, None: 25.0}), stock(1, {0: 75.0, 2: 50.0})
    drawn = profile_chart(now, before)
    heights = [float(height) for height in re.findall(r'<rect[^>]* height="([\d.]+)" fill="#b4b4b4"', drawn)]
    assert [height / heights[0] for height in heights] == pytest.approx([1.0, 0.5, 0.25], abs=0.01)
    assert drawn.count('fill="white"') == 2  # dots of the year before
    assert "under 1 year: 100.0 ± 2.0 LPA; 3 years: 50.0 ± 2.0 LPA; age not shown: 25.0 ± 2.0 LPA." in drawn
    for name in ("under 1 year", "2 years", "3 years", "age not shown"):
        assert f">{name}</text>" in drawn


def test_lines_of_age_never_cross():
    """What is at least so old is never more than what is at least a year younger; unknown ages stand in all alone."""
    months = [stock(n, {0: 10.0 * n, 2: 30.0, OLDEST: 5.0, None: 3.0}) for n in range(1, 7)]
    for month in months:
        at_least = [month.at_least(age) for age in range(OLDEST + 1)]
        assert at_least == sorted(at_least, reverse=True)
        assert at_least[0] == month.total.expected_l - 3.0
    assert "all" in stock_chart(months) and "98.0 ± 4.0 LPA on 2025-06-28." in stock_chart(months)


def test_one_month_is_a_page_and_none_is_none():
    """The page of a single month end is drawn; a house without casks has none."""
    page = stock_page((stock(1, {0: 100.0}),))
    assert page is not None and [age for age, _ in page.rows] == ["under 1 year", "all"]
    assert stock_page(()) is None


def test_a_house_of_casks_alone_has_trends(casks, tmp_path):
    """Without a run that a measure is made of the document is dated by the last gauging, and it can be made."""
    from shutil import copytree

    from gaugebook.checks.run import run_checks
    from gaugebook.reports.trends.trends import trends_html

    folder = copytree(casks, tmp_path / "book")
    with open_book(folder, writing=True) as book:
        run_checks(book)
        trends = gather_trends(book, profile_in_force(book))
    assert trends.last == datetime(2026, 1, 10)
    assert len(trends.stock) == 25
    assert 'id="stock"' in trends_html(trends)
