"""Batch distillation, against an independent integration and against what must be conserved."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from gaugebook.pipeline.engineering.ethanol_water import density
from gaugebook.pipeline.engineering.rayleigh import batch_distillation
from gaugebook.pipeline.engineering.vapour import (
    highest_strength_pct_vol,
    ideal_stages,
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
