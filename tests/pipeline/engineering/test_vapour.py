"""Equilibrium of vapour and liquid, against the handbook and against an independent equation of state."""

import hypothesis.strategies as st
import numpy as np
import pytest
from CoolProp import CoolProp
from hypothesis import given
from reference import rows

from gaugebook.pipeline.engineering import vapour
from gaugebook.pipeline.engineering.vapour import (
    azeotrope,
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

fractions, pressures = st.floats(0.0, 1.0), st.floats(60.0, 120.0)


def _columns(name: str) -> list[np.ndarray]:
    return list(np.array([[float(v) for v in row.values()] for row in rows(name)]).T)


def test_the_handbook_table_is_met_at_every_point() -> None:
    """Within 0.6 °C and 0.015 mole fraction (Perry's handbook, 4th edition, p. 13-5)."""
    temperature_c, x, y = _columns("vapour_liquid_101kpa.csv")

    assert np.abs(bubble_temperature_c(x) - temperature_c).max() < 0.6
    assert np.abs(vapour_mole_fraction(x) - y).max() < 0.015


def test_the_dew_line_is_the_same_table_read_from_the_vapour() -> None:
    """The vapours of the table condense at its temperatures, within 1 °C: the line is steep in the vapour."""
    temperature_c, _, y = _columns("vapour_liquid_101kpa.csv")

    assert np.abs(dew_temperature_c(y) - temperature_c).max() < 1.0


def test_the_azeotrope_is_the_handbooks() -> None:
    """0.8943 mole fraction at 78.15 °C, 97.19 % vol (Perry's handbook, 4th edition, p. 13-5)."""
    found = azeotrope(101.325)

    assert found.mole_fraction == pytest.approx(0.8943, abs=0.003)
    assert found.temperature_c == pytest.approx(78.15, abs=0.1)
    assert highest_strength_pct_vol(101.325) == pytest.approx(97.19, abs=0.1)


def test_the_azeotrope_moves_with_the_pressure_as_measured() -> None:
    """Richer at low pressure, poorer at high, within 0.15 % mass and 0.1 °C (Merriman, 1913)."""
    mmhg, mass_pct, temperature_c = _columns("azeotropes.csv")

    found = azeotrope(mmhg * 101.325 / 760.0)

    assert np.abs(100.0 * mass_from_mole_fraction(found.mole_fraction) - mass_pct).max() < 0.15
    assert np.abs(found.temperature_c - temperature_c).max() < 0.1


@pytest.mark.parametrize("pressure_kpa", [55.0, 70.0, 95.0, 101.325, 105.0, 130.0, 190.0])
def test_an_independent_equation_of_state_agrees(pressure_kpa: float) -> None:
    """CoolProp's Helmholtz mixture, of which only the equilibrium is used, agrees to 0.6 °C and 0.013."""
    state = CoolProp.AbstractState("HEOS", "Ethanol&Water")
    for x in (0.005, 0.02, 0.05, 0.1, 0.2, 0.4, 0.6, 0.8, 0.95):
        state.set_mole_fractions([x, 1.0 - x])
        state.update(CoolProp.PQ_INPUTS, 1000.0 * pressure_kpa, 0.0)

        assert bubble_temperature_c(x, pressure_kpa) == pytest.approx(state.T() - 273.15, abs=0.6)
        assert vapour_mole_fraction(x, pressure_kpa) == pytest.approx(state.mole_fractions_vapor()[0], abs=0.013)


@pytest.mark.parametrize(
    ("pressure_kpa", "temperature_c", "x"),
    [(95.0, 76.67, 0.8928), (98.0, 77.45, None), (103.0, 78.70, None), (105.0, 79.19, 0.8912)],
)
def test_azeotropes_of_the_equation_of_state(pressure_kpa: float, temperature_c: float, x: float | None) -> None:
    """Within 0.2 °C, the spread of ethanol's own boiling point, and 0.005 (CoolProp's Helmholtz mixture)."""
    found = azeotrope(pressure_kpa)

    assert found.temperature_c == pytest.approx(temperature_c, abs=0.2)
    if x is not None:
        assert found.mole_fraction == pytest.approx(x, abs=0.005)


def test_pure_ethanol_and_water_boil_where_they_should() -> None:
    """Water at 100 °C; ethanol at 78.30 to 78.42 by source, 0.25 °C a kilopascal."""
    assert bubble_temperature_c(0.0, 101.325) == pytest.approx(100.0, abs=0.01)
    assert bubble_temperature_c(1.0, 101.325) == pytest.approx(78.30, abs=0.02)
    assert bubble_temperature_c(1.0, 102.325) - bubble_temperature_c(1.0, 101.325) == pytest.approx(0.25, abs=0.01)


@given(fractions, pressures)
def test_liquid_and_vapour_round_trip(x: float, p: float) -> None:
    """The liquid of a liquid's vapour is the liquid, and its vapour condenses where it boils."""
    y = vapour_mole_fraction(x, p)

    assert liquid_mole_fraction(y, p) == pytest.approx(x, abs=1e-9)
    assert dew_temperature_c(y, p) == pytest.approx(bubble_temperature_c(x, p), abs=1e-6)


@given(fractions, fractions, pressures)
def test_a_stronger_liquid_gives_a_stronger_vapour(a: float, b: float, p: float) -> None:
    """The vapour's strength rises with the liquid's throughout."""
    weaker, stronger = sorted((a, b))

    assert vapour_mole_fraction(weaker, p) <= vapour_mole_fraction(stronger, p) + 1e-12


@given(st.floats(1e-6, 0.999), pressures)
def test_no_vapour_passes_the_azeotrope(x: float, p: float) -> None:
    """Below the azeotrope the vapour is stronger than the liquid but not than the azeotrope; above, weaker."""
    limit, y = azeotrope(p).mole_fraction, vapour_mole_fraction(x, p)

    assert (x - 1e-9 <= y <= limit + 1e-9) if x <= limit else (limit - 1e-9 <= y <= x + 1e-9)


def test_one_stage_is_one_step_of_the_handbook() -> None:
    """From the liquid of a row to its vapour is one ideal stage (Perry's handbook, 4th edition, p. 13-5)."""
    for x, y in [(0.0966, 0.4375), (0.1661, 0.5089), (0.5079, 0.6564)]:
        assert ideal_stages(strength_from_mole_fraction(x), strength_from_mole_fraction(y)) == pytest.approx(
            1.0,
            abs=0.07,  # 0.01 mole fraction is 0.07 of the last step
        )


@given(st.floats(5.0, 30.0), st.floats(50.0, 96.5), st.floats(0.1, 5.0))
def test_more_strength_takes_more_stages(charge: float, distillate: float, weaker: float) -> None:
    """A weaker charge, or a stronger distillate, never takes fewer stages."""
    stages = ideal_stages(charge, distillate)

    assert ideal_stages(charge - weaker / 2.0, distillate) >= stages
    assert ideal_stages(charge, distillate - weaker) <= stages


def test_a_distillate_no_stronger_than_the_charge_takes_none() -> None:
    """Nothing needs to be enriched."""
    assert ideal_stages(40.0, 40.0) == 0.0
    assert ideal_stages(40.0, 30.0) == 0.0


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: ideal_stages(10.0, 97.4), r"distillate is 97\.4 % vol; expected 0 to 97\.2"),
        (lambda: bubble_temperature_c(1.2, 101.0), r"mole fraction is 1\.2 mol/mol; expected 0 to 1"),
        (lambda: bubble_temperature_c(0.2, 1013.0), r"pressure is 1013 kPa; expected 50 to 200 kPa"),
        (lambda: azeotrope(float("nan")), r"pressure is not a number"),
    ],
)
def test_what_cannot_be_is_named_with_its_range(call: object, message: str) -> None:
    """The error says which value and which range."""
    with pytest.raises(ValueError, match=message):
        call()


