"""Phases of runs that are drawn so simply that every time can be worked out by hand."""

import numpy as np
import pytest
from pytest import approx
from scipy.stats import linregress

from gaugebook.pipeline.statistics.phases import phases

ROW = np.arange(200)
MINUTES = 60.0 * ROW
NOTHING = np.full(ROW.size, np.nan)
HALF_WIDTH_S = 60.0 / np.sqrt(12.0)  # standard uncertainty of a rectangle one interval wide, GUM 4.3.7


def flowing(flow):
    """First drop and end [min], with their uncertainties [s]."""
    found = phases(MINUTES, flow, NOTHING, NOTHING)
    return found.first_drop_s / 60, found.end_s / 60, found.u_first_drop_s, found.u_end_s


def heating(pot, flow=NOTHING):
    """Begin of the heating [min] and rate [K/min]."""
    found = phases(MINUTES, flow, pot, NOTHING)
    return found.heat_from_s / 60, found.heat_up_k_min


def vapour_at(vapour, flow=NOTHING):
    """When vapour came [min]."""
    return phases(MINUTES, flow, NOTHING, vapour).vapour_at_s / 60


def between(first, last, level, elsewhere=0.0):
    """A series of one level from a row to another, both included."""
    return np.where((first <= ROW) & (last >= ROW), level, elsewhere)


def test_distillate_runs_from_half_a_row_before_to_half_a_row_after():
    """Rows 60 to 149 have flow: 59.5 and 149.5 min, each with the uncertainty of one interval's rectangle."""
    assert flowing(between(60, 149, 90.0)) == approx((59.5, 149.5, HALF_WIDTH_S, HALF_WIDTH_S))


@pytest.mark.parametrize(("trickle", "first_min"), [(2.9, 59.5), (3.1, 39.5)])
def test_three_hundredths_of_the_strong_flow_are_flow(trickle, first_min):
    """Beside 100 L/h a trickle of 2.9 L/h is none and one of 3.1 L/h is, on either side."""
    flow = between(60, 149, 100.0) + between(40, 59, trickle) + between(150, 169, trickle)

    assert flowing(flow)[:2] == approx((first_min, 209.0 - first_min))


def test_neither_noughts_nor_a_few_wild_rows_move_what_flow_is():
    """The strong flow is that of the rows with flow: nine in ten of 20 of 1 L/h and 15 of 100 or more have no more."""
    flow = between(60, 74, 100.0) + between(20, 39, 1.0)
    assert flowing(flow)[0] == approx(59.5)
    flow[[65, 70]] = 10_000.0
    assert flowing(flow)[:2] == approx((59.5, 74.5))


@pytest.mark.parametrize(("rows", "counts"), [(2, False), (3, True)])
def test_three_rows_of_flow_are_a_flow(rows, counts):
    """Before the run or after it two rows are a blip, three are the run's own."""
    flow = between(60, 149, 90.0) + between(20, 19 + rows, 90.0) + between(171 - rows, 170, 90.0)

    assert flowing(flow)[:2] == approx((19.5, 170.5) if counts else (59.5, 149.5))


def test_a_log_that_begins_and_ends_while_distillate_runs():
    """Its first and last row are all that is known, and nothing tells how far off they are."""
    first, end, u_first, u_end = flowing(np.full(ROW.size, 90.0))

    assert (first, end) == (0.0, 199.0)
    assert np.isnan([u_first, u_end]).all()
    assert flowing(between(1, 198, 90.0))[:2] == approx((0.5, 198.5))


def test_rows_without_a_flow_widen_the_time_between():
    """Rows 56 to 59 have no value: the first drop lies between rows 55 and 60, so at 57.5 min, five intervals wide."""
    flow = between(60, 149, 90.0)
    flow[56:60] = np.nan

    assert flowing(flow)[::2] == approx((57.5, 5 * HALF_WIDTH_S))


def test_nothing_but_noughts_or_blips_is_no_run():
    """Neither has a first drop or an end."""
    for flow in (np.zeros(ROW.size), between(50, 51, 90.0)):
        assert np.isnan(flowing(flow)).all()


