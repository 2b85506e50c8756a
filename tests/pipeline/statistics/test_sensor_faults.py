"""Noise, spikes and rests of one sensor, on series so simple that what must be found follows from the definition."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from gaugebook.pipeline.statistics.sensor_faults import Still, noise, resolution, spikes, standing_still

MINUTE = 60.0


def random_values(rows, scale=1.0, seed=1):
    """Values without a repeat."""
    return np.random.default_rng(seed).normal(50.0, scale, rows)


def of_second_differences(x):
    """1.4826 median |x(i) - 2 x(i+1) + x(i+2)| / sqrt 6: the normal law, and six times the variance."""
    return 1.4826 * np.median(np.abs(x[:-2] - 2 * x[1:-1] + x[2:])) / np.sqrt(6.0)


def stills(values, every_s=MINUTE, **kind):
    """First and last place of each rest."""
    kind = {"rests_at_zero": False} | kind
    return [(found.first, found.last) for found in standing_still(values, every_s * np.arange(len(values)), **kind)]


def test_resolution_is_the_least_step_that_is_no_arithmetic():
    """Differences of 1e-9 and less come of reckoning, not of the sensor; what never changes has none."""
    assert resolution([20.0, 20.3, 20.3, 20.1]) == approx(0.2)
    assert resolution([20.0, 20.0 + 9e-10, 20.5]) == approx(0.5)
    assert resolution([20.0, 20.0 + 1.2e-9, 20.5]) == approx(1.2e-9, rel=1e-3)
    assert resolution([7.0, 7.0]) == resolution([7.0]) == 0.0


@pytest.mark.parametrize("rows", [3, 20, 63])
def test_noise_of_a_short_series_is_that_of_its_second_differences(rows):
    """One number for all of it."""
    x = random_values(rows)

    assert noise(x).tolist() == approx([max(of_second_differences(x), resolution(x) / np.sqrt(12.0))] * rows)


def test_noise_is_no_less_than_that_of_rounding():
    """A rectangle one digit wide has a standard deviation of digit / sqrt 12 (GUM 4.3.7), short series and long."""
    for rows in (30, 300):
        assert noise(np.where(np.arange(rows) < 10, 20.0, 20.5)).tolist() == approx([0.5 / np.sqrt(12.0)] * rows)
    assert noise([1.0, 2.0]).tolist() == approx([1.0 / np.sqrt(12.0)] * 2)
    assert noise([1.0]).tolist() == [0.0]


def test_noise_of_a_long_series_is_that_of_its_loudest_neighbour():
    """In stretches of 64, each with the greatest of its own and its neighbours'; the rest has that of the last."""
    x = np.concatenate([random_values(64, scale, seed) for seed, scale in enumerate([1.0, 0.1, 0.1, 0.1, 0.5, 0.1])])
    x = np.append(x, random_values(20, 0.1, 9))
    own = [
        1.4826 * np.median(np.abs(np.diff(x, 2)[64 * n : 64 * n + 64])) / np.sqrt(6.0) for n in range(6)
    ]  # fmt: skip

    found = noise(x)

    for n in range(1, 5):
        assert found[64 * n : 64 * n + 64].tolist() == approx([max(own[n - 1 : n + 2])] * 64)
    assert found[384:].tolist() == [found[383]] * 20
    assert found.size == x.size


def test_noise_of_the_ends_is_not_that_of_the_other_end():
    """Quiet at first and loud at last: the first stretch has no neighbour before it, least of all the last one."""
    x = np.concatenate([random_values(256, 0.1, 1), random_values(128, 3.0, 2)])

    found = noise(x)

    assert found[0] == approx(max(of_second_differences(x[:66]), of_second_differences(x[64:130])))
    assert found[-1] == found[-128] > 10.0 * found[0]


@given(st.floats(-100.0, 100.0), st.floats(-5.0, 5.0), st.sampled_from([40, 200]))
def test_noise_takes_no_notice_of_level_and_slope(level, slope, rows):
    """A line added changes nothing, while the last digit is far below the noise."""
    x = random_values(rows)
    line = level + slope * np.arange(rows)

    assert (noise(x + line) >= 0.999 * of_second_differences(x)).all() or rows == 200
    if resolution(x + line) < 0.5 * of_second_differences(x):
        assert noise(x + line) == approx(noise(x), rel=1e-6)


@pytest.mark.parametrize(("rows", "is_spike"), [(1, True), (2, True), (3, True), (4, False), (5, False)])
def test_what_stays_longer_than_three_rows_is_no_spike(rows, is_spike):
    """Each row of a spike is named."""
    x = random_values(200, 0.1)
    x[100 : 100 + rows] += 10.0

    assert spikes(x).tolist() == (list(range(100, 100 + rows)) if is_spike else [])


@pytest.mark.parametrize(("sigmas", "is_spike"), [(6.5, False), (10.0, True), (-6.5, False), (-10.0, True)])
def test_a_spike_stands_off_by_eight_standard_deviations(sigmas, is_spike):
    """Of the noise along the series, among neighbours that are nearly alike."""
    x = random_values(120, 0.1)
    x[54:67] = 50.0 + 0.001 * np.sin(np.arange(13.0) ** 2)
    sigma = noise(x)[60]
    x[60] = 50.0 + sigmas * sigma

    assert spikes(x).tolist() == ([60] if is_spike else [])


