"""Rates of casks beside casks like them, and what a cask should hold, on rows put in by hand."""

from datetime import datetime

import numpy as np
import polars as pl
import pytest

from gaugebook.pipeline.derived.casks.evaporation import _band_of, _bands, _beside, _foretold, _rates
from gaugebook.pipeline.statistics.evaporation import Band, Rate

YEAR_S = 365.2425 * 86400


def intervals(*rows):
    """Contents, cask, years, alcohol held, alcohol left, u of the loss."""
    frame = pl.DataFrame(rows, schema=["contents", "cask", "years", "held_l", "left_l", "u_loss_l"], orient="row")
    return frame.with_columns(seconds=pl.col("years") * YEAR_S)


LOCATED = pl.DataFrame(
    {"cask": ["C1", "C2"], "location": ["W1", None], "nominal_l": [200.0, 500.0], "wood": ["oak", "acacia"]}
)


def test_a_rate_is_that_of_the_parts_left_from_gauge_to_gauge():
    """100 became 90 in a year and 50, after half was drawn, 40.5 in two more: 0.9, then 0.81 of it; 1 - 0.729^(1/3) a
    year. Another filling has its own."""
    first, second = _rates(
        intervals(("C1/1", "C1", 1.0, 100.0, 90.0, 0.9), ("C2/1", "C2", 2.0, 80.0, 76.05, 0.5),
                  ("C1/1", "C1", 2.0, 50.0, 40.5, 0.405)),
        LOCATED,
    )  # fmt: skip

    assert {name: value for name, value in first.items() if name != "rate"} == {
        "contents": "C1/1", "cask": "C1", "nominal_l": 200.0, "wood": "oak", "location": "W1",
        "years": pytest.approx(3.0),
    }  # fmt: skip
    assert first["rate"].per_year == pytest.approx(0.1)
    assert second["rate"].log_rate == pytest.approx(-np.log(76.05 / 80.0) / 2)
    assert (second["contents"], second["years"], second["location"]) == ("C2/1", pytest.approx(2.0), None)


def test_of_a_loss_each_of_its_gauges_has_its_part_of_the_doubt():
    """u of a loss is 1 % of what was left: of either gauge 1 % / sqrt(2), so that the rate of one year has u of 1 %."""
    (row,) = _rates(intervals(("C1/1", "C1", 1.0, 100.0, 90.0, 0.9)), LOCATED)
    (sure,) = _rates(intervals(("C9/1", "C9", 1.0, 100.0, 90.0, 0.0)), LOCATED)

    assert row["rate"].u_log_rate == pytest.approx(0.01)
    assert row["rate"].u_per_year == pytest.approx(0.9 * 0.01)
    assert sure["rate"].u_log_rate == pytest.approx(1e-9)
    assert (sure["nominal_l"], sure["wood"], sure["location"]) == (None, None, None)


def row(number, nominal_l=200.0, wood="oak", location="W1", log_rate=0.04):
    rate = Rate(per_year=1 - np.exp(-log_rate), u_per_year=0.001, log_rate=log_rate, u_log_rate=0.002)
    return {
        "contents": f"C{number}/1", "cask": f"C{number}", "nominal_l": nominal_l, "wood": wood, "location": location,
        "years": 2.0, "rate": rate,
    }  # fmt: skip


def test_casks_are_compared_with_those_most_like_them():
    """Eight of one size, wood and place are a kind; where fewer lie, eight of size and wood, of size alone, all."""
    rows = [row(number) for number in range(8)]
    rows += [row(10 + number, location="W2") for number in range(7)]
    rows += [row(20, wood="acacia"), row(30, nominal_l=500.0), row(40, nominal_l=None)]
    bands = _bands(rows)

    kinds = {cask["contents"]: _band_of(cask, bands)[0] for cask in rows}

    assert kinds["C0/1"] == (("nominal_l", "wood", "location"), 200.0, "oak", "W1")
    assert kinds["C10/1"] == (("nominal_l", "wood"), 200.0, "oak")
    assert kinds["C20/1"] == (("nominal_l",), 200.0)
    assert kinds["C30/1"] == kinds["C40/1"] == ((),)
    assert len(bands[((),)][1]) == 18 and len(bands[kinds["C10/1"]][1]) == 15
    assert _band_of({}, {}) is None
    assert _bands(rows[:7]) == {}


