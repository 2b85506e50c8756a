"""A short form of the trial of run curves: simulated runs with known truth, and each kind of fault.

`make trials` runs the long one (tests/trials/test_run_curves.py) and prints its table.
"""

from dataclasses import replace
from random import Random

import numpy as np
import pytest
from curve_trial import Trial, clean_runs, faulty_runs
from log_faults import FAULTS
from simulated_runs import finer, simulated_run

from gaugebook.pipeline.derived.curves.analysis import cleaned, curve_of_run
from gaugebook.pipeline.derived.curves.records import from_json, to_json
from gaugebook.pipeline.statistics.log_finding import KINDS


@pytest.fixture(scope="module")
def trial():
    """Forty runs without fault and eight of each fault."""
    return faulty_runs(8, clean_runs(range(40), Trial()), base=8)


def test_cuts_are_found_within_three_minutes(trial):
    """In 95 of 100 cases and more."""
    assert trial.cuts_in_time >= 0.95


def test_alcohol_lies_within_its_own_expanded_uncertainty(trial):
    """In about 95 of 100 parts; but the uncertainty must not be so wide that it could not fail."""
    assert trial.alcohol_within >= 0.92
    assert max(abs(error) for error in trial.alcohol) > 0.5


def test_runs_without_fault_have_no_finding(trial):
    """None in forty."""
    assert trial.false_findings == {}


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_of_fault_is_found(trial, kind):
    """Seven of eight at least, at the right time."""
    assert trial.planted[kind] == 8
    assert trial.detected[kind] >= 7


def test_a_curve_comes_back_from_json_as_it_was():
    """Numbers, missing numbers and findings alike."""
    run = FAULTS["gap"](simulated_run(1), Random(1)).run
    curve = curve_of_run(run.times_s, run.values, run.circumstances)

    assert to_json(from_json(to_json(curve))) == to_json(curve)
    assert curve.findings


def test_a_log_of_one_hertz_tells_the_same_as_one_of_a_minute():
    """Cuts within a minute, alcohol within its uncertainty."""
    run = simulated_run(4, "strip")
    fine = finer(run, 1.0, 4)

    by_minute = curve_of_run(run.times_s, run.values, run.circumstances)
    by_second = curve_of_run(fine.times_s, fine.values, fine.circumstances)

    assert by_second.interval_s == 1.0
    assert by_second.findings == ()
    assert by_second.hearts_to.at_s == pytest.approx(by_minute.hearts_to.at_s, abs=60.0)
    assert by_second.parts[1].alcohol_l == pytest.approx(
        by_minute.parts[1].alcohol_l, abs=by_minute.parts[1].u_alcohol_l
    )


def test_a_counter_that_is_set_back_shows_the_cuts():
    """Without any gauge: the receiver was changed when the counter fell to nought."""
    run = simulated_run(2, "botanical")
    counter = run.values["collected_volume_l"].copy()
    for cut in (run.hearts_to_s, run.hearts_from_s):
        row = int(cut / 60)
        counter[row:] -= counter[row - 1]
    values = run.values | {"collected_volume_l": counter}

    curve = curve_of_run(run.times_s, values, replace(run.circumstances, gauged={}))

    assert curve.hearts_from.by == curve.hearts_to.by == "counter set back"
    assert curve.hearts_from.at_s == pytest.approx(run.hearts_from_s, abs=60.0)
    assert curve.hearts_to.at_s == pytest.approx(run.hearts_to_s, abs=60.0)


def test_without_gauges_a_pot_still_shows_no_cut():
    """Nothing in the stream changes there, and the curve says so."""
    run = simulated_run(2, "botanical")

    curve = curve_of_run(run.times_s, run.values, replace(run.circumstances, gauged={}))

    assert (curve.hearts_from.by, curve.hearts_to.by) == ("", "")
    assert [part.part for part in curve.parts] == ["all"]


