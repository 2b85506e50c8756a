"""Phases, steps, drifts, averages and bands of runs."""

import numpy as np
import pytest
from scipy.stats import linregress, t

from gaugebook.pipeline.statistics.drift import drift
from gaugebook.pipeline.statistics.phases import phases
from gaugebook.pipeline.statistics.run_band import band, distance, outside
from gaugebook.pipeline.statistics.steps import steps
from gaugebook.pipeline.statistics.thinning import averaged

TIMES = 60.0 * np.arange(400)


def rng(seed=1):
    return np.random.default_rng(seed)


def test_phases_of_a_run_made_by_hand():
    """Heated from row 10, vapour at row 55, flow from row 60 to row 379."""
    row = np.arange(400)
    pot = 20.0 + np.clip(row - 10, 0, 50) * 1.4
    vapour = np.where(row < 55, 21.0, 78.0)
    flow = np.where((row >= 60) & (row < 380), 90.0, 0.0)

    found = phases(TIMES, flow, pot, vapour)

    assert found.heat_from_s == pytest.approx(600.0, abs=120.0)
    assert found.heat_up_k_min == pytest.approx(1.4, rel=0.01)
    assert 54 * 60.0 <= found.vapour_at_s <= 55 * 60.0
    assert (found.first_drop_s, found.end_s) == (59.5 * 60.0, 379.5 * 60.0)
    assert found.u_first_drop_s == pytest.approx(60.0 / 12**0.5)


def test_a_log_without_flow_has_no_first_drop():
    """Missing is not a time."""
    found = phases(TIMES, np.full(400, np.nan), np.full(400, np.nan), np.full(400, np.nan))

    assert np.isnan([found.first_drop_s, found.end_s, found.heat_from_s, found.vapour_at_s]).all()


def test_a_blip_of_flow_is_no_first_drop():
    """Three rows in a row are."""
    flow = np.where(np.arange(400) >= 100, 50.0, 0.0)
    flow[20] = 50.0

    assert phases(TIMES, flow, np.full(400, np.nan), np.full(400, np.nan)).first_drop_s == 99.5 * 60.0


@pytest.mark.parametrize("at", [60, 200, 330])
@pytest.mark.parametrize("size", [2.0, -2.0])
def test_a_step_on_a_slope_is_found_at_its_row(at, size):
    """To the row, with its size within three of its own uncertainties."""
    series = 50.0 - 0.05 * np.arange(400) + np.where(np.arange(400) >= at, size, 0.0) + rng().normal(0.0, 0.2, 400)

    (found,) = steps(TIMES, series, 10, 1.0)

    assert found.time_s == (at - 0.5) * 60.0
    assert found.size == pytest.approx(size, abs=3 * abs(size / found.z))


@pytest.mark.parametrize("row", [3, 4, 6, 9, 150, 291, 294, 296, 297])
def test_a_step_near_an_end_is_told_at_its_row_or_not_at_all(row):
    """Of a hundred steps by a third at 1.2 % of noise, none is put beside its row by more than its uncertainty says."""
    late = []
    for seed in range(100):
        level = np.where(np.arange(300) < row, 0.75, 1.0) * (1.0 + rng(seed).normal(0.0, 0.012, 300))
        late += [
            abs(found.time_s - (row - 0.5) * 60.0) / found.u_time_s
            for found in steps(TIMES[:300], np.log(level), 8, 0.04)
        ]

    assert len(late) >= 95
    assert max(late) <= 3.0


@pytest.mark.parametrize("row", [1, 2, 298, 299])
def test_a_step_with_fewer_than_three_rows_on_one_side_is_not_told(row):
    """Nothing tells it from a value that is off; above all it is not put later, where there are rows enough."""
    for seed in range(50):
        level = np.where(np.arange(300) < row, 0.75, 1.0) * (1.0 + rng(seed).normal(0.0, 0.012, 300))
        assert steps(TIMES[:300], np.log(level), 8, 0.04) == []