@pytest.mark.parametrize(("scatter", "is_spike"), [(0.9, True), (1.3, False)])
def test_a_spike_stands_off_from_neighbours_that_scatter(scatter, is_spike):
    """By six times 1.4826 median deviations: half of them 0.9 off: 10 is beyond 8.9 x 0.9, not 8.9 x 1.3."""
    x = np.round(50.0 + 0.1 * np.sin(np.arange(400.0) ** 2), 3)
    x[196:205] = 50.0 + scatter * np.array([1, -1, 0, 0, 0, 0, 0, 1, -1])
    x[200] = 60.0

    assert (200 in spikes(x).tolist()) == is_spike


def test_a_spike_on_a_slope_is_held_against_the_slope():
    """The rise from neighbour to neighbour counts for nothing: 12 is far off on a slope of 2 a row."""
    x = 2.0 * np.arange(120) + random_values(120, 0.01)
    x[60] += 12.0

    assert spikes(x).tolist() == [60]


@pytest.mark.parametrize("rows", [1, 2, 3])
@pytest.mark.parametrize("slope", [2.0, -2.0, 30.0])
def test_a_spike_need_not_exceed_what_the_slope_makes_in_nine_rows(rows, slope):
    """It returns to the slope, however far that has gone meanwhile: 8 on slopes of 10 to 150 from side to side."""
    x = slope * np.arange(120) + random_values(120, 0.01)
    x[60 : 60 + rows] += abs(slope) + 8.0

    assert spikes(x).tolist() == list(range(60, 60 + rows))


def test_a_value_between_two_levels_is_no_spike():
    """It must be left the way it came: a step with a value that overshoots by less than the step is a step."""
    x = random_values(120, 0.01)
    x[60:] += 20.0
    x[60] += 8.0

    assert spikes(x).tolist() == []


@pytest.mark.parametrize(("rows", "places"), [(8, []), (9, [4])])
def test_a_spike_needs_four_neighbours_on_each_side(rows, places):
    """Of nine rows the fifth can be one; of a longer series none of the first or last four."""
    x = random_values(rows, 0.01)
    x[4] += 10.0
    assert spikes(x).tolist() == places
    for place, found in ((3, []), (4, [4]), (115, [115]), (116, [])):
        x = random_values(120, 0.01)
        x[place] += 10.0
        assert spikes(x).tolist() == found


@pytest.mark.parametrize(
    ("every_s", "rows", "is_still"), [(150.0, 5, True), (150.0, 4, False), (149.0, 5, False), (149.0, 6, True),
                                      (200.0, 4, False), (200.0, 5, True)],
)  # fmt: skip
def test_a_sensor_that_never_repeats_may_rest_for_less_than_ten_minutes_and_five_rows(every_s, rows, is_still):
    """From the first row of the rest to its last 600 s or more, and five times the usual one row."""
    x = random_values(200)
    x[100 : 100 + rows] = x[100]

    assert stills(x, every_s) == ([(100, 99 + rows)] if is_still else [])


@pytest.mark.parametrize("short", [1, 0])
def test_a_sensor_that_repeats_every_second_value_may_rest_longer(short):
    """With a chance of 1/2 to repeat, of N rows k rest somewhere with a chance of N (1/2)^(k - 1): one in a million."""
    pairs = np.repeat(random_values(150), 2)
    k = next(k for k in range(1, 99) if (298 + k) * 0.5 ** (k - 1) <= 1e-6)
    x = np.concatenate([pairs[:150], np.full(k - short, 99.0), pairs[150:-2], [0.0, 100.0]])

    assert k == 30
    assert stills(x, 600.0) == ([] if short else [(150, 149 + k)])


@pytest.mark.parametrize(("rows", "is_still"), [(39, False), (40, True)])
def test_a_rest_is_five_times_as_long_as_all_but_the_longest_hundredth(rows, is_still):
    """Among single values and three rests of eight rows, of which the longest hundredth takes two away: 5 x 8 rows."""
    x = random_values(240)
    for first in (20, 60, 100):
        x[first : first + 8] = x[first]
    x[150 : 150 + rows] = x[150]

    assert stills(x, 600.0) == ([(150, 149 + rows)] if is_still else [])


def test_nought_and_the_ends_of_a_counter_are_no_faults():
    """A counter rests before its first and after its last change, and between them it may be stuck."""
    resting = random_values(300)
    resting[:60], resting[240:] = resting[0], resting[-1]
    assert stills(resting, counts=True) == []
    assert stills(resting) == [(0, 59), (240, 299)]
    resting[130:180] = resting[130]
    assert stills(resting, counts=True) == [(130, 179)]
    pumping = np.where((np.arange(300) >= 50) & (np.arange(300) < 110), 0.0, random_values(300))
    assert stills(pumping, rests_at_zero=True) == stills(pumping, counts=True) == []
    assert stills(pumping) == [(50, 109)]