@pytest.mark.parametrize("tag", ["parrot_strength_pct_vol", "vapour_temperature_c"])
def test_a_cut_that_the_flow_does_not_show_is_seen_in_strength_or_temperature(tag):
    """A strip still whose flow is held: at the tails the reflux is shut, strength falls and the head warms at once."""
    run = simulated_run(4, "strip")
    flow = run.values["distillate_flow_l_h"]
    held = np.where(flow > 0, 60.0 + 0.5 * np.sin(np.arange(flow.size) ** 2), 0.0)
    other = {"parrot_strength_pct_vol", "vapour_temperature_c"} - {tag}
    values = {name: series for name, series in run.values.items() if name not in {"collected_volume_l", *other}}

    curve = curve_of_run(run.times_s, values | {"distillate_flow_l_h": held}, replace(run.circumstances, gauged={}))

    assert curve.hearts_to.by == ("change of strength" if tag == "parrot_strength_pct_vol" else "change of temperature")
    assert curve.hearts_to.at_s == pytest.approx(run.hearts_to_s, abs=180.0)


def test_a_strength_above_the_azeotrope_names_the_parrot():
    """97.6 % vol comes off no still."""
    run = simulated_run(4, "strip", errors=False)
    strong = np.where(run.values["parrot_strength_pct_vol"] > 90.0, run.values["parrot_strength_pct_vol"] + 5.0, 0.0)

    curve = curve_of_run(run.times_s, run.values | {"parrot_strength_pct_vol": strong}, run.circumstances)

    assert [found.tag for found in curve.findings if found.kind == "beyond the plates"] == ["parrot_strength_pct_vol"]
    assert curve.stages_needed == float("inf")


def test_a_sheet_that_is_off_is_told():
    """A cut written half an hour late."""
    run = simulated_run(4, "strip")
    around = replace(run.circumstances, hearts_to_s=run.hearts_to_s + 1800.0)

    (found,) = curve_of_run(run.times_s, run.values, around).findings

    assert found.kind == "cut against sheet"
    assert found.size == pytest.approx(-1800.0, abs=60.0)


@pytest.mark.parametrize("rows", [0, 1, 2, 5])
def test_a_log_of_few_rows_is_no_error(rows):
    """It has no curve, and says so by what is missing."""
    curve = curve_of_run(
        60.0 * np.arange(rows), {"pot_temperature_c": np.full(rows, 20.0)}, simulated_run(0).circumstances
    )

    assert np.isnan(curve.first_drop_s)
    assert curve.parts == ()


def test_a_counter_that_drifts_from_the_flow_meter_is_found():
    """By 8 % over the run; without that, nothing is said of it."""
    run = simulated_run(2, "botanical")
    away = np.clip((run.times_s - run.first_drop_s) / (run.end_s - run.first_drop_s), 0.0, 1.0)
    steps = np.diff(run.values["collected_volume_l"], prepend=0.0) * (1.0 + 0.08 * away)

    curve = curve_of_run(run.times_s, run.values | {"collected_volume_l": np.cumsum(steps)}, run.circumstances)

    assert [(found.kind, found.tag) for found in curve.findings] == [("drift", "collected_volume_l")]


def test_steam_is_added_up():
    """100 kg/h for the whole log."""
    run = simulated_run(4, "strip")
    steam = np.full(run.times_s.size, 100.0) + 0.1 * (np.arange(run.times_s.size) % 3 - 1)

    curve = curve_of_run(run.times_s, run.values | {"steam_kg_h": steam}, run.circumstances)

    assert curve.steam_kg == pytest.approx(100.0 * run.times_s[-1] / 3600, rel=0.001)


def test_electric_heat_is_added_up():
    """36 kW for the whole log."""
    run = simulated_run(4, "strip")
    power = np.full(run.times_s.size, 36.0) + 0.1 * (np.arange(run.times_s.size) % 3 - 1)

    curve = curve_of_run(run.times_s, run.values | {"heating_kw": power}, run.circumstances)

    assert curve.heating_kwh == pytest.approx(36.0 * run.times_s[-1] / 3600, rel=0.001)


@pytest.mark.parametrize("seed", range(12))
def test_the_cleaned_log_stands_on_the_clock_of_its_curve(seed):
    """A clock set by half an hour to an hour, seen in the log or by the receivers alone: no hour is left or lost."""
    run = FAULTS["clock step"](simulated_run(seed), Random(seed)).run
    curve = curve_of_run(run.times_s, run.values, run.circumstances)

    log, raw = cleaned(run.times_s, run.values, curve.findings)

    assert log.times_s[-1] == pytest.approx(60.0 * (run.times_s.size - 1), abs=120.0)
    assert all(series.size == log.times_s.size for series in raw.values())
    for tag, values in log.values.items():
        there = np.isfinite(values)
        assert (values[there] == raw[tag][there]).all()