@pytest.mark.parametrize("size", [0.06, 0.15])
def test_the_uncertainty_of_a_steps_time_covers_it(size):
    """Of two hundred faint steps, 95 of 100 lie within twice their uncertainty."""
    apart = []
    for seed in range(200):
        row = 20 + seed
        level = np.where(np.arange(300) < row, 1.0, 1.0 + size) + rng(seed).normal(0.0, 0.02, 300)
        apart += [
            abs(found.time_s - (row - 0.5) * 60.0) / found.u_time_s for found in steps(TIMES[:300], level, 8, 0.04, 3.0)
            if abs(found.time_s - row * 60.0) < 600.0
        ]  # fmt: skip

    assert len(apart) > 50
    assert np.mean(np.array(apart) <= 2.0) >= 0.93


def test_noise_and_slope_have_no_step():
    """In two hundred series of noise at six standard uncertainties."""
    found = [step for seed in range(200) for step in steps(TIMES, rng(seed).normal(0.1 * np.arange(400), 1.0), 10, 0.0)]

    assert len(found) <= 2


def test_a_drift_is_the_least_squares_line_of_the_block_means():
    """scipy.stats.linregress through the same twelve means."""
    difference = 0.004 * np.arange(240) + rng().normal(0.0, 0.3, 240)
    found = drift(np.arange(240.0), difference)
    by_scipy = linregress(np.arange(240).reshape(12, 20).mean(axis=1), difference.reshape(12, 20).mean(axis=1))

    assert found.change == pytest.approx(by_scipy.slope * 239)
    assert found.u_change == pytest.approx(by_scipy.stderr * 239)
    assert found.is_certain == (by_scipy.pvalue < 0.001)


def test_too_few_differences_have_no_drift():
    """An answer, not a line."""
    assert drift(np.arange(23.0), np.arange(23.0)) is None


def test_averages_keep_what_was_measured_and_invent_nothing():
    """A stretch without a value has none; sums of what was there agree."""
    values = rng().normal(50.0, 1.0, 600)
    values[100:130] = np.nan

    times, means = averaged(np.arange(600.0), {"pot": values}, 15.0)

    assert times.size == 40
    assert np.flatnonzero(np.isnan(means["pot"])).tolist() == [7]  # rows 105 to 119; 100 to 104 are in the one before
    assert means["pot"][0] == pytest.approx(values[:15].mean())
    assert means["pot"][6] == pytest.approx(values[90:100].mean())


def test_a_log_that_is_no_finer_comes_back_as_it_is():
    """Minutes are not averaged to fifteen seconds."""
    times, means = averaged(TIMES, {"pot": TIMES}, 15.0)

    assert times.tolist() == means["pot"].tolist() == TIMES.tolist()


def test_the_band_is_the_prediction_interval():
    """Mean ± t(0.9995; n - 1) s sqrt(1 + 1/n) for each place, reckoned here by hand."""
    runs = rng().normal(80.0, 0.5, (10, 30))

    good = band(runs, np.zeros(30))

    reach = t.ppf(0.9995, 9) * runs.std(axis=0, ddof=1) * np.sqrt(1.1)
    assert good.high == pytest.approx(runs.mean(axis=0) + reach)
    assert good.low == pytest.approx(runs.mean(axis=0) - reach)


def test_seven_runs_are_no_band():
    """It needs eight."""
    with pytest.raises(ValueError, match="at least 8"):
        band(rng().normal(size=(7, 5)), np.zeros(5))


@pytest.mark.parametrize("runs", [8, 12, 20])
def test_one_further_good_run_in_a_hundred_passes_the_limit(runs):
    """Over six hundred bands of correlated curves: not more than three in a hundred."""
    draw = rng(runs)
    shapes = np.sin(np.linspace(0.0, 3.0, 60) * np.arange(1, 6)[:, None])  # what runs differ by is smooth
    passed = 0
    for _ in range(600):
        curves = draw.normal(size=(runs + 1, 5)) @ shapes + 0.2 * draw.normal(size=(runs + 1, 60))
        good = band(curves[:-1], np.full(60, 0.05))
        passed += distance(curves[-1], good) > good.limit

    assert passed <= 18


