"""A check of an instrument is judged by that instrument's own uncertainty, in the unit of the check (made up)."""

import pytest

from gaugebook.checks.evaluation.calibration_errors import calibration_errors
from gaugebook.pipeline.house.settings import parse_house

HOUSE = """
[house]
name = "Two hydrometers and a balance, made up"
time_zone = "UTC"
site_pressure_kpa = 101.325

[[instruments]]
code = "HYD-1"
kind = "alcoholmeter"
name = "Alcoholmeter"
u = 0.15
unit = "pct_vol"

[[instruments]]
code = "HYD-2"
kind = "alcoholmeter"
name = "Another"
u = 0.40
unit = "pct_vol"

[[instruments]]
code = "BAL-1"
kind = "balance"
name = "Balance"
u = 0.02
unit = "kg"
"""


def test_each_check_has_the_uncertainty_of_its_own_instrument_and_unit(book, put):
    """Reading less reference; a code or a unit that the profile does not have gives no uncertainty."""
    for instrument, unit, reference, reading in [
        ("BAL-1", "kg", 20.0, 20.5), ("HYD-1", "pct_vol", 40.0, 39.5), ("HYD-1", "pct_vol", 60.0, 60.25),
        ("HYD-2", "pct_vol", 40.0, 41.0), ("HYD-9", "pct_vol", 40.0, 40.0), ("BAL-1", "pct_vol", 10.0, 10.0),
    ]:  # fmt: skip
        put("typed.calibrations", instrument=instrument, checked_at="2031-01-01", unit=unit, reference_value=reference,
            reading=reading)  # fmt: skip

    checks = calibration_errors(book, parse_house(HOUSE, "house.toml"))

    rows = checks.select("instrument", "unit", "reference_value", "error", "u_instrument").rows()
    assert rows == [
        ("BAL-1", "pct_vol", 10.0, 0.0, None),
        ("BAL-1", "kg", 20.0, 0.5, pytest.approx(0.02)),
        ("HYD-1", "pct_vol", 40.0, -0.5, pytest.approx(0.15)),
        ("HYD-1", "pct_vol", 60.0, 0.25, pytest.approx(0.15)),
        ("HYD-2", "pct_vol", 40.0, 1.0, pytest.approx(0.40)),
        ("HYD-9", "pct_vol", 40.0, 0.0, None),
    ]
