"""Casks that lose alike, one that leaks, and one that was never gauged again."""

from math import exp, log

import pytest
from cask_house import OPENING, cask_book, event, filled

from gaugebook.pipeline.book.database import open_book

RATES = (0.040, 0.042, 0.039, 0.041, 0.043, 0.038, 0.040, 0.041, 0.039, 0.042)  # of ten casks, a year, invented


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """Twelve casks filled on one day; ten gauged after two years, the eleventh leaks, the twelfth was never gauged."""
    gauged = [
        event(f"C{number:02}", "regauged", "2026-01-01", volume_at_t_l=200 * exp(-2 * rate), strength_reading=62.5)
        for number, rate in enumerate((*RATES, 0.12), start=1)
    ]
    folder = cask_book(
        tmp_path_factory.mktemp("evaporation"),
        opening_stock=[OPENING[0] | {"volume_at_t_l": 4000}],
        casks=[
            {"cask": f"C{number:02}", "tare_kg": 50, "nominal_l": 200, "wood": "american oak", "location": "W1"}
            for number in range(1, 13)
        ],
        cask_events=[*(filled(f"C{number:02}", 200, "2024-01-01") for number in range(1, 13)), *gauged],
    )
    with open_book(folder) as opened:
        yield opened


def test_each_cask_has_its_rate(book):
    """125 LPA became 125 exp(-2 k) in 731 days, so k of a year of 365.2425 days is the one that was put in."""
    rates = dict(book.frame("SELECT cask, per_year FROM derived.evaporation").iter_rows())
    days = 731 / 365.2425

    assert rates == {
        f"C{number:02}": pytest.approx(1 - exp(-2 * rate / days), rel=1e-9)
        for number, rate in enumerate((*RATES, 0.12), start=1)
    }


def test_the_leak_is_named_and_nothing_else(book):
    """The eleventh cask lost three times as much as the others; they are alike in size, wood and place."""
    outliers = book.frame("SELECT cask, like_it, casks FROM derived.evaporation WHERE is_outlier").rows()

    assert outliers == [("C11", "200 L, american oak, W1", 10)]


def test_what_was_never_gauged_again_is_foretold(book):
    """The twelfth should hold what casks like it do: 125 LPA less two years at the mean of the ten rates."""
    row = book.frame("SELECT * FROM derived.cask_stock WHERE cask = 'C12'").row(0, named=True)

    assert row["gauged_l"] == pytest.approx(125)
    assert row["expected_by"] == "casks like it"
    assert row["expected_l"] == pytest.approx(125 * exp(-2 * sum(RATES) / len(RATES)), rel=2e-3)
    own = book.value("SELECT expected_l FROM derived.cask_stock WHERE cask = 'C03'")
    assert own == pytest.approx(125 * exp(-2 * 0.039))  # gauged at the last moment of the book
    assert log(125 / row["expected_l"]) / 2 == pytest.approx(0.0405, abs=1e-4)


def test_drawing_from_a_cask_is_no_evaporation(tmp_path):
    """Half of a cask drawn after a year: the rate is that of what stayed, 10 % in each of two years."""
    folder = cask_book(
        tmp_path,
        opening_stock=OPENING,
        casks=[{"cask": "C1", "tare_kg": 50}],
        cask_events=[
            filled("C1", 200, "2023-01-01"),
            event("C1", "regauged", "2024-01-01", volume_at_t_l=180, strength_reading=62.5),
            event("C1", "drawn", "2024-01-01T01:00", lot="VAT", volume_at_t_l=90, strength_reading=62.5),
            event("C1", "regauged", "2025-01-01", volume_at_t_l=81, strength_reading=62.5),
        ],
    )
    with open_book(folder) as book:
        per_year, years, like_it = book.frame("SELECT per_year, years, like_it FROM derived.evaporation").row(0)

    assert years == pytest.approx(731 / 365.2425)
    assert per_year == pytest.approx(1 - 0.9 ** (365.2425 / 365.5), rel=1e-3)  # of 365 and of 366 days
    assert like_it is None  # one cask is no kind
