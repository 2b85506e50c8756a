"""Bounds of spans: numbers, columns, and sums of both."""

import polars as pl
import pytest

from gaugebook.checks.rulebook.bounds import bound


@pytest.mark.parametrize(
    ("written", "terms"),
    [
        (40, ((40.0, None),)),
        ("most", ((1.0, "most"),)),
        ("-tolerance_pct_vol - 2 u_value", ((-1.0, "tolerance_pct_vol"), (-2.0, "u_value"))),
        ("1 - 0.02 - 3 u_closure", ((1.0, None), (-0.02, None), (-3.0, "u_closure"))),
        ("0.01 book_alcohol_l", ((0.01, "book_alcohol_l"),)),
    ],
)
def test_a_bound_reads_as_it_is_written(written, terms):
    """Numbers, columns and their sums become terms in the order written."""
    assert bound(written).terms == terms


@pytest.mark.parametrize(
    "written", ["", "most +", "2 * most", "most least", "1 2", "Most", "u_value ** 2", "max(1, 2)"]
)
def test_what_is_no_sum_is_refused(written):
    """Anything but a sum of numbers and columns is refused, and the sentence shows it."""
    with pytest.raises(ValueError, match="is no sum"):
        bound(written)


@pytest.mark.parametrize("written", [True, None, [1.0], float("nan")])
def test_what_is_neither_number_nor_text_is_refused(written):
    """A truth value, a list and a nan are no bounds."""
    with pytest.raises(ValueError, match=r"bound|neither"):
        bound(written)


def test_a_missing_column_makes_the_bound_missing():
    """A sum over a NULL is NULL, never the sum of the rest."""
    frame = pl.DataFrame({"a": [1.0, None], "u_a": [0.5, 0.5]})

    assert frame.select(bound("a + 2 u_a").values().alias("b"))["b"].to_list() == [2.0, None]


def test_a_bound_is_widened_where_there_is_one():
    """An open side stays open, and a factor of nothing adds no term."""
    assert bound("most").widened(2.0, "u").terms == ((1.0, "most"), (2.0, "u"))
    assert bound("most").widened(0.0, "u") == bound("most")
    assert bound(float("inf")).widened(2.0, "u") == bound(float("inf"))
