"""What a curve is put together from, on a log that is written so that it can be added up: 60 L/h at 80 % vol."""

from dataclasses import replace

import numpy as np
import pytest
from simulated_runs import simulated_run

from gaugebook.pipeline.derived.curves.analysis import (
    _added_up,
    _gap_without_distillate,
    _parts,
    _rates,
    cleaned,
    curve_of_run,
)
from gaugebook.pipeline.derived.curves.averaged_log import Course
from gaugebook.pipeline.derived.curves.records import Circumstances, Cut, Gauged, PartOfCurve, RunCurve
from gaugebook.pipeline.engineering.run_curve import collected
from gaugebook.pipeline.statistics.log_finding import Finding

TIMES = 60.0 * np.arange(61)  # an hour, a row a minute
U_STRENGTH = np.where(TIMES < 120.0, np.nan, 0.2)
# hearts from the 10th to the 50th minute; what drops before the first drop was seen belongs to the heads
CURVE = RunCurve(
    61, 60.0, first_drop_s=30.0, hearts_from=Cut(600.0, 120.0), hearts_to=Cut(3000.0, 30.0), end_s=3590.0
)  # fmt: skip


def _course(**values):
    total = collected(TIMES, np.full(61, 60.0), np.full(61, 80.0))
    return Course(TIMES, values, np.full(61, 80.0), U_STRENGTH, total, [])


def test_parts_are_the_stream_between_the_cuts():
    """10, 40 and 10 L, each 80 % of it alcohol; by the hand beside each."""
    heads, hearts, tails, every = _parts(_course(), CURVE, Circumstances(u_flow_part=0.01))

    assert [part.part for part in (heads, hearts, tails, every)] == ["heads", "hearts", "tails", "all"]
    assert [part.volume_l for part in (heads, hearts, tails, every)] == pytest.approx([10.0, 40.0, 10.0, 60.0])
    assert [part.alcohol_l for part in (heads, hearts, tails, every)] == pytest.approx([8.0, 32.0, 8.0, 48.0])
    assert (heads.from_s, heads.to_s, tails.from_s, tails.to_s) == (30.0, 600.0, 3000.0, 3590.0)
    # the flow's 1 %, and the cut times at 1 L a minute: a row is known to 60 s / sqrt(12) = 0.2887 min, the cuts to 2
    # and 0.5 min
    row = 1 / 12**0.5
    assert heads.u_volume_l == pytest.approx((0.10**2 + row**2 + 2.0**2) ** 0.5)
    assert hearts.u_volume_l == pytest.approx((0.40**2 + 2.0**2 + 0.5**2) ** 0.5)
    assert tails.u_volume_l == pytest.approx((0.10**2 + 0.5**2 + row**2) ** 0.5)
    assert every.u_volume_l == pytest.approx((0.60**2 + row**2 + row**2) ** 0.5)
    # as much of the alcohol, 0.8 L a minute, and 0.2 % vol of 40 L
    assert hearts.u_alcohol_l == pytest.approx((0.32**2 + 0.08**2 + 1.6**2 + 0.4**2) ** 0.5)


def test_without_cuts_there_is_the_whole():
    """A cut that was not found has no time, and no part ends there."""
    parts = _parts(_course(), replace(CURVE, hearts_from=Cut(), hearts_to=Cut()), Circumstances())

    assert [part.part for part in parts] == ["all"]


def test_rates_are_of_the_hearts():
    """40 L and 32 LPA in 40 minutes; the reflux ratio from cut to cut, both rows included."""
    reflux = np.full(61, 100.0)
    reflux[10:51] = 3.0
    reflux[10], reflux[50], reflux[20] = 5.0, 7.0, np.nan
    course = _course(reflux_ratio=reflux)
    curve = replace(CURVE, parts=_parts(course, CURVE, Circumstances()))

    rates = _rates(course, curve)

    assert (rates["hearts_l_h"], rates["hearts_alcohol_l_h"]) == (pytest.approx(60.0), pytest.approx(48.0))
    assert rates["hearts_reflux_ratio"] == pytest.approx((5 + 7 + 38 * 3) / 40)  # of 41 rows one has no value
    assert np.isnan(rates["steam_kg"])


def test_without_hearts_only_the_reflux_ratio_is_told():
    """From the first drop (row 1) to the end (row 59): 58 rows of 2 and one of 60."""
    reflux = np.full(61, 2.0)
    reflux[0] = reflux[60] = 1000.0
    reflux[30] = 60.0
    course = _course(reflux_ratio=reflux)

    rates = _rates(course, CURVE)

    assert np.isnan(rates["hearts_l_h"])
    assert np.isnan(rates["hearts_alcohol_l_h"])
    assert rates["hearts_reflux_ratio"] == pytest.approx((58 * 2 + 60) / 59)
    assert np.isnan(_rates(_course(), CURVE)["hearts_reflux_ratio"])


@pytest.mark.parametrize(
    ("known", "added"),
    [([0, 60], 120.0), ([0, 30, 60], 120.0), ([0, 30], 60.0), ([30], np.nan), ([], np.nan)],
)
def test_a_rate_is_added_up_between_the_values_that_are_known(known, added):
    """120 kg/h over the hour; of one value alone nothing can be added up."""
    steam = np.full(61, np.nan)
    steam[known] = 120.0

    assert _added_up(_course(steam_kg_h=steam), "steam_kg_h") == pytest.approx(added, nan_ok=True)


