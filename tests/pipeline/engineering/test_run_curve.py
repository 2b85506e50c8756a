"""Volume and pure alcohol of a run by integration, with their uncertainties."""

import numpy as np
import pytest
import r22_formula as plain

from gaugebook.pipeline.engineering.run_curve import (
    HEAT_OF_STEAM_KWH_KG,
    Collected,
    Quantity,
    collected,
    parrot_strength,
    quantity,
)

TIMES = 60.0 * np.arange(301)
FULL = np.full(301, 60.0)  # L/h: a litre a minute, 300 L in all


def _whole(total: Collected, u_flow_part: float = 0.0, u_pct_vol: float = 0.0) -> Quantity:
    """All that ran off, with cuts that are known exactly."""
    return quantity(total, 0.0, float(total.times_s[-1]), 0.0, 0.0, u_flow_part, u_pct_vol)


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


def test_parrot_readings_become_strengths_at_20_c():
    """OIML R 22, Table VIIIb: an alcoholmeter that shows 68.0 at 0 °C stands in 74.3 % vol."""
    strength, u = parrot_strength([68.0, 68.0, np.nan], [0.0, 20.0, 20.0], 0.15, 0.3)

    assert strength[:2] == pytest.approx([74.3, 68.0], abs=0.05)
    assert np.isnan([strength[2], u[2]]).all()
    assert u[1] == pytest.approx(np.hypot(0.15, 0.3 * 0.36), rel=0.1)  # about 0.36 % vol a kelvin


@pytest.mark.parametrize(("reading", "t"), [(12.0, 25.0), (45.0, 10.0), (90.0, 30.0)])
def test_a_parrot_s_thermometer_counts_by_the_slope_of_the_table(reading, t):
    """What a kelvin changes, by the formula of OIML R 22 term by term and 25e-6 a kelvin of glass; added in squares."""
    at_20c = plain.density(plain.mass_fraction_of_strength(reading), 20.0)
    here, warmer = (
        plain.strength(plain.mass_fraction_of_density(at_20c * (1.0 - 25e-6 * (x - 20.0)), x)) for x in (t, t + 1.0)
    )

    strength, u = parrot_strength([reading], [t], 0.15, 0.5)

    assert strength[0] == pytest.approx(here, abs=1e-6)
    assert u[0] == pytest.approx(np.sqrt(0.15**2 + (0.5 * (here - warmer)) ** 2), rel=1e-4)


def test_a_reading_below_nought_is_water_and_a_fault_is_no_strength():
    """A float that is read 0.3 below the scale's end stands in water; above 100 % vol nothing is."""
    strength, u = parrot_strength([-0.3, 100.5], [20.0, 20.0], 0.15, 0.3)

    assert strength[0] == pytest.approx(0.0, abs=1e-9)
    assert np.isnan([strength[1], u[1]]).all()


def test_at_the_end_of_the_table_the_slope_is_what_it_is_near_it():
    """R 22 ends at 40 °C: a kelvin below, the thermometer counts as much as it does there, to 5 parts in 100."""
    _, u = parrot_strength([65.0, 65.0], [38.9, 40.0], 0.0, 1.0)

    assert u[1] == pytest.approx(u[0], rel=0.05)


def test_one_flow_is_no_curve():
    """Two flows make a trapezoid, one makes nothing; the message counts them."""
    with pytest.raises(ValueError, match="1 flows were measured; expected two or more"):
        collected([0.0, 60.0], [60.0, np.nan], [80.0, 80.0])
    assert collected([0.0, 60.0], [60.0, 60.0], [80.0, 80.0]).volume_l.tolist() == [0.0, 1.0]


def test_a_bridge_between_unequal_flows_is_a_rectangle_between_them():
    """60 L/h before the missing hour and 30 after it. By hand: 45 L, of which the rectangle (GUM 4.3.7) is half of
    30 L/h times 1 h over root 3, 8.660 L, and the house's twentieth 2.25 L; together 8.948 L."""
    flow = np.where(TIMES <= 3600, 60.0, 30.0)
    flow[(TIMES > 3600) & (TIMES < 7200)] = np.nan

    whole = _whole(collected(TIMES, flow, np.full(301, 80.0)))

    assert whole.volume_l == pytest.approx(60.0 + 45.0 + 90.0)
    assert whole.bridged_part == pytest.approx(45.0 / 195.0)
    assert whole.u_volume_l == pytest.approx(np.sqrt(8.660254**2 + 2.25**2))
    assert whole.u_alcohol_l == pytest.approx(0.8 * 8.947765, rel=1e-6)


