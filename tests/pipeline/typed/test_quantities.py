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


@pytest.mark.parametrize(
    ("number", "given_unit", "words"),
    [
        (Quantity("L", (0.0, 10.0), ("L", "mL")), "L", "0 to 10 L"),
        (Quantity("L", (0.0, 10.0), ("L", "mL")), None, "0 to 10 L"),
        (Quantity("L", (0.5, 10.0), ("L", "mL")), "mL", "0.5 to 10 L (500 to 10000 mL)"),
        (Quantity(None, (0.0, 10.0), ()), "mL", "0 to 10"),
        (Quantity("L", None, ("L",)), "mL", "a value that mL can have"),
        (
            Quantity("each", (6.0, 24.0), ("each", "box"), {"each": 1.0, "box": 12.0}),
            "box",
            "6 to 24 each (0.5 to 2 box)",
        ),
    ],
)
def test_a_span_is_told_in_both_units(number, given_unit, words):
    """Its own first; a plain number has none."""
    assert number.span(given_unit) == words


def test_what_a_unit_that_does_not_fit_is_told():
    """One that is no unit, one of another quantity, and one that fits."""
    number = Quantity("L", None, ("L", "mL"))

    assert (number.misfit(None), number.misfit("mL")) == (None, None)
    assert number.misfit("kg") == 'the unit "kg" does not measure it'
    assert "does not say which gallon" in str(number.misfit("gal"))
    assert (number.fitting, Quantity(None, None, ()).fitting) == (
        "one of L, mL",
        "no unit, because it is a plain number",
    )


def test_factors_of_a_unit_that_is_no_measure():
    """Three boxes of twelve are 36 pieces; without a unit a number stays as it is."""
    boxes = Quantity("each", None, ("each", "box"), {"each": 1.0, "box": 12.0})

    assert boxes.value_in_own_unit(3.0, "box") == 36.0
    assert boxes.in_own_unit(pl.Series([1.0, None]), "box").to_list() == [12.0, None]
    assert Quantity(None, None, ()).value_in_own_unit(3.0, "box") == 3.0
    assert boxes.value_in_own_unit(3.0, None) == 3.0
