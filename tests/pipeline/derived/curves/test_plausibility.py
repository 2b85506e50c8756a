"""A curve against equilibrium, plates, gauges and its second sensors: each question alone, at its limit.

Limits are 2.5 standard uncertainties unless it is said otherwise; the model is known to 0.3 K, a thermometer to 0.5 K.
"""

from dataclasses import replace

import numpy as np
import pytest

from gaugebook.pipeline.derived.curves.plausibility import (
    _against_gauges,
    _against_sheet,
    _counter_drift,
    _does_not_empty,
    _drifts,
    _named,
    _off,
    _pot_against_gauges,
    _reached,
    _settled,
    _smooth,
    _strength_of_vapour,
    physics,
)
from gaugebook.pipeline.derived.curves.records import Circumstances, Cut, Gauged, PartOfCurve, RunCurve
from gaugebook.pipeline.engineering.vapour_check import Suspect, stages_needed, vapour_temperature_for

TIMES = 60.0 * np.arange(61)
NOTHING = np.full(61, np.nan)
CURVE = RunCurve(61, 60.0, first_drop_s=0.0, hearts_to=Cut(3000.0, 30.0, "receivers"), end_s=3600.0)
VAPOUR, PARROT, POT, PRESSURE = "vapour_temperature_c", "parrot_strength_pct_vol", "pot_temperature_c", "pressure_kpa"


def places_of(findings):
    return [(finding.kind, finding.tag, finding.first_s, finding.last_s) for finding in findings]


def test_hearts_are_settled_five_minutes_after_the_first_drop():
    """Until a minute before the cut, or before the end where there is no cut; neither moment itself."""
    assert TIMES[_settled(TIMES, CURVE)][[0, -1]].tolist() == [360.0, 2880.0]
    assert TIMES[_settled(TIMES, replace(CURVE, hearts_to=Cut()))][[0, -1]].tolist() == [360.0, 3480.0]


@pytest.mark.parametrize(("gauged", "stands_in"), [(92.0, True), (90.0, False), (np.nan, False), (None, False)])
def test_strong_hearts_stand_in_for_a_parrot(gauged, stands_in):
    """Above 90 % vol they hardly change: known to 0.5 % vol; a strength that was logged goes before."""
    around = Circumstances(gauged={} if gauged is None else {"hearts": Gauged(strength_pct_vol=gauged)})
    strength, u = _strength_of_vapour(NOTHING, NOTHING, around)
    logged, _ = _strength_of_vapour(np.where(TIMES < 60, 70.0, np.nan), NOTHING, around)

    assert set(strength.tolist()) == {92.0} if stands_in else np.isnan(strength).all()
    assert set(u.tolist()) == {0.5} if stands_in else np.isnan(u).all()
    assert logged[0] == 70.0 and np.isnan(logged[1:]).all()


@pytest.mark.parametrize(("rise_k", "stands"), [(1.05, True), (1.15, False)])
def test_a_pot_that_stands_at_one_temperature_does_not_empty(rise_k, stands):
    """From ten minutes after the first drop to the end its middle nine tenths rise by less than 1 K: of 48 rows with a
    steady rise by nine tenths of it."""
    inside = (TIMES > 600.0) & (TIMES < 3540.0)
    pot = np.where(inside, 95.0 + rise_k * (TIMES - 660.0) / (3480.0 - 660.0), 20.0)

    assert _does_not_empty(TIMES, pot, CURVE) is stands
    ten = 3260.0 + 30.0 * np.arange(10)  # the last of them a little more than a minute before the end
    assert _does_not_empty(ten, np.full(10, 95.0), CURVE)
    assert not _does_not_empty(ten + 30.0, np.full(10, 95.0), CURVE)
    assert not _does_not_empty(TIMES, np.where(TIMES < 1200, pot, np.nan), CURVE)  # nine rows say nothing
    assert not _does_not_empty(TIMES, np.where(TIMES < 1200, 95.0, np.nan), CURVE)
    assert _does_not_empty(TIMES, np.where(TIMES < 1260, 95.0, np.nan), CURVE)