def test_heating_begins_where_its_line_meets_the_cold():
    """20 °C to row 10, then 1.4 K/min: the line through the rise meets 20 °C at 10 min exactly."""
    pot = 20.0 + 1.4 * np.clip(ROW - 10, 0, 50)

    assert heating(pot) == approx((10.0, 1.4))
    assert heating(pot, between(61, 150, 90.0)) == approx((10.0, 1.4))


def test_only_what_lies_before_the_first_drop_is_heating():
    """A pot that is charged anew after the run was heated once for this one."""
    pot = np.where(ROW < 100, 20.0 + 1.4 * np.clip(ROW - 10, 0, 50), 20.0)

    assert heating(pot, between(61, 90, 90.0)) == approx((10.0, 1.4))
    assert np.isnan(heating(pot)[0])  # without a flow the whole log counts, and that ends cold


def test_the_rate_is_the_line_through_the_middle_of_the_rise():
    """Least squares (scipy) through the rows between 15 and 85 % of the rise from 20 to 90 °C, on a bent curve."""
    pot = 20.0 + 70.0 * np.clip((ROW - 10) / 50, 0, 1) ** 2
    middle = (pot > 20.0 + 0.15 * 70.0) & (pot < 20.0 + 0.85 * 70.0)
    slope = linregress(ROW[middle], pot[middle]).slope
    cold = np.flatnonzero(pot <= 20.0 + 0.05 * 70.0)[-1]  # the last row that has not risen by 5 %

    begins, rate = heating(pot)

    assert rate == approx(slope)
    assert begins == approx(cold - (pot[cold] - 20.0) / slope)


def test_what_was_hot_before_it_was_cold_is_not_this_heating():
    """A pot emptied hot into the log: 60 °C for ten rows between cold ones, then the heating of 1.4 K/min."""
    pot = 20.0 + 1.4 * np.clip(ROW - 40, 0, 50) + between(10, 19, 40.0)

    assert heating(pot) == approx((40.0, 1.4))


def test_heating_does_not_begin_before_the_log():
    """A log that begins while the pot rises fast and then slowly: the slow line would meet the cold before row 0."""
    pot = 20.0 + np.minimum(3.0 * ROW, 5.0 + 0.5 * ROW)

    assert heating(np.minimum(pot, 110.0))[0] == 0.0


@pytest.mark.parametrize(("hot", "is_told"), [(29.9, False), (30.0, True)])
def test_ten_kelvins_are_a_heating(hot, is_told):
    """From 20 °C to less than 30 °C the pot was charged hot or the log began late."""
    pot = np.minimum(20.0 + 0.5 * np.clip(ROW - 10, 0, None), hot)

    assert np.isfinite(heating(pot)).tolist() == [is_told, is_told]


def test_a_leap_from_cold_to_hot_has_a_begin_and_no_rate():
    """The last cold row is the begin; with one row between cold and hot there is no line, with two there is one."""
    begins, rate = heating(between(50, 199, 80.0, 20.0))
    assert (begins, np.isnan(rate)) == (49.0, True)
    one = between(50, 199, 80.0, 20.0)
    one[50] = 50.0
    assert np.isnan(heating(one)[1])
    two = one.copy()
    two[51] = 60.0
    assert heating(two) == approx((49.0, 10.0))


def test_a_pot_that_gets_hot_has_no_falling_rate():
    """Odd rows between cold and hot that fall: it was heated, but how fast nobody can say."""
    pot = between(50, 199, 80.0, 20.0)
    pot[50:52] = [65.0, 45.0]

    begins, rate = heating(pot)

    assert begins == 49.0 and np.isnan(rate)


def test_four_values_tell_a_heating_and_three_do_not():
    """Cold is the median of the first three values, hot that of the last three."""
    pot = NOTHING.copy()
    pot[:3] = [20.0, 50.0, 80.0]
    assert np.isnan(heating(pot)).all()
    pot[:4] = [20.0, 40.0, 60.0, 80.0]  # cold 40, hot 60: the rise of 20 K ends at once
    assert heating(pot)[0] == 1.0