def test_the_end_of_a_scale_is_told_and_a_counter_has_none():
    """The least or the greatest value of the series."""
    x = random_values(500)
    x[50:90], x[150:190], x[220:260] = 99.0, 1.0, 50.0
    found = standing_still(x, MINUTE * np.arange(500), rests_at_zero=False)

    assert found == [Still(50, 89, 99.0, True), Still(150, 189, 1.0, True), Still(220, 259, 50.0, False)]
    counted = standing_still(x, MINUTE * np.arange(500), rests_at_zero=False, counts=True)
    assert [still.is_at_end_of_scale for still in counted] == [False] * 3


def left_by(*moves, turns=0):
    """A sensor to whole digits that climbs, turns so often by two digits, rests for half an hour and leaves."""
    climb = [float(level) for level in range(20)]
    for turn in range(turns):
        way = -1 if turn % 2 == 0 else 1
        climb += [climb[-1] + 2 * way, climb[-1] + 3 * way, climb[-1] + 4 * way]
    climb += [climb[-1] + step for step in ((1, 2, 3, 4, 5) if turns % 2 == 0 else (-1, -2, -3, -4, -5))]
    at = climb[-1] + (1.0 if turns % 2 == 0 else -1.0)
    way = 1.0 if turns % 2 == 0 else -1.0
    return np.concatenate([climb, np.full(30, at), at + way * np.cumsum(moves)]), len(climb)


@pytest.mark.parametrize(
    ("moves", "is_still"),
    [((1, 1, 1, 1), False),  # by one digit: it moved on
     ((1, -1, 1, -1), False), ((2, 1, 1, 1), False), ((3, 1, 1, 1), False),  # the same way on, by three times as much
     ((4, 1, 1, 1), True), ((4, 2, 1, 1), False), ((4, 1, 2, 1), False),  # or more, by what follows
     ((2, -1, 1, 1), True), ((2, 1, -1, 1), True)],  # or another way: a leap
)  # fmt: skip
def test_a_coarse_sensor_that_leaps_from_its_rest_was_stuck(moves, is_still):
    """One that is left by a digit, or by a process that moves on the same way, was not."""
    x, first = left_by(*moves)

    assert stills(x) == ([(first, first + 29)] if is_still else [])


@pytest.mark.parametrize(("turns", "is_still"), [(0, False), (1, False), (3, False), (4, True)])
def test_a_process_turns_three_times(turns, is_still):
    """More reversals by more than a digit are noise that the digit does not hide, and then a rest is a fault."""
    x, first = left_by(1, 1, 1, 1, turns=turns)

    assert stills(x) == ([(first, first + 29)] if is_still else [])


@pytest.mark.parametrize(("turns", "is_still"), [(5, False), (7, True)])
def test_of_many_reversals_one_in_a_hundred_may_be_by_more(turns, is_still):
    """Beside some 500 reversals by one digit five by two are hidden, seven are not."""
    x, first = left_by(1, 1, 1, 1, turns=turns)
    chatter = np.tile([-1.0, 0.0], 250)

    found = stills(np.concatenate([chatter, x]))

    assert found == ([(500 + first, 529 + first)] if is_still else [])


@pytest.mark.parametrize(("rows", "is_still"), [(49, False), (50, False), (51, True)])
def test_few_values_are_a_fault_where_one_holds_for_most_of_the_time(rows, is_still):
    """Of a hundred rows that are judged more than half; noughts of what rests are not judged; set points may stay."""
    x = np.concatenate([np.zeros(40), np.full(rows, 30.0), np.repeat([40.0, 50.0], [100 - rows - 20, 20])])

    assert stills(x, rests_at_zero=True, is_set=False) == ([(40, 39 + rows)] if is_still else [])
    assert stills(x, rests_at_zero=True) == []
    assert stills(x, 600.0 / 51, rests_at_zero=True, is_set=False) == []  # less than ten minutes
    for still in standing_still(x, MINUTE * np.arange(x.size), rests_at_zero=True, is_set=False):
        assert not still.is_at_end_of_scale and still.value == 30.0


@pytest.mark.parametrize(("levels", "is_still"), [(19, False), (20, True)])
def test_twenty_values_are_a_measurement(levels, is_still):
    """With fewer rests it may be a set point."""
    x = np.concatenate([random_values(levels // 2), np.full(60, 77.0), random_values(levels - 1 - levels // 2, seed=2)])

    assert stills(x) == ([(levels // 2, levels // 2 + 59)] if is_still else [])


def test_nothing_stands_still_in_one_value():
    """Nor in none."""
    assert stills([]) == stills([5.0]) == []
    assert stills([5.0, 5.0], 600.0, is_set=False) == [(0, 1)]


@pytest.mark.parametrize(("rows", "is_still"), [(9, False), (10, True)])
def test_a_rest_is_five_times_as_long_as_a_value_that_came_twice(rows, is_still):
    """Among single values and six pairs, of which the longest hundredth takes two away."""
    x = random_values(200)
    x[20:140:20] = x[21:141:20]
    x[150 : 150 + rows] = x[150]

    assert stills(x, 600.0) == ([(150, 149 + rows)] if is_still else [])
