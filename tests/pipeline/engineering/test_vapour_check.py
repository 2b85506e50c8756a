"""The vapour side of a run against the handbook, and which sensor is wrong."""

import numpy as np
import pytest
from reference import rows

from gaugebook.pipeline.engineering.composition import mole_fraction_from_strength, strength_from_mole_fraction
from gaugebook.pipeline.engineering.vapour import (
    bubble_temperature_c,
    dew_temperature_c,
    highest_strength_pct_vol,
    ideal_stages,
)
from gaugebook.pipeline.engineering.vapour_check import (
    MODEL_U_C,
    WEATHER_U_KPA,
    stages_available,
    stages_needed,
    suspects,
    vapour_temperature_for,
)

HANDBOOK = [row for row in rows("vapour_liquid_101kpa.csv") if float(row["vapour_mole_fraction"]) < 0.89]


@pytest.mark.parametrize("row", HANDBOOK, ids=lambda row: row["temperature_c"])
def test_vapour_temperature_of_a_strength_is_the_handbooks(row):
    """Perry's handbook, 4th edition, p. 13-5, within the 0.55 °C that the equilibrium model states."""
    y = float(row["vapour_mole_fraction"])
    at, _, _ = vapour_temperature_for([float(strength_from_mole_fraction(y))], [101.325])

    # the handbook's y scatter by 0.005, which is up to 0.3 K where the vapour is weak
    assert at[0] == pytest.approx(float(row["temperature_c"]), abs=0.85 if y < 0.4 else 0.55)


@pytest.mark.parametrize(("charge", "reached"), [(9.4, 93.0), (28.0, 74.0), (50.0, 96.0), (8.0, 40.0)])
def test_stages_needed_are_those_of_mccabe_and_thiele(charge, reached):
    """As `ideal_stages`, which solves the equilibrium at every step."""
    assert stages_needed(charge, reached, 100.6) == pytest.approx(float(ideal_stages(charge, reached, 100.6)), abs=0.02)


@pytest.mark.parametrize(
    ("tag", "error"),
    [
        ("vapour_temperature_c", 2.0),
        ("pressure_kpa", -9.0),
        ("parrot_strength_pct_vol", 6.0),
        ("pot_temperature_c", -3.0),
    ],
)
def test_the_sensor_that_is_wrong_is_named(tag, error):
    """Each error leaves its own pattern on vapour, pot and pressure over a run that weakens from 80 to 30 % vol."""
    strength = np.linspace(80.0, 30.0, 12)
    shown = strength + (error if tag == "parrot_strength_pct_vol" else 0.0)
    pressure = 100.6 + (error if tag == "pressure_kpa" else 0.0)
    truth, _, _ = vapour_temperature_for(strength, np.full(12, 100.6))
    expected, per_strength, per_kpa = vapour_temperature_for(shown, np.full(12, pressure))
    vapour = truth - expected + (error if tag == "vapour_temperature_c" else 0.0)
    pot = (error if tag == "pot_temperature_c" else 0.0) - 0.27 * (pressure - 100.6)

    best = suspects(vapour, per_strength, per_kpa, np.full(12, 0.3), [pot, pot], 0.27, pressure - 100.6)[0]

    assert best.tag == tag
    assert best.error == pytest.approx(error, rel=0.15)


@pytest.mark.parametrize("strength", [1.0, 10.0, 45.0, 80.0, 95.0])
@pytest.mark.parametrize("pressure", [85.0, 101.0, 120.0])
def test_slopes_are_those_of_the_dew_line(strength, pressure):
    """Both slopes are the differences of `dew_temperature_c`, which solves the equilibrium each time."""
    at, per_strength, per_kpa = vapour_temperature_for([strength], [pressure])

    def dew(q, p):
        return dew_temperature_c(mole_fraction_from_strength(q), p)

    assert at[0] == pytest.approx(dew(strength, pressure), abs=0.02)
    assert per_strength[0] == pytest.approx(
        (dew(strength + 0.2, pressure) - dew(strength - 0.2, pressure)) / 0.4, rel=0.1
    )
    assert per_kpa[0] == pytest.approx(dew(strength, pressure + 1.0) - dew(strength, pressure), rel=0.02)


def test_steam_warms_with_the_pressure_as_clapeyron_says():
    """T (v'' - v') / h = 373.15 K x 1.6719 m3/kg / 2256.5 kJ/kg = 0.2765 K a kilopascal at 100 °C (IAPWS-95 tables)."""
    at, _, per_kpa = vapour_temperature_for([0.0], [101.325])

    assert at[0] == pytest.approx(100.0, abs=0.02)
    assert vapour_temperature_for([0.0], [101.0])[0][0] == pytest.approx(bubble_temperature_c(0.0, 101.0), abs=1e-6)
    assert per_kpa[0] == pytest.approx(0.2765, abs=0.003)