def test_two_bridges_add_in_squares_and_only_those_between_the_cuts_count():
    """Two hours of five are missing at 60 L/h: 3 L each (a twentieth of 60), together root 2 times that."""
    flow = FULL.copy()
    flow[(TIMES > 3600) & (TIMES < 7200)] = np.nan
    flow[(TIMES > 10_800) & (TIMES < 14_400)] = np.nan
    total = collected(TIMES, flow, np.full(301, 80.0))

    assert _whole(total).u_volume_l == pytest.approx(3.0 * np.sqrt(2.0))
    second = quantity(total, 9000.0, TIMES[-1], 0.0, 0.0, 0.0, 0.0)
    assert second.u_volume_l == pytest.approx(3.0)
    assert second.bridged_part == pytest.approx(60.0 / 150.0)
    clean = quantity(total, 0.0, 3600.0, 0.0, 0.0, 0.0, 0.0)
    assert (clean.bridged_part, clean.u_volume_l) == (0.0, 0.0)


@pytest.mark.parametrize(("minutes", "is_gap"), [(2.4, False), (2.5, False), (2.6, True)])
def test_a_gap_is_longer_than_two_and_a_half_usual_intervals(minutes, is_gap):
    """Usual is a minute; the limit itself is none yet."""
    times = np.r_[TIMES[:100], TIMES[99] + 60.0 * minutes + 60.0 * np.arange(100)]

    assert (_whole(collected(times, np.full(200, 60.0), np.full(200, 80.0))).bridged_part > 0) is is_gap


def test_a_few_long_intervals_do_not_make_a_long_one_usual():
    """Usual is the middle interval, not the average: 60 of a minute, then two of an hour, which are gaps."""
    times = np.r_[TIMES[:61], 7200.0, 10_800.0]

    assert _whole(collected(times, np.full(63, 60.0), np.full(63, 80.0))).bridged_part == pytest.approx(120.0 / 180.0)


def test_where_the_flow_is_the_counter_s_the_counter_counts_throughout():
    """A flow made from a counter is only its slope; what the counter itself says is the volume."""
    counter = np.r_[0.0, np.cumsum(np.full(300, 1.1))]

    assert _whole(collected(TIMES, FULL, np.full(301, 80.0), counter, is_counted=True)).volume_l == pytest.approx(330.0)
    assert _whole(collected(TIMES, FULL, np.full(301, 80.0), counter)).volume_l == pytest.approx(300.0)  # no gap


@pytest.mark.parametrize(("after", "bridged_l"), [(60.0, 0.0), (20.0, 60.0), (np.nan, 60.0)])
def test_a_counter_that_stands_still_counts_and_one_that_fell_or_is_missing_does_not(after, bridged_l):
    """Nothing counted over a gap is nothing run off; a counter set back, or not read, leaves the line between flows."""
    flow = np.where((TIMES > 3600) & (TIMES < 7200), np.nan, 60.0)
    counter = np.where(TIMES <= 3600, 60.0, after)

    total = collected(TIMES, flow, np.full(301, 80.0), counter)

    assert total.volume_l[-1] == pytest.approx(60.0 + bridged_l + 180.0)


def test_a_strength_read_more_seldom_than_the_flow_is_bridged_nowhere():
    """Every ten minutes is usual for a parrot that is read every ten minutes; between, the straight line counts.

    From 80 to 50 % vol in five hours of even flow is 65 on average.
    """
    strength = np.where(TIMES % 600 == 0, 80.0 - 30.0 * TIMES / TIMES[-1], np.nan)

    whole = _whole(collected(TIMES, FULL, strength))

    assert whole.strength_bridged_part == 0.0
    assert (whole.alcohol_l, whole.u_alcohol_l) == (pytest.approx(300.0 * 0.65), 0.0)


def test_a_strength_read_once_is_carried_over_all_and_uncertain_by_a_twentieth():
    """One reading of 60 % vol at half time: 180 LPA, of which 9 are uncertain."""
    strength = np.where(TIMES == 9000, 60.0, np.nan)

    whole = _whole(collected(TIMES, FULL, strength))

    assert whole.strength_bridged_part == pytest.approx(1.0)
    assert (whole.alcohol_l, whole.u_alcohol_l) == (pytest.approx(180.0), pytest.approx(180.0 / 20))


def test_a_strength_that_begins_late_is_carried_back_to_the_start():
    """The first hour counts at the first strength, 80 % vol, and is uncertain by a twentieth of it, not of the last."""
    strength = np.where(TIMES >= 3600, 80.0 - 40.0 * (TIMES - 3600) / 14_400, np.nan)

    total = collected(TIMES, 1.5 * FULL, strength)
    first = quantity(total, 0.0, 3600.0, 0.0, 0.0, 0.0, 0.0)

    assert first.alcohol_l == pytest.approx(90.0 * 0.8)
    assert total.strength_bridged_l[-1] == pytest.approx(1.5 * 57.0)  # three minutes may pass unmarked
    assert first.strength_bridged_part == pytest.approx(57 / 60)
    assert first.u_alcohol_l == pytest.approx(1.5 * 57.0 * 0.8 / 20)


