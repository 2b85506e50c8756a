"""The one rounding rule of the documents."""

from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.reports.page import figures


@pytest.mark.parametrize(
    ("value", "u", "unit", "shown"),
    [
        # GUM (JCGM 100) 7.2.2 and 7.2.4: m_S = 100.021 47 g, u_c = 0.35 mg, U = 0.79 mg there with k = 2.26; with
        # k = 2 it is 0.70 mg (value and form from memory).
        (100.02147, 0.00035, "g", "100.02147 ± 0.00070 g"),
        (1350.04, 4.2, "LPA", "1,350.0 ± 8.4 LPA"),
        (40.0, 0.0499, "% vol", "40.00 ± 0.10 % vol"),  # 0.0998 rounds up into another digit
        (1234.5, 61.0, "L", "1,230 ± 120 L"),
        (0.5, 600.0, "L", "0 ± 1,200 L"),
        (-0.4, 0.02, "% vol", "−0.400 ± 0.040 % vol"),
        (12.345, None, "% vol", "12.34 % vol"),  # half to even
        (12.3, 0.0, "°C", "12.3 °C"),
        (None, 0.1, "L", "–"),
        (float("nan"), 0.1, "L", "–"),
    ],
)
def test_stated(value, u, unit, shown):
    """A value is rounded to where two digits of its expanded uncertainty end."""
    assert figures.stated(value, u, unit) == shown


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e4))
def test_rounding_is_small_beside_the_uncertainty(value, u):
    """What rounding takes away never exceeds a twentieth of the expanded uncertainty."""
    shown, expanded = figures.stated(value, u).replace(",", "").replace("−", "-").split(" ± ")
    assert abs(float(shown) - value) <= 2 * u / 20 * 1.06
    assert float(expanded) == pytest.approx(2 * u, rel=0.05)


def test_times_are_the_houses():
    """A UTC time in the book is printed in the house's zone, summer time and all."""
    assert figures.moment(datetime(2031, 10, 26, 0, 30), "Europe/Copenhagen") == "2031-10-26 02:30"
    assert figures.moment(datetime(2031, 10, 26, 1, 30), "Europe/Copenhagen") == "2031-10-26 02:30"
    assert figures.moment(None, "Europe/Copenhagen") == figures.MISSING


def test_percent_keeps_its_uncertainty():
    """A fraction becomes per cent together with its uncertainty."""
    assert figures.percent(0.9531, 0.0021) == "95.31 ± 0.42 %"
    assert figures.percent(None, 0.1) == figures.MISSING
