"""A short form of the trial of seven styles of stills, and their physics against the handbook.

`make trials` runs the long one (tests/trials/test_seven_stills.py) and prints its table.
"""

from dataclasses import replace

import numpy as np
import pytest
from reference import rows
from seven_stills import STYLES, simulated
from seven_trial import StyleTrial, trial
from still_physics import alcoholmeter_reading, boiling

from gaugebook.pipeline.derived.curves.analysis import curve_of_run
from gaugebook.pipeline.derived.curves.records import PARTS, Circumstances, Gauged

WIDEST_MIN = {
    "short heads": 0.6, "pot double distillation": 0.6, "continuous column": 0.8, "five-minute log": 2.0,
    "one-second log": 0.25, "no parrot": 0.6, "no flow": 0.6,
}  # fmt: skip


@pytest.fixture(scope="module")
def trials() -> dict[str, StyleTrial]:
    """Six runs of each style."""
    return {style: trial(style, range(6)) for style in STYLES}


def test_cuts_lie_within_twice_their_uncertainty(trials):
    """In 95 of 100 of all cuts that are told."""
    within = [
        abs(error) <= 2 * u
        for one in trials.values()
        for cut in one.errors
        for error, u in zip(one.errors[cut], one.u[cut], strict=True)
    ]

    assert len(within) >= 70
    assert np.mean(within) >= 0.95


@pytest.mark.parametrize("style", STYLES)
def test_the_uncertainty_of_cuts_is_no_wider_than_it_must_be(trials, style):
    """A fraction of a minute; of a log of five minutes about one."""
    for cut in ("to hearts", "to tails"):
        assert trials[style].median_u_min(cut) < WIDEST_MIN[style]


def test_litres_of_the_parts_lie_within_twice_their_uncertainty(trials):
    """Pure alcohol where there is a parrot, volume where there is none; heads, hearts and tails."""
    parts = [part for one in trials.values() for part in one.parts]

    assert len(parts) >= 100
    assert np.mean(np.abs(parts) <= 2) >= 0.93
    assert max(np.abs(parts)) > 1.0


@pytest.mark.parametrize("style", STYLES)
def test_a_clean_run_has_no_finding(trials, style):
    """None in six."""
    assert trials[style].false_findings == {}


@pytest.mark.parametrize("style", STYLES)
def test_cuts_are_told_wherever_something_tells_them(trials, style):
    """Only where there is neither flow nor counter nothing is said."""
    nothing = {"to hearts": 2, "to tails": 2} if style == "no flow" else {"to hearts": 0, "to tails": 0}

    assert {cut: trials[style].said_nothing[cut] for cut in nothing} == nothing


@pytest.mark.parametrize("late_s", [180.0, 300.0, 600.0])
def test_heat_turned_up_after_short_heads_does_not_move_the_cut(late_s):
    """The flow changes where no cut is; the receivers know better, and heads stay what they were."""
    run = simulated("short heads", 3)
    flow = run.values["distillate_flow_l_h"]
    turned = np.where(run.times_s > run.cuts_s[0] + late_s, 1.35 * flow, flow)
    gauged = dict(run.circumstances.gauged)
    after = run.times_s > run.cuts_s[0] + late_s
    more = {
        part: 1.0 + 0.35 * float(flow[after & inside].sum() / flow[inside].sum())
        for part, inside in (
            ("hearts", (run.times_s > run.cuts_s[0]) & (run.times_s < run.cuts_s[1])),
            ("tails", run.times_s > run.cuts_s[1]),
        )
    }
    for part, factor in more.items():
        held = gauged[part]
        gauged[part] = replace(
            held, volume_l=held.volume_l * factor, u_volume_l=held.u_volume_l * factor,
            alcohol_l=held.alcohol_l * factor, u_alcohol_l=held.u_alcohol_l * factor,
        )  # fmt: skip

    curve = curve_of_run(
        run.times_s, run.values | {"distillate_flow_l_h": turned}, replace(run.circumstances, gauged=gauged)
    )

    assert curve.hearts_from.at_s == pytest.approx(run.cuts_s[0], abs=max(2 * curve.hearts_from.u_s, 20.0))
    assert curve.hearts_from.u_s < 60.0
    assert curve.parts[0].volume_l == pytest.approx(run.volume_l["heads"], abs=2 * curve.parts[0].u_volume_l)


@pytest.mark.parametrize("number", [0, 1, 2])
def test_a_continuous_column_is_known_by_the_profile_too(number):
    """Even where the foot of the column wanders, so that its log does not show it."""
    run = simulated("continuous column", number)
    pot = run.values["pot_temperature_c"] + np.where(run.times_s > 40000.0, 2.5, 0.0)
    values = run.values | {"pot_temperature_c": pot}

    unsaid = curve_of_run(run.times_s, values, run.circumstances)
    said = curve_of_run(run.times_s, values, replace(run.circumstances, is_continuous=True))

    assert [found.tag for found in said.findings] == []
    assert [found.tag for found in unsaid.findings] == ["pot_temperature_c"]


