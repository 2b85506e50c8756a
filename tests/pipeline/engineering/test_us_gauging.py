"""The examples of the United States' gauging manual, with what the older densities make of them."""

import hypothesis.strategies as st
import numpy as np
import pytest
import r22_formula as plain
from hypothesis import given

from gaugebook.pipeline.engineering.pure_alcohol import litres_of_pure_alcohol
from gaugebook.pipeline.engineering.strength import strength_from_us_proof
from gaugebook.pipeline.engineering.us_gauging import (
    KG_PER_POUND,
    LITRES_PER_US_GALLON,
    proof_from_hydrometer,
    proof_gallons,
    proof_gallons_from_alcohol,
    proof_gallons_from_pounds,
    strength_from_proof_hydrometer,
    volume_factor_to_60f,
    water_in_100_volumes,
    wine_gallons_from_pounds,
)
from gaugebook.pipeline.engineering.us_proof import mass_fraction_from_us_proof


def test_correction_of_a_hydrometer() -> None:
    """193 at 75 °F is 189.5 proof (27 CFR 30.61)."""
    assert proof_from_hydrometer(193.0, 75.0) == pytest.approx(189.5, abs=0.0501)


def test_gauging_by_weight() -> None:
    """81,000 lb of 190 proof are 11,921.6 wine gallons and 22,650.8 proof gallons (27 CFR 30.64).

    The manual multiplies by factors of five decimals from older densities: 5 parts in 100,000.
    """
    assert wine_gallons_from_pounds(81_000.0, 190.0) == pytest.approx(11_921.6, rel=5e-5)
    assert proof_gallons_from_pounds(81_000.0, 190.0) == pytest.approx(22_650.8, rel=6e-5)


def test_reduction_by_the_table_of_parts() -> None:
    """100 gallons of 112 proof to 100 proof take 12.42 gallons of water, by Table 6 (27 CFR 30.66)."""
    gallons = 100.0 * 112.0 / 100.0
    water = gallons * water_in_100_volumes(100.0) / 100.0 - water_in_100_volumes(112.0)

    assert water == pytest.approx(12.42, abs=0.02)


def test_reduction_from_191_to_188() -> None:
    """Unrounded 1.88 gallons in 100; the manual rounds midway and prints 1.84 (27 CFR 30.66)."""
    water = 100.0 * 191.0 / 188.0 * water_in_100_volumes(188.0) / 100.0 - water_in_100_volumes(191.0)

    assert water == pytest.approx(1.884, abs=0.005)


@given(st.floats(0.0, 200.0))
def test_60f_is_where_nothing_is_corrected(proof: float) -> None:
    """At 60 °F a hydrometer reads true and a volume stays."""
    assert volume_factor_to_60f(proof, 60.0) == pytest.approx(1.0, abs=1e-12)
    assert proof_from_hydrometer(proof, 60.0) == pytest.approx(proof, abs=1e-6)


def test_proof_gallons_and_litres_of_alcohol_agree() -> None:
    """A gallon of 100 proof at 60 °F is one proof gallon by way of its litres of pure alcohol at 20 °C, too."""
    gallon_l = 3.785411784 / volume_factor_to_60f(100.0, 68.0)  # its volume at 20 °C

    alcohol = litres_of_pure_alcohol(gallon_l, strength_from_us_proof(100.0))

    assert proof_gallons_from_alcohol(alcohol) == pytest.approx(1.0, abs=1e-9)
    assert proof_gallons(1.0, 100.0) == 1.0


def test_what_cannot_be_is_named_or_marked() -> None:
    """A temperature is told in °F; a bad row is NaN alone."""
    with pytest.raises(ValueError, match=r"temperature is 300 °F; expected -4 to 104 °F"):
        proof_from_hydrometer(100.0, 300.0)
    assert np.isnan(wine_gallons_from_pounds([1.0, -1.0, 1.0], [190.0, 190.0, 201.0])).tolist() == [False, True, True]


def test_a_pound_and_a_gallon_are_those_of_the_agreements() -> None:
    """231 cubic inches of 2.54 cm (27 CFR 30.11) and 0.45359237 kg (international yard and pound agreement, 1959)."""
    assert pytest.approx(231 * 2.54**3 / 1000.0, rel=1e-12) == LITRES_PER_US_GALLON
    assert KG_PER_POUND == 0.45359237


@pytest.mark.parametrize(("temperature_f", "glass"), [(40.0, 1.0002777), (100.0, 0.9994444)])
def test_a_proof_hydrometer_s_glass_is_counted_from_60_f(temperature_f: float, glass: float) -> None:
    """25e-6 per kelvin, of which 20 °F are 11.11 and 40 °F 22.22; densities of OIML R 22, the formula term by term."""
    t, sixty = (temperature_f - 32.0) / 1.8, 140.0 / 9.0
    ethanol = plain.density(1.0, sixty)

    def proof(w: float) -> float:
        return 200.0 * w * plain.density(w, sixty) / ethanol

    w = plain.solve(lambda w: proof(w) - 120.0)  # what reads 120 at 60 °F
    expected = proof(plain.mass_fraction_of_density(plain.density(w, sixty) * glass, t))

    assert proof_from_hydrometer(120.0, temperature_f) == pytest.approx(expected, abs=1e-3)


def test_a_hydrometer_s_reading_is_a_strength_at_20_c() -> None:
    """193 at 75 °F is 189.5 proof (27 CFR 30.61); at 60 °F the reading is the proof; what cannot be is NaN."""
    for reading, temperature_f, proof in ((193.0, 75.0, 189.5), (100.0, 60.0, 100.0), (154.0, 60.0, 154.0)):
        strength = strength_from_proof_hydrometer(reading, (temperature_f - 32.0) / 1.8)
        assert strength == pytest.approx(strength_from_us_proof(proof), abs=0.03)
    assert np.isnan(strength_from_proof_hydrometer([100.0, 201.0], [20.0, 20.0])).tolist() == [False, True]


def test_alcohol_by_volume_and_proof_gallons_by_weight_agree() -> None:
    """100 lb of 120 proof: gallons by their weight times 1.2; and a litre of alcohol is 0.5258 of a proof gallon.

    2 x 0.264172 x rho(20 °C) / rho(60 °F) of ethanol, 789.24 / 793.02 kg/m3 (OIML R 22, general formula).
    """
    assert proof_gallons_from_pounds(100.0, 120.0) == pytest.approx(1.2 * wine_gallons_from_pounds(100.0, 120.0))
    rho_60f = plain.density(1.0, 140.0 / 9.0)
    assert proof_gallons_from_alcohol(1.0) == pytest.approx(2.0 / 3.785411784 * 789.23912 / rho_60f, rel=1e-7)


@given(st.floats(1.0, 199.0), st.floats(32.0, 104.0))
def test_the_factor_to_60_f_is_a_ratio_of_densities(proof: float, temperature_f: float) -> None:
    """What is colder than 60 °F grows on the way, what is warmer shrinks; weak ones turn near water's 39 °F."""
    factor = volume_factor_to_60f(proof, temperature_f)

    if proof > 40.0:
        assert (factor > 1.0) == (temperature_f < 60.0) or factor == pytest.approx(1.0, abs=1e-9)
    w = mass_fraction_from_us_proof(proof)
    plain_factor = plain.density(w, (temperature_f - 32.0) / 1.8) / plain.density(w, 140.0 / 9.0)
    assert factor == pytest.approx(plain_factor, rel=1e-9)
