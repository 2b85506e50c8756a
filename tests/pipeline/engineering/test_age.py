"""Ages against the calendar arithmetic of dateutil, and laws that an age obeys."""

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.engineering.age import Age, Stay, age_after, age_between, days_in_wood

DAYS = st.dates(date(1950, 1, 1), date(2100, 1, 1))


@given(DAYS, st.integers(0, 40_000))
def test_ages_are_those_of_the_reference_library(start, days):
    """dateutil.relativedelta counts years, months and days as the records of a warehouse do."""
    end = start + timedelta(days=days)
    between = relativedelta(end, start)

    assert age_between(start, end) == Age(between.years, between.months, between.days)


@pytest.mark.parametrize(
    ("start", "end", "age"),
    [
        (date(2021, 1, 31), date(2021, 2, 28), Age(0, 1, 0)),  # the last day of a short month completes it
        (date(2021, 1, 31), date(2021, 3, 1), Age(0, 1, 1)),
        (date(2020, 2, 29), date(2024, 2, 28), Age(3, 11, 30)),  # a day short of four years
        (date(2020, 2, 29), date(2024, 2, 29), Age(4, 0, 0)),
        (date(2022, 12, 31), date(2022, 12, 31), Age(0, 0, 0)),
    ],
)
def test_short_months_and_leap_days(start, end, age):
    """Counted on a calendar by hand."""
    assert age_between(start, end) == age


@given(DAYS, st.integers(0, 9000), st.integers(0, 900))
def test_an_age_does_not_fall_with_time(start, days, more):
    """Later is never younger."""
    end = start + timedelta(days=days)

    assert age_between(start, end) <= age_between(start, end + timedelta(days=more))


def test_an_age_never_runs_backwards():
    """Emptied before it was filled is said, not counted."""
    with pytest.raises(ValueError, match="before it went in"):
        age_between(date(2020, 1, 2), date(2020, 1, 1))
    with pytest.raises(ValueError, match="negative"):
        age_after(-1, date(2020, 1, 1))


@given(st.lists(st.tuples(st.integers(0, 400), st.integers(0, 400)), max_size=6), st.randoms())
def test_time_out_of_wood_does_not_count(stays, random):
    """Days in wood are the sum of the stays, in whatever order they are told; (pause, stay) in days."""
    told, day = [], date(2000, 1, 1)
    for pause, stay in stays:
        told.append(Stay(day + timedelta(days=pause), day + timedelta(days=pause + stay)))
        day = told[-1].emptied_on
    random.shuffle(told)

    assert days_in_wood(told) == sum(stay for _, stay in stays)


def test_stays_that_overlap_are_refused():
    """Spirit lies in one cask at a time; a stay that ends before it begins is no stay."""
    with pytest.raises(ValueError, match="before the one before it ends"):
        days_in_wood([Stay(date(2020, 1, 1), date(2020, 3, 1)), Stay(date(2020, 2, 1), date(2020, 4, 1))])
    with pytest.raises(ValueError, match="before it begins"):
        days_in_wood([Stay(date(2020, 3, 1), date(2020, 1, 1))])


def test_days_become_years_as_if_they_had_just_ended():
    """1,461 days to the first of March 2024 begin on the first of March 2020, over one leap day: 4 x 365 + 1."""
    assert age_after(1461, date(2024, 3, 1)) == Age(4, 0, 0)
    assert age_after(0, date(2024, 3, 1)) == Age(0, 0, 0)
    assert age_after(1460, date(2024, 3, 1)) == Age(3, 11, 28)  # from 2 March 2020; 28 days after 2 February