def test_a_pot_is_held_against_what_boils_in_it():
    """Water at 101.325 kPa boils at 100 °C: the pot shows 99 to 7 minutes after the first drop and 102 in the last ten,
    of which the median counts; charge and spent hold no alcohol here."""
    curve = replace(CURVE, first_drop_s=600.0)
    pot = np.where(TIMES < 600, 20.0, np.where(TIMES <= 1020, 99.0, np.where(TIMES < 3000, 60.0, 102.0)))
    pot[12], pot[55] = 150.0, np.nan
    air = np.full(61, 101.325)
    around = Circumstances(charge_strength_pct_vol=0.0, spent_strength_pct_vol=0.0)

    less, at = _pot_against_gauges(TIMES, pot, air, curve, around)
    assert less == pytest.approx([-1.0, 2.0], abs=0.1)
    assert at.tolist() == [600.0, 3600.0]
    assert _pot_against_gauges(TIMES, pot, air, curve, replace(around, charge_strength_pct_vol=np.nan))[1].tolist() == [
        3600.0
    ]
    few = np.where((TIMES < 720) | (TIMES > 1020), pot, np.nan)
    few[12:17] = np.nan  # two rows are too few
    assert _pot_against_gauges(TIMES, few, air, curve, around)[1].tolist() == [3600.0]
    assert _pot_against_gauges(TIMES, pot, air, curve, replace(around, is_continuous=True))[1].size == 0
    nothing, never = _pot_against_gauges(TIMES, np.full(61, 99.0), air, curve, around)
    assert nothing.size == never.size == 0


def test_a_pot_boils_higher_under_more_pressure():
    """Water at 105 kPa: 101.0 °C (saturation tables of IAPWS; from memory)."""
    pot = np.where(TIMES < 1000, 90.0, 101.0)

    less, _ = _pot_against_gauges(
        TIMES, pot, np.full(61, 105.0), CURVE, Circumstances(spent_strength_pct_vol=0.0)
    )  # fmt: skip
    assert less == pytest.approx([0.0], abs=0.15)


def off(residual=0.0, pot=(), pressure=None, digit=0.0, rows=61):
    """What is said where the vapour is off by so much, known to 0.5 K, and the pot at its first drop and its end."""
    shown = np.where(np.arange(61) < rows, residual, np.nan)
    values = {} if pressure is None else {PRESSURE: np.full(61, pressure)}
    values |= {POT: 95.0 + digit * (np.arange(61) % 2)}
    at = np.array([0.0, 3600.0])[: len(pot)]
    flat = np.full(61, 0.1)
    air = np.full(61, 101.325 if pressure is None else pressure)
    return _off(
        TIMES, shown, np.full(61, 0.5), -flat, 0.26 * np.ones(61), np.array(pot), at, air, values, Circumstances()
    )  # fmt: skip


@pytest.mark.parametrize(("residual", "is_off"), [(1.2, False), (1.3, True), (-1.2, False), (-1.3, True)])
def test_vapour_off_equilibrium(residual, is_off):
    """By more than 2.5 times 0.5 K in the mean; eleven rows at the least."""
    verdict, findings = off(residual)
    few, none = off(residual, rows=10)

    assert verdict["vapour_residual_c"] == pytest.approx(residual)
    assert verdict["u_vapour_residual_c"] == pytest.approx(0.5)
    assert places_of(findings) == ([("off equilibrium", VAPOUR, 0.0, 3600.0)] if is_off else [])
    assert verdict.get("likely_wrong") == (VAPOUR if is_off else None)
    if is_off:
        assert findings[0].size == pytest.approx(residual)
        assert findings[0].detail.startswith(f"vapour {residual:+.1f} K from equilibrium; most likely the vapour therm")
    assert np.isnan([few["vapour_residual_c"], few["u_vapour_residual_c"]]).all() and none == []
    assert places_of(off(residual, rows=11)[1]) == ([("off equilibrium", VAPOUR, 0.0, 600.0)] if is_off else [])


