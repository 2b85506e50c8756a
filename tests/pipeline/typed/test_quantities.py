"""What a number of some unit is in the unit that it is kept in."""

from decimal import Decimal

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.typed.quantities import Quantity

MILLILITRES = Quantity("mL", None, ("mL", "L"))
MASS = Quantity("kg", None, ("kg", "lb", "g"))


@given(st.integers(1, 10**9), st.sampled_from(["mL", "L", "hL", "cL"]), st.sampled_from(["mL", "L", "hL", "cL"]))
def test_a_decimal_number_stays_the_decimal_number_that_its_text_means(thousandths, given_unit, own):
    """0.7 L is 700 mL, to the last bit: whatever the text says in thousandths, moved by the factor of the prefix."""
    power = {"mL": -3, "cL": -2, "L": 0, "hL": 2}
    text = Decimal(thousandths).scaleb(-3)

    kept = Quantity(own, None, tuple(power)).value_in_own_unit(float(text), given_unit)

    assert kept == float(text.scaleb(power[given_unit] - power[own]))


@pytest.mark.parametrize(
    ("value", "unit", "own", "kept"),
    [
        (0.7, "L", "mL", 700.0),
        (700.0, "mL", "L", 0.7),
        (212.0, "degF", "degC", 100.0),
        (86.9, "degF", "degC", 30.5),
        (1.0, "lb", "kg", 0.45359237),  # international yard and pound agreement, 1959
        (0.0, "degC", "K", 273.15),
        (0.0, "lb", "kg", 0.0),
    ],
)
def test_a_number_is_kept_as_it_would_be_written(value, unit, own, kept):
    """Neither the factor nor the offset leaves a last digit behind that no text has."""
    assert Quantity(own, None, (own, unit)).value_in_own_unit(value, unit) == kept


def test_what_is_given_in_its_own_unit_is_not_touched():
    """A number of more digits than a factor allows stays whole where no factor meets it."""
    assert MASS.value_in_own_unit(0.1234567890123456, "kg") == 0.1234567890123456


def test_what_is_no_number_stays_none():
    """NULL where there is none."""
    assert MASS.in_own_unit(pl.Series([None, 2000.0], dtype=pl.Float64), "g").to_list() == [None, 2.0]