def test_columns_are_the_single_values_and_bad_rows_are_marked() -> None:
    """Each row equals its own call; a row that cannot be is NaN alone."""
    x, p = np.array([0.05, 1.2, 0.3, 0.3]), np.array([98.0, 98.0, 101.0, 900.0])

    for function in (bubble_temperature_c, vapour_mole_fraction, liquid_mole_fraction, dew_temperature_c):
        found = function(x, p)
        assert np.isnan(found).tolist() == [False, True, False, True]
        assert found[2] == pytest.approx(function(0.3, 101.0), abs=1e-9)
    stages = ideal_stages([10.0, 10.0, 10.0], [60.0, 98.0, 80.0])
    assert np.isnan(stages).tolist() == [False, True, False]
    assert stages[2] == pytest.approx(ideal_stages(10.0, 80.0))


def test_activities_are_those_of_the_equation_as_printed() -> None:
    """NRTL for two liquids in its textbook form, with the parameters that the module documents.

    ln g1 = x2^2 (t21 (G21 / (x1 + x2 G21))^2 + t12 G12 / (x2 + x1 G12)^2), and with 1 and 2 changed for the other
    (Renon and Prausnitz, AIChE Journal 14 (1968) 135); t = A + B/T, G = exp(-0.4933 t).
    """
    t12, t21 = -0.0186 + 98.41 / 353.15, 2.1440 - 242.5 / 353.15
    g12, g21 = np.exp(-0.4933 * t12), np.exp(-0.4933 * t21)
    for x1 in (0.0, 0.1, 0.5, 0.9, 1.0):
        x2 = 1.0 - x1
        ethanol = x2**2 * (t21 * (g21 / (x1 + x2 * g21)) ** 2 + t12 * g12 / (x2 + x1 * g12) ** 2)
        water = x1**2 * (t12 * (g12 / (x2 + x1 * g12)) ** 2 + t21 * g21 / (x1 + x2 * g21) ** 2)

        found = vapour._activity_coefficients(np.array(x1), np.array(80.0))

        assert found == (pytest.approx(np.exp(ethanol)), pytest.approx(np.exp(water)))