@pytest.mark.parametrize(
    ("pressure", "digit", "limit_k"),
    [
        (101.325, 0.0, 2.5 * np.hypot(0.3, 0.5)),
        (101.325, 1.0, 2.5 * np.linalg.norm([0.3, 0.5, 1 / 12**0.5])),
        # without a logged pressure the weather is not known: 1.5 kPa, each 0.27 K
        (None, 0.0, 2.5 * np.linalg.norm([0.3, 0.5, 0.27 * 1.5])),
    ],
)
def test_a_pot_off_equilibrium(pressure, digit, limit_k):
    """At its first drop and at its end, by more than what thermometer, its last digit and the model leave open."""
    within, beyond = limit_k - 0.01, limit_k + 0.01
    (finding,) = off(0.0, (beyond, 3.0), pressure, digit)[1]

    assert off(0.0, (within, 3.0), pressure, digit)[1] == []
    assert off(0.0, (3.0, -within), pressure, digit)[1] == []
    assert places_of([finding]) == [("off equilibrium", POT, 0.0, 3600.0)]
    assert finding.size == pytest.approx((beyond + 3.0) / 2)
    assert finding.detail.startswith(f"pot {(beyond + 3.0) / 2:+.1f} K from equilibrium; most likely the pot thermom")


def test_vapour_and_pot_off_together():
    """Both are told, the vapour first, whose times count; 4 kPa less than the site's mean explains them best: a gauge
    that shows 3.9 kPa too little makes all that boils seem 1 K too hot."""
    verdict, (finding,) = off(1.3, (1.5, 1.5), pressure=101.325 - 4.0)

    assert finding.detail.startswith("vapour +1.3 K and pot +1.5 K from equilibrium; most likely the pressure gauge")
    assert finding.size == pytest.approx(1.3)
    assert verdict["likely_wrong"] == PRESSURE


def test_the_second_explanation_is_told_where_it_is_as_good():
    """Up to 0.3 of misfit behind the first; a third never."""
    ranked = [Suspect(VAPOUR, 1.26, 0.5), Suspect(PARROT, -3.0, 0.79), Suspect(PRESSURE, 2.0, 0.8)]

    assert _named(ranked) == "vapour thermometer (+1.3 K) or the parrot (-3.0 % vol)"
    assert _named([ranked[0], replace(ranked[1], misfit=0.81)]) == "vapour thermometer (+1.3 K)"
    assert _named([Suspect(PRESSURE, 2.0, 0.1)]) == "pressure gauge (+2.0 kPa)"


@pytest.mark.parametrize(("change_k", "u_k", "drifts"), [(1.05, 0.3, True), (-1.05, 0.3, True), (0.95, 0.3, False),
                                                        (2.0, 0.4, False)])  # fmt: skip
def test_a_thermometer_that_drifts_against_the_parrot(change_k, u_k, drifts):
    """By more than 1 K over rows in which the strength is known well enough: 0.35 K and more of it is not."""
    residual = np.where((TIMES >= 600) & (TIMES <= 3000), change_k * (TIMES - 600) / 2400, np.nan)

    findings = _drifts(TIMES, {}, residual, np.full(61, u_k), CURVE)

    assert places_of(findings) == ([("drift", VAPOUR, 600.0, 3000.0)] if drifts else [])
    if drifts:
        assert findings[0].size == pytest.approx(change_k, rel=0.01)
        assert findings[0].detail == f"{findings[0].size:+.1f} K against the strength at the parrot, by equilibrium"


def counter_growing_by(part):
    """Counter of a flow of 60 L/h that shows more and more: by this part at the end."""
    return TIMES / 60 * (1 + part * TIMES / 3600 / 2)