def test_vapour_comes_half_way_between_cold_and_hot():
    """21 °C to row 54, 60 °C at row 55, 78 °C from row 56: half way is 49.5 °C, 28.5 / 39 of the way to row 55."""
    vapour = np.select([ROW < 55, ROW == 55], [21.0, 60.0], 78.0)

    assert vapour_at(vapour) == approx(54.0 + 28.5 / 39.0)
    assert vapour_at(vapour, between(100, 150, 90.0)) == approx(54.0 + 28.5 / 39.0)


def test_cold_is_the_first_three_rows_hot_the_last_two_before_the_first_drop():
    """Cold 20, 22, 30 °C has the median 22; hot 70 and 80 °C the mean 75: half way is 48.5 °C, after row 9."""
    vapour = np.full(ROW.size, 90.0)
    vapour[:12] = [20.0, 22.0, 30.0, 30.0, 30.0, 30.0, 30.0, 30.0, 30.0, 30.0, 70.0, 80.0]

    assert vapour_at(vapour, between(12, 150, 90.0)) == approx(9.0 + 18.5 / 40.0)


@pytest.mark.parametrize(("hot", "is_told"), [(30.9, False), (31.0, True)])
def test_ten_kelvins_are_vapour(hot, is_told):
    """From 21 °C a head that stays below 31 °C has seen none."""
    assert np.isfinite(vapour_at(between(50, 199, hot, 21.0))) == is_told


def test_vapour_that_is_lost_at_the_very_end_has_come_there():
    """The last row is below half way again, and nothing follows it: the last row is the time."""
    vapour = between(50, 199, 78.0, 21.0)
    vapour[199] = 30.0  # hot is (78 + 30) / 2 = 54, half way 37.5

    assert vapour_at(vapour) == 199.0


def test_four_values_tell_of_vapour_and_three_do_not():
    """And rows without a value are none."""
    vapour = NOTHING.copy()
    vapour[[0, 1, 3]] = [21.0, 21.0, 78.0]
    assert np.isnan(vapour_at(vapour))
    vapour[4] = 78.0  # cold is the median 21 of 21, 21, 78; half way 49.5 between rows 1 and 3
    assert vapour_at(vapour) == approx(1.0 + 2.0 * 28.5 / 57.0)


def test_hot_is_the_mean_of_the_last_two_rows():
    """21 °C, then 30 and 34 °C: they have risen by 11 K, half of it is 26.5 °C, 5.5 / 9 of the way to the first."""
    vapour = np.full(ROW.size, 21.0)
    vapour[198:] = 30.0, 34.0

    assert vapour_at(vapour) == approx(197.0 + 5.5 / 9.0)


def test_a_small_still_flows_by_its_own_measure():
    """Half a litre an hour is the strong flow where nothing runs faster."""
    assert flowing(between(60, 149, 0.5) + between(40, 59, 0.01))[:2] == approx((59.5, 149.5))


def test_cold_and_hot_of_a_pot_are_medians_of_three():
    """Cold is 20 °C of 20, 20 and 26, so that row 1 is the last cold one; hot is 31 °C of 31, 31 and 20."""
    pot = np.clip(ROW + 16.0, 26.0, 100.0)
    pot[:2] = 20.0
    assert heating(pot) == approx((1.0, 1.0))
    pot = np.full(ROW.size, 20.0)
    pot[197:199] = 31.0
    assert heating(pot)[0] == 199.0  # it ends cold, after a leap


def test_cold_of_the_vapour_is_the_median_of_the_first_three():
    """21 °C of 21, 21 and 60: at 45 °C it has risen by more than ten."""
    vapour = np.full(ROW.size, 45.0)
    vapour[:5] = 21.0, 21.0, 60.0, 60.0, 21.0

    assert vapour_at(vapour) == approx(4.5)


def test_the_last_row_counts_as_well():
    """A run without flow is hot in its last three rows, the very last one among them: 28, 31 and 31 °C."""
    pot = np.full(ROW.size, 20.0)
    pot[197:] = 28.0, 31.0, 31.0

    assert heating(pot)[0] == approx(196.0)