def test_a_run_that_is_off_passes_the_limit_and_is_told_where():
    """Four standard deviations off over a third of its length."""
    runs = rng().normal(80.0, 0.5, (12, 60))
    off = rng(7).normal(80.0, 0.5, 60)
    off[20:40] += 6.0

    good = band(runs, np.full(60, 0.1))

    assert distance(off, good) > good.limit
    (stretch,) = outside(off, good)
    assert stretch == (20, 39)


def test_places_that_few_runs_have_are_not_judged():
    """A tag that only two runs logged says nothing."""
    runs = rng().normal(80.0, 0.5, (10, 20))
    runs[2:, 10:] = np.nan

    good = band(runs, np.full(20, 0.1))

    assert np.isnan(good.mean[10:]).all()
    assert distance(np.full(20, 80.0), good) == pytest.approx(
        distance(np.r_[np.full(10, 80.0), np.full(10, 99.0)], good)
    )


def test_the_limit_is_that_of_one_more_logarithm():
    """Of the distance of each run from the band of the others: mean + t(0.99; n - 1) s sqrt(1 + 1/n) of the logarithms
    (Hahn and Meeker), each distance the root mean square of deviations over s sqrt(1 + 1/m) of the m others."""
    runs = rng(3).normal(80.0, 0.5, (9, 25))
    logs = []
    for left_out in range(9):
        others = np.delete(runs, left_out, axis=0)
        z = (runs[left_out] - others.mean(axis=0)) / (others.std(axis=0, ddof=1) * np.sqrt(1 + 1 / 8))
        logs.append(np.log(np.sqrt((z**2).mean())))
    expected = np.exp(np.mean(logs) + t.ppf(0.99, 8) * np.std(logs, ddof=1) * np.sqrt(1 + 1 / 9))

    good = band(runs, np.zeros(25))

    assert good.limit == pytest.approx(expected)
    assert good.runs == 9


@pytest.mark.parametrize(("rows", "stretches"), [(2, []), (3, [(5, 7)]), (4, [(5, 8)])])
def test_three_places_in_a_row_are_outside(rows, stretches):
    """On the limit is inside; up to the last place."""
    good = band(rng().normal(80.0, 0.5, (10, 20)), np.full(20, 0.1))
    profile = good.high.copy()
    profile[5 : 5 + rows] = good.low[5 : 5 + rows] - 0.1
    assert outside(profile, good) == stretches
    profile[17:] = 999.0
    assert outside(profile, good)[-1] == (17, 19)
    assert outside(profile, good, least=rows)[0] == (5, 4 + rows)


def test_no_place_has_a_narrower_band_than_its_floor():
    """Nor a place that too few runs have; with one run fewer than eight it still has one."""
    runs = rng().normal(80.0, 1e-6, (10, 3))
    runs[:3, 1], runs[:4, 2] = np.nan, np.nan
    good = band(runs, [0.2, 0.2, 0.2])
    assert good.sd[:2].tolist() == [0.2, 0.2]
    assert np.isnan(good.sd[2]) and np.isnan(good.mean[2])
    assert good.high[1] - good.mean[1] == pytest.approx(t.ppf(0.9995, 6) * 0.2 * np.sqrt(1 + 1 / 7))


@pytest.mark.parametrize("runs", [np.zeros(5), 3.0, np.zeros((2, 8, 3))])
def test_what_is_no_set_of_runs(runs):
    """One row, one number, or rows of rows."""
    with pytest.raises(ValueError, match="at least 8"):
        band(runs, 0.1)


def test_twenty_four_differences_are_a_drift():
    """Two in each block; the change reaches from the first to the last, without those that are missing."""
    difference = np.r_[np.nan, 0.5 * np.arange(24.0), np.nan]
    found = drift(np.arange(26.0), difference)
    assert found is not None and found.change == pytest.approx(0.5 * 23)
    assert found.is_certain