@pytest.mark.parametrize(("part", "drifts"), [(0.1, True), (0.034, True), (0.033, False), (-0.034, True)])
def test_a_counter_that_drifts_against_the_flow_meter(part, drifts):
    """Rates over five minutes, 150 s inside the run: from 180 to 3420 s nine tenths of the whole; 3 % counts."""
    findings = _counter_drift(TIMES, counter_growing_by(part), np.full(61, 60.0), CURVE)

    assert places_of(findings) == ([("drift", "collected_volume_l", 180.0, 3420.0)] if drifts else [])
    if drifts:
        assert findings[0].size == pytest.approx(0.9 * part, rel=0.01)
        assert findings[0].detail == f"{100 * findings[0].size:+.1f} % against the flow meter"
    both = {"collected_volume_l": counter_growing_by(part), "distillate_flow_l_h": np.full(61, 60.0)}
    assert _drifts(TIMES, both, NOTHING, NOTHING, CURVE) == findings
    assert _drifts(TIMES, {"collected_volume_l": counter_growing_by(part)}, NOTHING, NOTHING, CURVE) == []


def test_a_counter_needs_thirty_rows_while_distillate_runs():
    """Rows without a count or without a flow say nothing."""
    counter, flow = counter_growing_by(0.1), np.full(61, 60.0)

    def rows_left(count, of_flow):
        missing = np.zeros(61, dtype=bool)
        missing[3 : 3 + 55 - count] = True
        gaps = np.where(missing, 0.0, flow) if of_flow else flow
        return _counter_drift(TIMES, counter if of_flow else np.where(missing, np.nan, counter), gaps, CURVE)

    assert rows_left(29, True) == rows_left(29, False) == []
    assert len(rows_left(30, False)) == 1
    early = replace(CURVE, first_drop_s=1200.0, end_s=3300.0)
    assert [(finding.first_s, finding.last_s) for finding in _counter_drift(TIMES, counter * 1.0, flow, early)] == [
        (1380.0, 3120.0)
    ]


def test_a_flow_is_smoothed_over_five_minutes():
    """60 then 30 L/h, a row missing: in the middle of the change the mean of both [L/h]."""
    flow = np.where(TIMES <= 1800, 60.0, 30.0)
    flow[20] = np.nan

    smooth = _smooth(TIMES, flow, np.array([1200.0, 1830.0, 3000.0]))

    assert smooth == pytest.approx([60.0, 45.0, 30.0])


def test_more_stages_than_there_are():
    """80 % vol from 10 % needs more than a pot alone; twice u is taken off first, and 5 % of the rows."""
    strength = np.where(np.arange(61) == 30, 99.0, 80.0)
    inside = _settled(TIMES, CURVE)
    around = Circumstances(charge_strength_pct_vol=10.0)

    fields, (finding,) = _reached(TIMES, strength, np.full(61, 0.2), inside, CURVE, around)
    enough, none = _reached(TIMES, strength, np.full(61, 0.2), inside, CURVE, replace(around, plates=8))

    assert fields["reached_pct_vol"] == pytest.approx(80.0)
    assert fields["stages_needed"] == pytest.approx(stages_needed(10.0, 79.6, 101.325))
    assert (fields["stages_available"], fields["likely_wrong"]) == (1.0, PARROT)
    assert places_of([finding]) == [("beyond the plates", PARROT, 360.0, 2880.0)]
    assert finding.detail.startswith("80.0 % vol needs ") and finding.detail.endswith(
        "ideal stages, 1.0 are there; most likely the parrot"
    )
    assert (enough["stages_available"], none) == (7.0, [])
    assert "likely_wrong" not in enough