def test_boiling_is_found_in_few_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    """Newton on the logarithm of the pressure is nearly straight: from its start five steps reach 1e-10 K anywhere."""
    calls = []
    whole = vapour._partial_pressures
    monkeypatch.setattr(vapour, "_partial_pressures", lambda x, t: calls.append(1) or whole(x, t))

    bubble_temperature_c(np.linspace(0.0, 1.0, 101)[:, np.newaxis], np.linspace(50.0, 200.0, 31))

    assert len(calls) <= 2 * 5  # two a step: there, and a little warmer


def test_the_strongest_that_can_be_asked_for_lies_a_hundredth_below_the_azeotrope() -> None:
    """At it the steps have no height; 0.02 % vol below it they can be counted."""
    highest = highest_strength_pct_vol(101.325)

    assert ideal_stages(50.0, highest - 0.02) > ideal_stages(50.0, highest - 0.2)
    with pytest.raises(ValueError, match=r"strength of the distillate is .*; expected 0 to 97\.\d+ % vol"):
        ideal_stages(50.0, highest - 0.005)


def test_part_of_a_stage_is_its_part_of_the_step() -> None:
    """Half of the step in mole fraction is half a stage, and one stage and half of the next are one and a half."""
    x = mole_fraction_from_strength(10.0)
    y = vapour_mole_fraction(x)
    z = vapour_mole_fraction(y)

    half, more = (strength_from_mole_fraction(goal) for goal in ((x + y) / 2.0, (y + z) / 2.0))

    assert ideal_stages(10.0, half) == pytest.approx(0.5, abs=1e-6)
    assert ideal_stages(10.0, more) == pytest.approx(1.5, abs=1e-6)
    assert ideal_stages([10.0, 60.0, np.nan], [more, 50.0, 50.0]).tolist() == [
        pytest.approx(1.5, abs=1e-6),
        0.0,
        pytest.approx(np.nan, nan_ok=True),
    ]


@given(st.floats(50.0, 200.0))
def test_the_azeotrope_boils_unchanged(p: float) -> None:
    """Its vapour is as it is, at its boiling temperature, which is the lowest of all mixtures at that pressure."""
    found = azeotrope(p)

    assert vapour_mole_fraction(found.mole_fraction, p) == pytest.approx(found.mole_fraction, abs=1e-9)
    assert bubble_temperature_c(found.mole_fraction, p) == pytest.approx(found.temperature_c, abs=1e-9)
    assert (bubble_temperature_c(np.linspace(0.0, 1.0, 101), p) >= found.temperature_c - 1e-9).all()
    assert found.strength_pct_vol == pytest.approx(strength_from_mole_fraction(found.mole_fraction))
    assert highest_strength_pct_vol(p) == found.strength_pct_vol


def test_where_no_pressure_is_said_it_is_the_standard_atmosphere() -> None:
    """101.325 kPa, 760 mm of mercury."""
    assert bubble_temperature_c(0.3) == bubble_temperature_c(0.3, 101.325)
    assert dew_temperature_c(0.6) == dew_temperature_c(0.6, 101.325)
    assert liquid_mole_fraction(0.6) == liquid_mole_fraction(0.6, 101.325)
    assert azeotrope() == azeotrope(101.325)
    assert ideal_stages(10.0, 80.0) == ideal_stages(10.0, 80.0, 101.325)


def test_columns_of_pressures_have_their_azeotropes() -> None:
    """Row by row; a pressure out of range is marked."""
    found = azeotrope([60.0, 10.0, 101.325])

    assert np.isnan(found.mole_fraction).tolist() == [False, True, False]
    assert found.mole_fraction[2] == pytest.approx(azeotrope(101.325).mole_fraction)