def test_a_bridged_strength_does_not_make_the_volume_uncertain():
    """And a bridged flow makes alcohol uncertain at the strength that ran: 3 L of 80 % vol are 2.4 LPA."""
    strength = np.where(TIMES < 9000, 80.0, np.nan)
    assert _whole(collected(TIMES, FULL, strength)).u_volume_l == 0.0

    flow = np.where((TIMES > 3600) & (TIMES < 7200), np.nan, 60.0)
    assert _whole(collected(TIMES, flow, np.full(301, 80.0))).u_alcohol_l == pytest.approx(0.8 * 3.0)


def test_the_parts_of_the_uncertainty_of_a_volume_by_hand():
    """60 L: 1 % of the flow is 0.6; cuts known to 60 s and 30 s at a litre a minute are 1.0 and 0.5."""
    total = collected(TIMES, FULL, np.full(301, 80.0))

    part = quantity(total, 3600.0, 7200.0, 60.0, 30.0, 0.01, 0.2)

    assert part.volume_l == pytest.approx(60.0)
    assert part.u_volume_l == pytest.approx(np.sqrt(0.6**2 + 1.0**2 + 0.5**2))


def test_each_cut_counts_at_the_rate_that_ran_there():
    """Flow 30 L/h at first, 120 at last: a minute of the first cut is half a litre, of the second two."""
    total = collected(TIMES, np.where(TIMES < 9000, 30.0, 120.0), np.full(301, 80.0))

    assert quantity(total, 3600.0, 14_400.0, 60.0, 0.0, 0.0, 0.0).u_volume_l == pytest.approx(0.5)
    assert quantity(total, 3600.0, 14_400.0, 0.0, 60.0, 0.0, 0.0).u_volume_l == pytest.approx(2.0)


def test_at_a_run_s_ends_the_rate_is_that_inside():
    """The log runs an hour longer than the flow on either side; a minute of either cut is still a litre."""
    flow = np.where((TIMES >= 3600) & (TIMES <= 14_400), 60.0, np.nan)
    total = collected(TIMES, flow, np.full(301, 80.0))

    assert quantity(total, 3600.0, 14_400.0, 60.0, 0.0, 0.0, 0.0).u_volume_l == pytest.approx(1.0)
    assert quantity(total, 3600.0, 14_400.0, 0.0, 60.0, 0.0, 0.0).u_volume_l == pytest.approx(1.0)


def test_a_short_part_does_not_look_beyond_its_other_end():
    """A minute before the flow rises from 30 to 120 L/h, the rate of both cuts is at most that around the rise.

    By hand: 150 s of 30 and 150 s of 120 L/h are 6.25 L in 300 s, 1.25 L a minute.
    """
    total = collected(TIMES, np.where(TIMES < 9000, 30.0, 120.0), np.full(301, 80.0))
    rise = 8970.0  # the trapezoid is half way there

    part = quantity(total, rise - 60.0, rise, 60.0, 0.0, 0.0, 0.0)

    assert part.u_volume_l == pytest.approx(1.25, rel=0.01)


@pytest.mark.parametrize(("from_s", "to_s"), [(14_340.0, 14_400.0), (3600.0, 3660.0), (14_200.0, 14_400.0)])
def test_a_short_part_at_a_run_s_end_runs_at_its_own_rate(from_s, to_s):
    """A minute of flow at either end of a run of 60 L/h, and 200 s: a minute of either cut is a litre, not 0.7."""
    flow = np.where((TIMES >= 3600) & (TIMES <= 14_400), 60.0, np.nan)
    total = collected(TIMES, flow, np.full(301, 80.0))

    assert quantity(total, from_s, to_s, 60.0, 0.0, 0.0, 0.0).u_volume_l == pytest.approx(1.0)
    assert quantity(total, from_s, to_s, 0.0, 60.0, 0.0, 0.0).u_volume_l == pytest.approx(1.0)


def test_between_two_equal_cuts_nothing_ran():
    """An empty part has no share that was bridged, and is no error."""
    total = collected(TIMES, FULL, np.full(301, 80.0))

    assert quantity(total, 3600.0, 3600.0, 0.0, 0.0, 0.01, 0.2) == Quantity(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


def test_the_heat_of_steam_is_the_handbook_s():
    """Water at 100 °C takes 2256.5 kJ/kg (IAPWS-95 tables), 0.6268 kWh: 1 kWh is 3600 kJ."""
    assert pytest.approx(0.62681, abs=1e-5) == HEAT_OF_STEAM_KWH_KG