def test_above_the_azeotrope_no_stages_are_enough():
    """97.6 % vol comes off no still; 2 u of 0.5 % vol bring it below again."""
    inside = _settled(TIMES, CURVE)
    around = Circumstances(charge_strength_pct_vol=10.0, plates=60)
    strong = np.full(61, 97.6)

    fields, (finding,) = _reached(TIMES, strong, np.full(61, 0.1), inside, CURVE, around)
    assert fields["stages_needed"] == np.inf
    assert finding.detail == "97.6 % vol is at or above the azeotrope; most likely the parrot"
    assert np.isfinite(_reached(TIMES, strong, np.full(61, 0.5), inside, CURVE, around)[0]["stages_needed"])


def test_without_a_charge_or_strengths_only_the_plates_are_told():
    """Nine settled rows are too few."""
    inside = _settled(TIMES, CURVE)
    u = np.full(61, 0.2)
    nine = np.where(TIMES < 360 + 540, 80.0, np.nan)
    around = Circumstances(charge_strength_pct_vol=10.0, plates=4)

    assert _reached(TIMES, nine, u, inside, CURVE, around) == ({"stages_available": 4.0}, [])
    assert "reached_pct_vol" in _reached(TIMES, np.where(TIMES < 960, 80.0, np.nan), u, inside, CURVE, around)[0]
    unknown = replace(around, charge_strength_pct_vol=np.nan)
    assert _reached(TIMES, np.full(61, 80.0), u, inside, CURVE, unknown) == ({"stages_available": 4.0}, [])


def hearts(alcohol_l, volume_l=40.0):
    part = PartOfCurve("hearts", 600.0, 3000.0, volume_l, 0.4, alcohol_l, 0.3, 0.0, 0.0)
    return replace(CURVE, parts=(replace(part, part="heads"), part))


GAUGED = Gauged(volume_l=38.0, u_volume_l=0.3, alcohol_l=30.0, u_alcohol_l=0.2)


@pytest.mark.parametrize(
    ("logged", "differs"),
    # 1 % of 30 LPA is expected to be lost; beyond it 3 x sqrt(0.3^2 + 0.2^2) + 0.3 = 1.382 LPA
    [(31.67, False), (31.69, True), (28.93, False), (28.91, True)],
)
def test_the_log_against_the_receiver(logged, differs):
    """In pure alcohol, where both know it; the hearts alone."""
    around = Circumstances(gauged={"hearts": GAUGED})
    findings = _against_gauges(hearts(logged), around)

    kind = ("log against gauges", "distillate_flow_l_h", 600.0, 3000.0)
    assert places_of(findings) == ([kind] if differs else [])
    if differs:
        less = logged - 30.0
        assert findings[0].size == pytest.approx(less)
        assert findings[0].detail == f"{logged:.1f} LPA by the log, 30.0 LPA in the receiver: {less:+.1f} (u 0.4)"
    assert _against_gauges(CURVE, around) == []
    assert _against_gauges(hearts(logged), Circumstances()) == []


@pytest.mark.parametrize(("volume_l", "differs"), [(40.25, False), (40.27, True)])
def test_the_log_against_the_receiver_by_litres(volume_l, differs):
    """Where one of them knows no alcohol: 38 L and 1 %, then 3 x sqrt(0.4^2 + 0.3^2) + 0.38 = 1.88 L."""
    by_log = _against_gauges(hearts(np.nan, volume_l), Circumstances(gauged={"hearts": GAUGED}))
    by_gauge = _against_gauges(
        hearts(32.0, volume_l), Circumstances(gauged={"hearts": replace(GAUGED, alcohol_l=np.nan)})
    )

    assert len(by_log) == len(by_gauge) == differs
    if differs:
        assert by_log[0].detail == "40.3 L by the log, 38.0 L in the receiver: +2.3 (u 0.5)"