@pytest.mark.parametrize(
    ("kind", "like_it"),
    [
        ({}, "200 L, oak, W1"), ({"location": None}, "200 L, oak, place not on record"),
        ({"wood": None, "nominal_l": None}, "size not on record, wood not on record, W1"),
    ],
)  # fmt: skip
def test_what_a_cask_is_compared_with_is_told(kind, like_it):
    """Nine casks alike; the last of them loses three times as much and is no usual one."""
    rows = [row(number, **kind, log_rate=0.04 + 0.001 * (number % 2)) for number in range(8)]
    rows.append(row(8, **kind, log_rate=0.12))
    bands = _bands(rows)

    usual, leaking = _beside(rows[0], bands), _beside(rows[8], bands)

    assert usual["like_it"] == leaking["like_it"] == like_it
    assert (usual["casks"], usual["is_outlier"], leaking["is_outlier"]) == (8, False, True)
    assert usual["usual_per_year"] == pytest.approx(1 - np.exp(-0.0405), rel=1e-3)
    assert leaking["per_year"] == pytest.approx(1 - np.exp(-0.12))
    assert abs(leaking["z"]) > leaking["critical"] > abs(usual["z"])
    assert "rate" not in usual


def test_without_casks_like_it_a_rate_stands_alone():
    """What would be said of the band is NULL; of all casks together that is told."""
    alone = _beside(row(1), {})
    band = Band(0.05, 0.003, 0.01, np.array([0.5]), 3.0, np.array([False]))
    among_all = _beside(row(1), {((),): (band, ["C1/1"])})

    assert (alone["per_year"], alone["u_per_year"]) == (pytest.approx(1 - np.exp(-0.04)), 0.001)
    assert [alone[name] for name in ("like_it", "casks", "usual_per_year", "z", "critical", "is_outlier")] == [None] * 6
    assert (among_all["like_it"], among_all["casks"], among_all["z"], among_all["critical"]) == (
        "all casks",
        1,
        0.5,
        3.0,
    )
    left = np.exp(-0.05)
    assert among_all["usual_per_year"] == pytest.approx(1 - left)
    assert (among_all["u_usual_per_year"], among_all["scatter_per_year"]) == pytest.approx((0.003 * left, 0.01 * left))


LEVEL = {"gauged_at": datetime(2024, 1, 1), "as_of": datetime(2026, 1, 1), "gauged_l": 100.0, "u_gauged_l": 0.3}
YEARS = 731 / 365.2425
ALL = {((),): (Band(0.05, 0.003, 0.01, np.array([0.5]), 3.0, np.array([False])), ["C1/1"])}


def test_a_cask_is_foretold_by_its_own_rate_where_it_has_one():
    """0.04 a year over two years, u of it 0.002; casks like it do not matter then."""
    foretold = _foretold(LEVEL, row(1), row(1), ALL)
    share = np.exp(-0.04 * YEARS)

    assert (foretold["expected_by"], foretold["gauged_l"]) == ("its own rate", 100.0)
    assert foretold["expected_l"] == pytest.approx(100 * share)
    assert foretold["u_expected_l"] == pytest.approx(share * np.hypot(0.3, 100 * YEARS * 0.002), rel=1e-3)


def test_else_by_casks_like_it_with_what_differs_between_them():
    """0.05 a year, u of the mean 0.003 and scatter from cask to cask 0.01."""
    foretold = _foretold(LEVEL, None, row(1), ALL)
    share = np.exp(-0.05 * YEARS)

    assert foretold["expected_by"] == "casks like it"
    assert foretold["expected_l"] == pytest.approx(100 * share)
    assert foretold["u_expected_l"] == pytest.approx(
        share * np.hypot(0.3, 100 * YEARS * np.hypot(0.003, 0.01)), rel=1e-3
    )


@pytest.mark.parametrize("gauged_l", [None, -1.0])
def test_a_level_that_cannot_be_is_told_as_it_stands(gauged_l):
    """And so is one for which no rate is known."""
    foretold = _foretold(LEVEL | {"gauged_l": gauged_l}, row(1), row(1), ALL)
    unknown = _foretold(LEVEL, None, row(1), {})

    assert (foretold["expected_l"], foretold["u_expected_l"], foretold["expected_by"]) == (gauged_l, 0.3, "last gauge")
    assert (unknown["expected_l"], unknown["u_expected_l"], unknown["expected_by"]) == (100.0, 0.3, "last gauge")


def test_a_gauge_after_the_last_moment_of_the_book_foretells_nothing():
    """Nothing evaporates backwards; an empty cask stays empty."""
    foretold = _foretold(LEVEL | {"as_of": datetime(2023, 1, 1)}, row(1), row(1), ALL)

    assert (foretold["expected_l"], foretold["u_expected_l"]) == (100.0, pytest.approx(0.3))
    assert _foretold(LEVEL | {"gauged_l": 0.0}, row(1), row(1), ALL)["expected_by"] == "its own rate"
