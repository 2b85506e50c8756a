"""Batch distillation, against an independent integration and against what must be conserved."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from gaugebook.pipeline.engineering.ethanol_water import density
from gaugebook.pipeline.engineering.rayleigh import batch_distillation
from gaugebook.pipeline.engineering.vapour import (
    bubble_temperature_c,
    dew_temperature_c,
    highest_strength_pct_vol,
    ideal_stages,
    liquid_mole_fraction,
    mass_from_mole_fraction,
    mole_fraction_from_strength,
    strength_from_mole_fraction,
    vapour_mole_fraction,
)


def test_the_first_drop_is_the_vapour_over_the_charge() -> None:
    """With the pot alone the run begins at the strength of the equilibrium vapour."""
    run = batch_distillation(1000.0, 8.0)

    vapour = vapour_mole_fraction(mole_fraction_from_strength(8.0))
    assert run.distillate_pct_vol[0] == pytest.approx(strength_from_mole_fraction(vapour), abs=1e-3)


@pytest.mark.parametrize("charge_pct_vol", [5.0, 8.0, 28.0, 60.0])
def test_an_independent_integration_of_the_balance_agrees(charge_pct_vol: float) -> None:
    """Integrating ethanol and water drawn from the pot with a general solver gives the same course."""
    run = batch_distillation(1000.0, charge_pct_vol)
    x0 = mole_fraction_from_strength(charge_pct_vol)

    def drawn(_: float, pot: np.ndarray) -> list[float]:
        y = vapour_mole_fraction(pot[0] / pot.sum())
        return [-y, -(1.0 - y)]

    solved = solve_ivp(drawn, (0.0, 0.3), [x0, 1.0 - x0], rtol=1e-10, atol=1e-12, dense_output=True)
    for moles in (0.05, 0.15, 0.25):
        ethanol, water = solved.sol(moles)
        pot = strength_from_mole_fraction(ethanol / (ethanol + water))
        collected = strength_from_mole_fraction((x0 - ethanol) / moles)
        found = np.interp(-pot, -run.pot_pct_vol, run.collected_pct_vol)
        assert found == pytest.approx(collected, abs=0.01)


@pytest.mark.parametrize(("stages", "reflux"), [(1, 0.0), (3, 2.0), (12, 6.0)])
def test_alcohol_and_mass_are_conserved(stages: int, reflux: float) -> None:
    """At every step what was collected and what is left in the pot are the charge's ethanol and water."""
    run = batch_distillation(1000.0, 20.0, stages, reflux)

    w_charge, w_out = (mass_from_mole_fraction(mole_fraction_from_strength(q)) for q in (20.0, run.collected_pct_vol))
    charge_kg = density(w_charge, 20.0)
    out_kg = run.collected_l * density(w_out, 20.0) / 1000.0
    w_pot = mass_from_mole_fraction(mole_fraction_from_strength(run.pot_pct_vol))
    np.testing.assert_allclose(out_kg * w_out + (charge_kg - out_kg) * w_pot, charge_kg * w_charge, rtol=1e-7)
    assert run.collected_alcohol_l[-1] == pytest.approx(200.0, abs=0.05)


@pytest.mark.parametrize(("stages", "reflux"), [(1, 0.0), (4, 1.0), (20, 10.0)])
def test_the_run_weakens_and_warms(stages: int, reflux: float) -> None:
    """Strengths fall and temperatures rise from first drop to spent pot, within what distillation can reach."""
    run = batch_distillation(1000.0, 30.0, stages, reflux)

    assert (np.diff(run.distillate_pct_vol) <= 1e-9).all()
    assert (np.diff(run.pot_pct_vol) < 0.0).all()
    assert (np.diff(run.fraction_distilled) >= 0.0).all()
    assert (np.diff(run.vapour_temperature_c) >= -1e-6).all()
    assert run.distillate_pct_vol.max() <= highest_strength_pct_vol() + 1e-6


def test_stages_and_reflux_strengthen_the_distillate() -> None:
    """A column gives more strength than the pot alone, and more reflux more still."""
    firsts = [
        batch_distillation(1000.0, 20.0, stages, reflux).distillate_pct_vol[0]
        for stages, reflux in [(1, 0.0), (3, 1.0), (3, 4.0), (8, 4.0)]
    ]

    assert firsts == sorted(firsts)


def test_much_reflux_comes_to_total_reflux() -> None:
    """Where nearly all is returned, the first drop lies as many ideal stages above the charge as there are."""
    first = batch_distillation(1000.0, 20.0, 4, 1e4).distillate_pct_vol[0]

    assert ideal_stages(20.0, first) == pytest.approx(4.0, abs=0.01)


