"""What lies in casks at the end of each month, worked by hand on a house of five casks."""

from datetime import date, datetime
from math import exp, log, sqrt

import polars as pl
import pytest
from cask_house import CASKS, OPENING, cask_book, event, filled

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.engineering.age import age_after
from gaugebook.reports.warehouse.levels import levels_at
from gaugebook.reports.warehouse.stock import OLDEST, StockMonth, stock_months

YEAR_S = 365.2425 * 86400
# New make that never lay in wood, two old casks, one of which nobody knows the age of.
STOOD = [
    OPENING[0] | {"aged_from": "2024-01-01"},
    OPENING[1] | {"aged_from": "2009-02-10"},
    {
        "lot": "OLD-2",
        "material": "whisky",
        "kind": "spirit",
        "vessel": "C2",
        "counted_at": "2024-01-01",
        "alcohol_l": 80,
    },
]
RUN = {"run": "FILL-1", "stage": "fill", "equipment": "T1", "started_at": "2024-01-10", "ended_at": "2024-01-10",
       "operator": "AB"}  # fmt: skip
# C1: 62.5 LPA filled, 98 L at 62.0 % vol a year later. C3 is emptied after two months; C4 leaks an amount nobody knows.
EVENTS = [
    filled("C1", 100, "2024-01-10", run="FILL-1"),
    filled("C3", 50, "2024-02-20", run="FILL-2"),
    filled("C4", 50, "2024-02-20", run="FILL-2"),
    event("C3", "emptied", "2024-04-20", run="DUMP-1", lot="VAT-1", volume_at_t_l=49, strength_reading=62.5),
    event("C4", "lost", "2024-05-03", reason="hoop broke"),
    event("C1", "regauged", "2025-01-10", volume_at_t_l=98, strength_reading=62.0),
    event("C9", "regauged", "2025-07-15", alcohol_l=84),
]
LEFT = 98 * 0.62 / 62.5  # of C1 after a year


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return cask_book(tmp_path_factory.mktemp("stock"), opening_stock=STOOD, casks=CASKS, cask_events=EVENTS, runs=[RUN])


@pytest.fixture(scope="module")
def months(folder) -> dict[str, StockMonth]:
    with open_book(folder) as book:
        return {f"{month.month:%Y-%m}": month for month in stock_months(book, "UTC")}


def test_months_run_from_the_first_run_to_the_last_moment(months):
    """January 2024 to July 2025 without a gap, the last to the moment at which the book ends."""
    assert len(months) == 19
    assert (min(months), max(months)) == ("2024-01", "2025-07")
    assert months["2024-02"].as_of == datetime(2024, 2, 29, 23, 59, 59)
    assert months["2025-07"].as_of == datetime(2025, 7, 15)


def test_a_cask_is_there_from_filling_to_emptying(months):
    """C1, C2 and C9 in January; C3 and C4 from February; C3 is gone at the end of April."""
    assert [months[month].total.casks for month in ("2024-01", "2024-02", "2024-03", "2024-04", "2025-07")] == [
        3, 5, 5, 4, 4,
    ]  # fmt: skip


def test_litres_by_the_book_are_those_of_the_last_gauge(months):
    """Filled with 62.5, 31.25 and 31.25 LPA beside 90 and 80; after its regauge C1 stands with 98 x 0.62 = 60.76."""
    assert months["2024-01"].total.book_l == pytest.approx(62.5 + 90 + 80, abs=1e-3)
    assert months["2024-03"].total.book_l == pytest.approx(62.5 + 2 * 31.25 + 170, abs=1e-3)
    assert months["2024-12"].total.book_l == pytest.approx(62.5 + 170, abs=1e-3)
    assert months["2025-01"].total.book_l == pytest.approx(60.76 + 170, abs=1e-3)
    assert months["2025-07"].total.book_l == pytest.approx(60.76 + 84 + 80, abs=1e-3)


def test_a_cask_of_unknown_contents_is_counted_and_not_summed(months):
    """After the leak nobody knows what C4 holds."""
    assert months["2024-04"].total.not_known == 0
    assert months["2024-05"].total.not_known == 1
    assert months["2024-05"].total.casks == 4


def test_what_is_left_follows_the_cask_s_own_rate(folder):
    """C1 lost from 62.5 to 60.76 LPA in 366 days: A = A0 exp(-k t), half a year after its filling and its regauge."""
    at = [datetime(2024, 7, 10), datetime(2025, 7, 10)]
    with open_book(folder) as book:
        rows = levels_at(book, at).rows.filter(pl.col("contents") == "C1/1").sort("as_of")
    rate = -log(LEFT) / (366 * 86400)
    for row, began, held in zip(
        rows.to_dicts(), (datetime(2024, 1, 10), datetime(2025, 1, 10)), (62.5, 60.76), strict=True
    ):
        assert row["expected_l"] == pytest.approx(held * exp(-rate * (row["as_of"] - began).total_seconds()), abs=1e-3)


def test_ages_are_completed_years_by_the_calendar(months):
    """C1 of 10 January 2024 is one year old at the end of January 2025; OLD-1 of 2009 is over twelve; OLD-2 unknown."""
    held = {month: {years: of_age.casks for years, of_age in months[month].ages} for month in months}
    assert held["2024-03"] == {0: 3, OLDEST: 1, None: 1}
    assert held["2024-12"] == {0: 2, OLDEST: 1, None: 1}
    assert held["2025-01"] == {0: 1, 1: 1, OLDEST: 1, None: 1}  # C4 was filled on 20 February
    assert [years for years, _ in months["2025-03"].ages] == [1, OLDEST, None]
    assert months["2025-03"].at_least(1) == pytest.approx(months["2025-03"].total.expected_l - 80, abs=1e-6)