@pytest.mark.parametrize(
    ("apart_s", "u_s", "differs"),
    [(300.0, 30.0, False), (301.0, 30.0, True), (-301.0, 30.0, True), (350.0, 117.0, False), (352.0, 117.0, True)],
)  # fmt: skip
def test_the_cut_against_the_run_sheet(apart_s, u_s, differs):
    """By more than five minutes and three times what is uncertain; a sheet without a time says nothing."""
    curve = replace(CURVE, hearts_from=Cut(600.0 + apart_s, u_s, "receivers"), hearts_to=Cut(3000.0, 1.0, "steps"))
    findings = _against_sheet(curve, Circumstances(hearts_from_s=600.0, hearts_to_s=3000.0))

    span = (min(600.0, 600.0 + apart_s), max(600.0, 600.0 + apart_s))
    assert places_of(findings) == ([("cut against sheet", None, *span)] if differs else [])
    if differs:
        assert findings[0].size == apart_s
        minutes = f"{apart_s / 60:+.0f} min after the run sheet's by receivers (u {u_s / 60:.1f} min)"
        assert findings[0].detail == f"cut to hearts {minutes}"
    late = replace(curve, hearts_from=Cut(), hearts_to=Cut(3400.0, 1.0, "steps"))
    (other,) = _against_sheet(late, Circumstances(hearts_from_s=600.0, hearts_to_s=3000.0))
    assert (other.first_s, other.last_s, other.detail[:12]) == (3000.0, 3400.0, "cut to tails")
    assert _against_sheet(curve, Circumstances()) == []


def run_with(vapour_k=0.0, strength=None, pressure=None):
    """Verdict and findings of hearts whose strength falls from 85 to 60 % vol, the vapour off by so much, or by more
    and more."""
    strength = np.linspace(85.0, 60.0, 61) if strength is None else strength
    air = np.full(61, 101.325 if pressure is None else pressure)
    values = {VAPOUR: vapour_temperature_for(strength, air)[0] + vapour_k}
    values |= {} if pressure is None else {PRESSURE: air}
    return physics(TIMES, values, strength, np.full(61, 0.2), CURVE, Circumstances())


def test_a_run_in_equilibrium_has_nothing_to_say():
    """The vapour shows what its strength must; what is uncertain of it is made of the model, the thermometer, 0.2 % vol
    and the air, known to 1.5 kPa by the site and to 0.3 by a gauge."""
    strength, inside = np.linspace(85.0, 60.0, 61), _settled(TIMES, CURVE)
    _, per_strength, per_kpa = vapour_temperature_for(strength, np.full(61, 101.325))
    verdict, findings = run_with()

    def u(kpa):
        square = 0.3**2 + 0.5**2 + (0.2 * per_strength[inside]) ** 2 + (kpa * per_kpa[inside]) ** 2
        return np.mean(np.sqrt(square))

    assert findings == []
    assert verdict["vapour_residual_c"] == pytest.approx(0.0, abs=1e-9)
    assert verdict["u_vapour_residual_c"] == pytest.approx(u(1.5))
    assert run_with(pressure=101.325)[0]["u_vapour_residual_c"] == pytest.approx(u(0.3))


def test_a_vapour_thermometer_that_drifts_is_found_in_the_run():
    """From -1 to 1 K over the hour: in the mean it is right, and 42 minutes of it show 1.4 K."""
    _, (finding,) = run_with(np.linspace(-1.0, 1.0, 61))

    assert places_of([finding]) == [("drift", VAPOUR, 360.0, 2880.0)]
    assert finding.size == pytest.approx(1.4, abs=0.01)


def test_a_vapour_thermometer_three_kelvins_off_is_named():
    """Over the settled hearts; below 15 % vol a parrot says too little, and above nothing is left out."""
    verdict, (finding,) = run_with(3.0)
    weak = run_with(3.0, np.linspace(14.0, 12.0, 61))[0]

    assert verdict["vapour_residual_c"] == pytest.approx(3.0)
    assert verdict["likely_wrong"] == VAPOUR
    assert places_of([finding]) == [("off equilibrium", VAPOUR, 360.0, 2880.0)]
    assert np.isnan(weak["vapour_residual_c"])
    assert run_with(0.0, np.linspace(18.0, 16.0, 61))[0]["vapour_residual_c"] == pytest.approx(0.0, abs=1e-9)