GAP = Finding("gap", None, 900.0, 2700.0, 1800.0, "", may_be_clock_step=True)


def _told(volume_l, in_gap_l, findings=(GAP,), part="all", **gauged):
    whole = PartOfCurve(part, 0.0, 3600.0, volume_l, 1.0, 0.8 * volume_l, 1.0, in_gap_l / volume_l, 0.0)
    held = {"heads": 30.0, "hearts": 50.0, "tails": 20.0} | gauged
    around = Circumstances(
        gauged={name: Gauged(volume_l=litres) for name, litres in held.items() if litres is not None}, u_flow_part=0.01
    )
    return _gap_without_distillate(RunCurve(61, 60.0, parts=(whole,), findings=findings), around)


# Receivers hold 100 L and 1 % goes as vapour: 101 L ran off. u is 100 x sqrt(0.01^2 + 0.005^2) = 1.118 L; the log must
# show 3 u = 3.354 L too much with the gap, and lie within 2.5 u = 2.795 L without what was put into it.
@pytest.mark.parametrize(
    ("volume_l", "in_gap_l", "is_step"),
    [
        (110.0, 9.0, True),
        (104.40, 3.40, True), (104.30, 3.30, False),  # 3.4 and 3.3 L too much
        (110.0, 6.25, True), (110.0, 6.15, False),  # 2.75 and 2.85 L too much without the gap
        (110.0, 11.75, True), (110.0, 11.85, False),  # as much too little
        (92.0, -9.0, False),
    ],
)  # fmt: skip
def test_the_receivers_tell_a_clock_set_forward_from_a_gap(volume_l, in_gap_l, is_step):
    """Where they hold nothing that ran off meanwhile."""
    assert _told(volume_l, in_gap_l) == (GAP if is_step else None)


def test_what_else_may_be_the_matter_leaves_a_gap_a_gap():
    """Two unclear gaps, none, a clock step that was found, a receiver that was not gauged, no whole."""
    step = Finding("clock step", None, 900.0, 900.0, 1800.0, "")
    clear = replace(GAP, may_be_clock_step=False)

    assert _told(110.0, 9.0, (clear, GAP)) == GAP
    assert _told(110.0, 9.0, (GAP, replace(GAP, first_s=3000.0))) is None
    assert _told(110.0, 9.0, (clear,)) is None
    assert _told(110.0, 9.0, (GAP, step)) is None
    assert _told(110.0, 9.0, tails=None) is None
    assert _told(110.0, 9.0, part="hearts") is None


def _log(moved_s):
    """Forty rows, the clock set by so much after the tenth; a flow that never stands still."""
    times = 60.0 * np.arange(40)
    flow = 60.0 + 5.0 * np.sin(np.arange(40.0) ** 2)
    return np.where(times > 600.0, times + moved_s, times), {"distillate_flow_l_h": flow}


def test_a_step_that_the_receivers_showed_is_taken_out():
    """Half an hour after the tenth minute; a gap, or a step back that the log shows by itself, is left."""
    times, values = _log(1800.0)
    step = Finding("clock step", None, 600.0, 600.0, 1800.0, "")

    log, raw = cleaned(times, values, [replace(step, kind="gap"), step])
    left, _ = cleaned(times, values, [replace(step, kind="gap"), replace(step, size=-1800.0)])

    assert log.times_s[[10, 11, -1]].tolist() == [600.0, 660.0, 2340.0]
    assert raw["distillate_flow_l_h"].tolist() == values["distillate_flow_l_h"].tolist()
    assert left.times_s[-1] == 2340.0 + 1800.0


@pytest.mark.parametrize(("rows", "interval_s"), [(2, np.nan), (3, 60.0)])
def test_three_rows_are_a_log(rows, interval_s):
    """With an interval of its own; two are not."""
    curve = curve_of_run(60.0 * np.arange(rows), {"pot_temperature_c": np.linspace(20, 30, rows)}, Circumstances())

    assert curve.points == rows
    assert curve.interval_s == pytest.approx(interval_s, nan_ok=True)


def test_a_clock_set_forward_in_the_hearts_leaves_the_curve_as_it_was():
    """By 45 minutes: the step is told with its size, and volumes and end are those of the log that was not touched."""
    run = simulated_run(4, "strip", errors=False)
    at = run.times_s[int((run.hearts_from_s + run.hearts_to_s) / 120)]
    times = np.where(run.times_s > at, run.times_s + 2700.0, run.times_s)
    whole = curve_of_run(run.times_s, run.values, run.circumstances)

    curve = curve_of_run(times, run.values, run.circumstances)

    (step,) = [found for found in curve.findings if found.kind == "clock step"]
    assert (step.first_s, step.last_s) == (at, at)
    assert step.size == pytest.approx(2700.0, abs=1.0)
    assert "45.0 min" in step.detail
    assert [part.volume_l for part in curve.parts] == pytest.approx([part.volume_l for part in whole.parts])
    assert curve.end_s == pytest.approx(whole.end_s)
    assert [found.first_s for found in curve.findings] == sorted(found.first_s for found in curve.findings)