def test_a_finer_grid_changes_nothing_that_matters(monkeypatch: pytest.MonkeyPatch) -> None:
    """Halving the step moves the collected strength by less than 0.002 % vol."""
    coarse = batch_distillation(1000.0, 10.0, 3, 2.0)
    monkeypatch.setattr("gaugebook.pipeline.engineering.rayleigh._GRID", 2400)
    fine = batch_distillation(1000.0, 10.0, 3, 2.0)

    at = np.linspace(0.02, 0.15, 20)
    one, two = (np.interp(at, run.fraction_distilled, run.collected_pct_vol) for run in (coarse, fine))
    assert np.abs(one - two).max() < 0.002


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((1000.0, 101.0), r"strength of the charge is 101 % vol; expected 0\.1 to 90"),
        ((-1.0, 10.0), r"charge is -1 L"),
        ((1000.0, 10.0, 0), r"number of ideal stages is 0 stages; expected 1 to 50"),
        ((1000.0, 10.0, 2, -1.0), r"reflux ratio is -1"),
        ((1000.0, 10.0, 2, 1.0, 10.0), r"pressure is 10 kPa"),
    ],
)
def test_a_run_that_cannot_be_is_refused(arguments: tuple[float, ...], message: str) -> None:
    """The error says which value and which range."""
    with pytest.raises(ValueError, match=message):
        batch_distillation(*arguments)


@pytest.mark.parametrize(("stages", "reflux"), [(1, 0.0), (2, 1.5), (3, 4.0)])
def test_a_column_is_stepped_down_by_its_operating_line(stages: int, reflux: float) -> None:
    """From the first drop down by hand: the liquid of each vapour, mixed R to 1 with distillate, is the vapour below.

    After as many stages the liquid is the charge (McCabe and Thiele, 1925).
    """
    run = batch_distillation(1000.0, 15.0, stages, reflux)

    distillate = mole_fraction_from_strength(run.distillate_pct_vol[0])
    liquid = liquid_mole_fraction(distillate)
    for _ in range(stages - 1):
        liquid = liquid_mole_fraction((reflux * liquid + distillate) / (reflux + 1.0))
    assert strength_from_mole_fraction(liquid) == pytest.approx(15.0, abs=0.01)


def test_a_run_begins_with_the_charge_and_ends_with_a_spent_pot() -> None:
    """The pot falls from 8 % vol to a mole fraction of 1e-5: 1e-5 x 46.068/18.015 x 998.2/789.24 is 0.00323 % vol."""
    run = batch_distillation(500.0, 8.0)

    assert (run.pot_pct_vol[0], run.pot_pct_vol[-1]) == (pytest.approx(8.0), pytest.approx(0.003234, rel=1e-3))
    assert (run.collected_l[0], run.collected_alcohol_l[0], run.fraction_distilled[0]) == (0.0, 0.0, 0.0)
    assert run.collected_pct_vol[0] == run.distillate_pct_vol[0]
    assert run.collected_alcohol_l[-1] == pytest.approx(40.0, abs=0.02)
    np.testing.assert_allclose(run.fraction_distilled, run.collected_l / 500.0)
    np.testing.assert_allclose(run.collected_alcohol_l, run.collected_l * run.collected_pct_vol / 100.0)


@pytest.mark.parametrize("pressure_kpa", [85.0, 101.325])
def test_temperatures_are_those_of_pot_and_vapour(pressure_kpa: float) -> None:
    """The pot boils at its bubble point, the vapour that makes the distillate condenses at its dew point."""
    run = batch_distillation(1000.0, 12.0, 3, 2.0, pressure_kpa)

    for i in (0, 300, 900, -1):
        pot, distillate = (mole_fraction_from_strength(q[i]) for q in (run.pot_pct_vol, run.distillate_pct_vol))
        assert run.pot_temperature_c[i] == pytest.approx(bubble_temperature_c(pot, pressure_kpa), abs=1e-4)
        assert run.vapour_temperature_c[i] == pytest.approx(dew_temperature_c(distillate, pressure_kpa), abs=1e-4)


def test_a_strong_charge_through_a_good_column_begins_near_the_azeotrope() -> None:
    """Fifty stages and much reflux give the highest strength there is, to 0.01 % vol, and nothing beyond it."""
    first = batch_distillation(1000.0, 80.0, 50, 50.0).distillate_pct_vol[0]

    assert highest_strength_pct_vol() - 0.01 < first <= highest_strength_pct_vol()


def test_where_nothing_is_said_it_is_a_pot_alone_at_the_standard_atmosphere() -> None:
    """One stage, no reflux, 101.325 kPa; with one stage a reflux ratio is without effect."""
    plain, said = batch_distillation(100.0, 10.0), batch_distillation(100.0, 10.0, 1, 5.0, 101.325)

    np.testing.assert_allclose(plain.collected_l, said.collected_l)
    np.testing.assert_allclose(plain.distillate_pct_vol, said.distillate_pct_vol)
