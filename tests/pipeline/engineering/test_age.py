"""Ages against the calendar arithmetic of dateutil, and laws that an age obeys."""

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.engineering.age import Age, age_after, age_between

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


def test_days_become_years_as_if_they_had_just_ended():
    """1,461 days to the first of March 2024 begin on the first of March 2020, over one leap day: 4 x 365 + 1."""
    assert age_after(1461, date(2024, 3, 1)) == Age(4, 0, 0)
    assert age_after(0, date(2024, 3, 1)) == Age(0, 0, 0)
    assert age_after(1460, date(2024, 3, 1)) == Age(3, 11, 28)  # from 2 March 2020; 28 days after 2 February