def test_years_are_those_of_the_age_that_a_dossier_prints(folder):
    """Completed years are the years of `age_after`, over the days of two years, leap day and all."""
    moments = [datetime(2025 + n // 12, n % 12 + 1, day, 12) for n in range(6) for day in (1, 9, 10, 11, 28)]
    with open_book(folder) as book:
        rows = levels_at(book, moments).rows
    from gaugebook.reports.warehouse.stock import _aged

    for row in _aged(rows, "UTC").filter(pl.col("aged_from").is_not_null()).to_dicts():
        day: date = row["as_of"].date()
        years = age_after((day - row["aged_from"]).days, day).years
        assert row["years"] == min(years, OLDEST), (row["contents"], day)


def test_ages_add_up_to_the_total(months):
    """Casks and litres of all ages are those of the total; uncertainties do not simply add."""
    for month in months.values():
        for name in ("casks", "not_known", "foretold", "book_l", "expected_l"):
            parts = [getattr(held, name) for _, held in month.ages]
            assert sum(parts) == pytest.approx(getattr(month.total, name), abs=1e-9), (month.month, name)


def test_the_last_moment_is_what_the_stock_of_casks_says(folder, months):
    """derived.cask_stock and the last month tell the same litres, cask by cask the same uncertainty."""
    with open_book(folder) as book:
        stock = {row["contents"]: row for row in book.frame("SELECT * FROM derived.cask_stock").to_dicts()}
        levels = levels_at(book, [months["2025-07"].as_of])
    each = levels.held(["contents"])
    assert {contents for (contents,) in each} == set(stock)
    for (contents,), held in each.items():
        if stock[contents]["expected_l"] is None:
            assert held.not_known == 1
            continue
        assert held.book_l == pytest.approx(stock[contents]["gauged_l"])
        assert held.expected_l == pytest.approx(stock[contents]["expected_l"])
        assert held.u_expected_l == pytest.approx(stock[contents]["u_expected_l"])


def test_errors_that_casks_share_do_not_average_out(tmp_path):
    """Two casks filled alike by one glass: its error counts for both together, twice that of one and not sqrt(2)."""
    fills = [filled(cask, 100, "2024-01-10", run="FILL-1") for cask in ("C1", "C2")]
    folder = cask_book(tmp_path, opening_stock=OPENING[:1], casks=CASKS[:2], cask_events=fills, runs=[RUN])
    with open_book(folder) as book:
        levels = levels_at(book, [datetime(2024, 1, 31)])
        shared = book.frame(
            "SELECT error, sum(e.alcohol_l) AS together, count(*) AS n FROM derived.gauge_errors AS e "
            "JOIN derived.gauges AS g USING (gauge) WHERE g.vessel IN ('C1', 'C2') GROUP BY error"
        ).to_dicts()
    [(_, both)] = levels.held(["as_of"]).items()
    [one, other] = levels.held(["contents"]).values()
    assert any(error["n"] == 2 for error in shared)
    assert both.u_book_l == pytest.approx(sqrt(sum(error["together"] ** 2 for error in shared)))
    assert both.u_book_l > 1.02 * sqrt(one.u_book_l**2 + other.u_book_l**2)


def test_the_rate_of_casks_like_them_is_in_error_for_all_foretold_by_it(tmp_path):
    """Ten casks alike were gauged, four were not: what their mean rate may be off, it is for the four together.

    u(A)² = (Σ A t u(k))² + Σ (A t s)² beside the gauging, with A and t of each (JCGM 100:2008, 5.1.2 and 5.2.2).
    """
    names = [f"K{n:02}" for n in range(14)]
    litres = [98.0, 97.2, 97.7, 97.4, 98.3, 97.1, 97.9, 97.6, 98.1, 97.0]
    folder = cask_book(
        tmp_path,
        opening_stock=[OPENING[0] | {"volume_at_t_l": 3000}],
        casks=[CASKS[0] | {"cask": name} for name in names],
        cask_events=[
            *(filled(name, 100, "2024-01-10", run="FILL-1") for name in names),
            *(event(name, "regauged", "2026-01-10", volume_at_t_l=volume, strength_reading=62.5)
              for name, volume in zip(names[:10], litres, strict=True)),
        ],
        runs=[RUN],
    )  # fmt: skip
    with open_book(folder) as book:
        stock = book.frame("SELECT * FROM derived.cask_stock WHERE like_it IS NOT NULL").to_dicts()
        levels = levels_at(book, [stock[0]["as_of"]])
    assert len(stock) == 4
    chosen = levels.rows.filter(pl.col("like_it").is_not_null())
    [together] = type(levels)(chosen, levels.errors).held(["as_of"]).values()
    [unshared] = type(levels)(
        chosen.with_columns(pl.lit(0.0).alias("rate_part"), pl.lit(0.0).alias("scatter_part")), levels.errors
    ).held(["as_of"]).values()  # fmt: skip
    years = (datetime(2026, 1, 10) - datetime(2024, 1, 10)).total_seconds() / YEAR_S
    held, per_year = stock[0]["expected_l"], stock[0]["per_year"]
    of_rate = 4 * held * years * stock[0]["u_per_year"] / (1 - per_year)
    of_scatter = 2 * held * years * stock[0]["scatter_per_year"] / (1 - per_year)  # sqrt(4)
    assert together.foretold == 4
    assert together.u_expected_l**2 - unshared.u_expected_l**2 == pytest.approx(of_rate**2 + of_scatter**2, rel=1e-6)


def test_a_house_without_casks_has_no_stock(book):
    """No cask, no month."""
    assert stock_months(book, "UTC") == ()