def test_a_flow_that_stands_still_gives_way_to_the_counter():
    """It is found, and cuts and litres rest on the counter."""
    run = simulated("no flow", 1)
    flow = np.where((run.times_s > run.first_drop_s) & (run.times_s < run.end_s), 45.0, 0.0)

    curve = curve_of_run(run.times_s, run.values | {"distillate_flow_l_h": flow}, run.circumstances)

    assert [(found.kind, found.tag) for found in curve.findings] == [("stuck", "distillate_flow_l_h")]
    assert curve.hearts_to.at_s == pytest.approx(run.cuts_s[1], abs=2 * curve.hearts_to.u_s)
    assert curve.parts[1].volume_l == pytest.approx(run.volume_l["hearts"], abs=2 * curve.parts[1].u_volume_l)


def test_without_gauged_tails_the_cut_is_counted_from_the_first_drop():
    """Less sharp, since the flow meter's factor counts; and honest."""
    run = simulated("pot double distillation", 2)
    gauged = {part: held for part, held in run.circumstances.gauged.items() if part != "tails"}

    whole = curve_of_run(run.times_s, run.values, run.circumstances)
    curve = curve_of_run(run.times_s, run.values, replace(run.circumstances, gauged=gauged))

    assert curve.hearts_to.by == "receivers"
    assert curve.hearts_to.at_s == pytest.approx(run.cuts_s[1], abs=2 * curve.hearts_to.u_s)
    assert curve.hearts_to.u_s > 3 * whole.hearts_to.u_s


@pytest.mark.parametrize("interval_s", [60.0, 300.0])
@pytest.mark.parametrize("rates_l_h", [(30.0, 40.0, 22.0), (40.0, 40.0, 40.0)])
def test_a_wrong_strength_of_the_receivers_does_not_move_the_cut(rates_l_h, interval_s):
    """A parrot that stays at 75 % vol while the hearts are entered at 65 and the tails at 35: volume knows better.

    20 min at 30 L/h are 10 L of heads, 200 min at 40 are 133.33 L of hearts, 80 min at 22 are 29.33 L of tails. By
    alcohol, (7.5 + 86.67) of 104.43 LPA, the cut to tails would lie half an hour late. At one rate no step of the flow
    helps.
    """
    times = np.arange(0.0, 300 * 60.0, interval_s)
    minutes, rng = times / 60, np.random.default_rng(9)
    flow = np.select([minutes < 20, minutes < 220], rates_l_h[:2], rates_l_h[2])
    values = {
        "pot_temperature_c": 92 + minutes / 50 + rng.normal(0, 0.05, times.size),
        "vapour_temperature_c": 85 + minutes / 38 + rng.normal(0, 0.05, times.size),
        "distillate_flow_l_h": flow + rng.normal(0, 0.1, times.size),
        "parrot_strength_pct_vol": 75 + rng.normal(0, 0.1, times.size),
        "parrot_temperature_c": 20 + rng.normal(0, 0.1, times.size),
    }
    gauged = {}
    for part, rate, hours, strength in zip(PARTS, rates_l_h, (1 / 3, 10 / 3, 4 / 3), (75, 65, 35), strict=True):
        litres, alcohol = rate * hours, rate * hours * strength / 100
        gauged[part] = Gauged(litres, 0.002 * litres, alcohol, 0.0025 * alcohol, strength)

    curve = curve_of_run(times, values, Circumstances(gauged=gauged))

    for cut, at_min in ((curve.hearts_from, 20), (curve.hearts_to, 220)):
        assert abs(cut.at_s - 60 * at_min) < min(3 * cut.u_s, max(180.0, 1.5 * interval_s))


def test_the_simulators_boil_as_the_handbook_says():
    """Within 1 °C and 0.02 mole fraction (Perry's handbook, 4th edition, p. 13-5; old data scatter as much)."""
    temperature_c, x, y = np.array([[float(v) for v in row.values()] for row in rows("vapour_liquid_101kpa.csv")]).T
    liquid, vapour, boils = boiling(101.325)

    assert np.abs(np.interp(x, liquid, boils) - temperature_c).max() < 1.0
    assert np.abs(np.interp(x, liquid, vapour) - y).max() < 0.02


@pytest.mark.parametrize(("strength", "celsius", "shown"), [(61.9, 6.0, 57.0), (61.8, 35.0, 67.0), (70.6, 6.0, 66.0)])
def test_the_simulators_alcoholmeter_reads_as_table_viiib(strength, celsius, shown):
    """Cells of OIML R 22 (1975), Table VIIIb, and of a national table after it (tests/reference)."""
    assert alcoholmeter_reading(np.array([strength]), np.array([celsius])) == pytest.approx([shown], abs=0.08)