def test_a_log_whose_pressure_moves_is_met_at_each_row():
    """A front of 6 kPa in a run: each row lies on the dew line of its own pressure."""
    strength, pressure = np.array([80.0, 70.0, 60.0, 50.0, 40.0]), np.array([98.0, 99.5, 101.0, 102.5, 104.0])

    at, _, _ = vapour_temperature_for(strength, pressure)

    assert at == pytest.approx(dew_temperature_c(mole_fraction_from_strength(strength), pressure), abs=0.03)


def test_a_row_without_strength_or_pressure_has_no_temperature():
    """Missing is missing, in all three; and where no pressure is known at all, so are all rows."""
    for part in vapour_temperature_for([60.0, np.nan, 60.0, 60.0], [101.0, 101.0, np.nan, 101.0]):
        assert np.isnan(part).tolist() == [False, True, True, False]
    for part in vapour_temperature_for([60.0, 50.0], [np.nan, np.nan]):
        assert np.isnan(part).tolist() == [True, True]


def test_an_error_is_the_weighted_mean_and_what_is_left_its_misfit():
    """1 K ± 0.1 and 2 K ± 0.2 by hand: (100 x 1 + 25 x 2) / 125 = 1.2 K; left are 2 and 4 u, mean square 10.

    A row without a temperature counts in neither, and a sensor that explains nothing is not named.
    """
    found = suspects([1.0, np.nan, 2.0], [0.0, 1.0, 0.0], [0.0, 1.0, 0.0], [0.1, 0.1, 0.2], [], 0.27, np.nan)

    assert [suspect.tag for suspect in found] == ["vapour_temperature_c"]
    assert (found[0].error, found[0].misfit) == (pytest.approx(1.2), pytest.approx(10.0))


def test_the_pot_and_the_weather_are_weighed_by_their_own_uncertainties():
    """Pot 0.9 K and 0.3 K too warm, pressure 3 kPa above the site's mean, by hand.

    Pot's thermometer: mean 0.6 K; left 0.3/0.3 twice and 3/1.5 of weather: (1 + 1 + 4) / 3 = 2. Pressure gauge at
    -0.27 K/kPa: patterns -0.9, -0.9, 1/1.5 against 3, 1, 2: (-3.6 + 1.3333) / (1.62 + 0.44444) = -1.09795 kPa.
    """
    assert (MODEL_U_C, WEATHER_U_KPA) == (0.3, 1.5)  # what the arithmetic above is made with

    found = {suspect.tag: suspect for suspect in suspects([], [], [], [], [0.9, np.nan, 0.3], 0.27, 3.0)}

    assert set(found) == {"pot_temperature_c", "pressure_kpa"}
    assert (found["pot_temperature_c"].error, found["pot_temperature_c"].misfit) == (
        pytest.approx(0.6),
        pytest.approx(2.0),
    )
    error = (-3.6 + 2.0 / 1.5) / (2 * 0.81 + 1.0 / 2.25)
    assert found["pressure_kpa"].error == pytest.approx(error)
    left = [3.0 + 0.9 * error, 1.0 + 0.9 * error, 2.0 - error / 1.5]
    assert found["pressure_kpa"].misfit == pytest.approx(np.mean(np.square(left)))


def test_a_parrot_that_shows_too_much_makes_the_vapour_look_too_warm():
    """2 % vol too strong where the temperature falls 0.02 and 0.04 K a % vol: 0.04 and 0.08 K; nothing is left."""
    best = suspects([0.04, 0.08], [-0.02, -0.04], [0.25, 0.25], [0.3, 0.3], [], 0.27, np.nan)[0]

    assert (best.tag, best.error, best.misfit) == ("parrot_strength_pct_vol", pytest.approx(2.0), pytest.approx(0.0))


def test_no_stages_reach_the_azeotrope_and_few_come_near_it():
    """At the azeotrope the steps have no height; 0.05 % vol below they can still be counted, none below the charge."""
    strongest = highest_strength_pct_vol(101.3)

    assert stages_needed(10.0, strongest - 0.005, 101.3) == float("inf")
    assert 10.0 < stages_needed(10.0, strongest - 0.05, 101.3) < 1000.0
    assert stages_needed(40.0, 30.0, 101.3) == 0.0


def test_a_plate_makes_three_quarters_of_a_stage():
    """The pot alone is one stage; four plates at 0.75 make three more (common practice)."""
    assert [stages_available(plates) for plates in (0, 4)] == [1.0, 4.0]
