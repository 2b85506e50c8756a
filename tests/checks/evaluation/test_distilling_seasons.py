"""One season, one year: by days of distillation, by days of filling, and where these do not show it."""

from datetime import date, timedelta

import hypothesis.strategies as st
import pytest
from hypothesis import given

from gaugebook.checks.evaluation.distilling_seasons import in_one_period, season

DAYS = st.dates(date(2015, 1, 1), date(2030, 12, 31))


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        (date(2021, 1, 1), "2021, January to June"), (date(2021, 6, 30), "2021, January to June"),
        (date(2021, 7, 1), "2021, July to December"), (date(2021, 12, 31), "2021, July to December"),
    ],
)  # fmt: skip
def test_seasons_are_those_of_the_law(day, expected):
    """27 CFR 5.88 with 5.1: January to June, July to December."""
    assert season(day) == expected


def test_by_distillation():
    """The days of the runs show it without a word; two seasons name a run of each."""
    assert in_one_period({"D-1": date(2021, 1, 1), "D-2": date(2021, 6, 30)}, {}, season).answer == "yes"
    broken = in_one_period({"D-1": date(2021, 6, 30), "D-2": date(2021, 7, 1)}, {}, season)
    assert (broken.answer, broken.why) == ("no", "2021, January to June (D-1), 2021, July to December (D-2)")


def test_by_filling_is_said():
    """Distilled before the book began, filled well within a season."""
    shown = in_one_period({"D-1": date(2021, 3, 1)}, {"C1/1": date(2021, 2, 18)}, season)
    assert (shown.answer, shown.why) == ("yes", "by the day of filling, not of distillation: C1/1")


@pytest.mark.parametrize(("day", "answer"), [(date(2021, 7, 7), None), (date(2021, 7, 8), "yes")])
def test_filled_too_soon_after_a_season_began(day, answer):
    """In the first seven days it may be of the season before, so neither is shown."""
    assert in_one_period({}, {"C1/1": day}, season).answer == answer


def test_two_seasons_that_may_be_one_are_not_broken():
    """Filled on 5 July and on 20 June: perhaps of one season; on 5 July and 20 May: the same; on 20 July: never."""
    june, july = date(2021, 6, 20), date(2021, 7, 5)
    assert in_one_period({}, {"C1/1": june, "C2/1": july}, season).answer is None
    assert in_one_period({}, {"C1/1": june, "C2/1": july + timedelta(days=15)}, season).answer == "no"


def test_a_day_that_is_not_on_record_shows_nothing():
    """Whatever the others are, unless they break it already."""
    known = {"C1/1": date(2021, 3, 1), "C2/1": None}
    assert in_one_period({}, known, season).answer is None
    assert in_one_period({"D-1": date(2022, 3, 1)}, known, season).answer == "no"
    assert in_one_period({}, {}, season).answer is None


def test_a_year_that_is_stated():
    """A vintage is that year: 2019 is broken by 2018; filled on 3 January 2019 it may be either."""
    year = lambda day: day.year  # noqa: E731
    assert in_one_period({"D-1": date(2019, 5, 1)}, {}, year, 2019).answer == "yes"
    assert in_one_period({"D-1": date(2018, 5, 1)}, {}, year, 2019).answer == "no"
    assert in_one_period({}, {"C1/1": date(2019, 1, 3)}, year, 2019).answer is None
    assert in_one_period({}, {"C1/1": date(2018, 5, 1)}, year, 2019).answer == "no"


@given(st.dictionaries(st.text("CD", min_size=1), DAYS, min_size=1), st.dictionaries(st.text("EF", min_size=1), DAYS))
def test_more_records_never_show_more(distilled, filled):
    """What is broken stays broken, and what is not shown does not become shown, when a record is added."""
    fewer, more = in_one_period(distilled, {}, season).answer, in_one_period(distilled, filled, season).answer
    grade = {"yes": 2, None: 1, "no": 0}
    assert grade[more] <= grade[fewer]
