"""Volume and pure alcohol by integration, cuts from receivers, and the vapour side against the handbook."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from reference import rows

from gaugebook.pipeline.engineering.composition import strength_from_mole_fraction
from gaugebook.pipeline.engineering.run_curve import collected, cut_by_receivers, parrot_strength, quantity
from gaugebook.pipeline.engineering.vapour import ideal_stages
from gaugebook.pipeline.engineering.vapour_check import stages_needed, suspects, vapour_temperature_for

TIMES = 60.0 * np.arange(301)


def test_a_falling_flow_of_falling_strength_is_integrated():
    """Flow 100 exp(-t/2) L/h at 90 (1 - t/10) % vol for five hours; the integrals in closed form."""
    hours = TIMES / 3600
    total = collected(TIMES, 100 * np.exp(-hours / 2), 90 * (1 - hours / 10))

    volume = 200 * (1 - np.exp(-2.5))
    weighted = 100 * (4 - np.exp(-2.5) * (4 + 2 * 5))  # of t exp(-t/2) from 0 to 5
    assert total.volume_l[-1] == pytest.approx(volume, rel=1e-4)
    assert total.alcohol_l[-1] == pytest.approx(0.9 * (volume - weighted / 10), rel=1e-4)


def test_what_runs_over_a_gap_is_kept_apart_and_made_uncertain():
    """An hour of five without flow readings: a fifth of the volume is bridged."""
    flow = np.where((TIMES > 3600) & (TIMES < 7200), np.nan, 60.0)

    total = collected(TIMES, flow, np.full(301, 80.0))

    assert (total.volume_l[-1], total.bridged_l[-1]) == (pytest.approx(300.0), pytest.approx(60.0))
    whole = quantity(total, 0.0, TIMES[-1], 0.0, 0.0, 0.0, 0.0)
    assert whole.bridged_part == pytest.approx(0.2)
    assert whole.u_volume_l == pytest.approx(0.05 * 60.0)


def test_a_strength_that_was_not_measured_is_kept_apart_and_made_uncertain():
    """An hour of five without a parrot, 80 % vol before it and 50 after: by hand 60 L x 30 % / (2 root 3)."""
    strength = np.where(TIMES <= 3600, 80.0, 50.0)
    strength[(TIMES > 3600) & (TIMES < 7200)] = np.nan

    total = collected(TIMES, np.full(301, 60.0), strength)
    whole = quantity(total, 0.0, TIMES[-1], 0.0, 0.0, 0.0, 0.0)

    assert (whole.bridged_part, whole.strength_bridged_part) == (0.0, pytest.approx(0.2))
    assert whole.alcohol_l == pytest.approx(48.0 + 39.0 + 3 * 30.0)
    assert whole.u_alcohol_l == pytest.approx(60.0 * 0.3 / 2 / np.sqrt(3.0))


def test_a_strength_carried_past_its_last_value_is_marked():
    """A parrot that fails for good after four of five hours: a twentieth of its last strength is uncertain."""
    strength = np.where(TIMES <= 4 * 3600, 80.0, np.nan)

    whole = quantity(collected(TIMES, np.full(301, 60.0), strength), 0.0, TIMES[-1], 0.0, 0.0, 0.0, 0.0)

    assert whole.strength_bridged_part == pytest.approx(57 / 300)  # three minutes may pass unmarked
    assert whole.u_alcohol_l == pytest.approx(57.0 * 0.8 / 20)


def test_over_a_gap_the_counter_is_believed():
    """It went on counting where the flow was not logged."""
    flow = np.where((TIMES > 3600) & (TIMES < 7200), np.nan, 60.0)
    counter = np.where(TIMES < 7200, TIMES / 60, TIMES / 60 + 7.0)

    assert collected(TIMES, flow, np.full(301, 80.0), counter).volume_l[-1] == pytest.approx(307.0)


def test_the_uncertainty_of_a_quantity_adds_its_four_parts():
    """By hand: 60 L of 48 LPA; flow 1 %, strength 0.2 % vol, each cut half a minute at 0.8 LPA a minute."""
    total = collected(TIMES, np.full(301, 60.0), np.full(301, 80.0))

    part = quantity(total, 3600.0, 7200.0, 30.0, 30.0, 0.01, 0.2)

    assert part.alcohol_l == pytest.approx(48.0)
    assert part.u_alcohol_l == pytest.approx(np.sqrt(0.48**2 + 0.12**2 + 2 * 0.4**2))


def test_without_strength_there_is_volume_and_no_alcohol():
    """Not measured is not nought."""
    total = collected(TIMES, np.full(301, 60.0), np.full(301, np.nan))

    assert total.volume_l[-1] == pytest.approx(300.0)
    assert np.isnan(total.alcohol_l[1:]).all()


@given(
    heads=st.floats(0.5, 50.0), hearts=st.floats(50.0, 400.0), tails=st.floats(5.0, 100.0), factor=st.floats(0.8, 1.2)
)
def test_the_cut_by_receivers_takes_no_notice_of_a_wrong_factor(heads, hearts, tails, factor):
    """A meter that shows more, or a steady loss, leaves the time as it is."""
    running = np.linspace(0.0, factor * (heads + hearts + tails), TIMES.size)

    at, _ = cut_by_receivers(TIMES, running, [heads], [hearts, tails], [0.1], [0.5, 0.3])

    assert at == pytest.approx(TIMES[-1] * heads / (heads + hearts + tails))


def test_a_receiver_that_was_not_gauged_gives_no_cut():
    """No time, rather than a wrong one."""
    assert np.isnan(cut_by_receivers(TIMES, TIMES, [np.nan], [1.0], [0.1], [0.1])).all()


def test_parrot_readings_become_strengths_at_20_c():
    """OIML R 22, Table VIIIb: an alcoholmeter that shows 68.0 at 0 °C stands in 74.3 % vol."""
    strength, u = parrot_strength([68.0, 68.0, np.nan], [0.0, 20.0, 20.0], 0.15, 0.3)

    assert strength[:2] == pytest.approx([74.3, 68.0], abs=0.05)
    assert np.isnan([strength[2], u[2]]).all()
    assert u[1] == pytest.approx(np.hypot(0.15, 0.3 * 0.36), rel=0.1)  # about 0.36 % vol a kelvin


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
