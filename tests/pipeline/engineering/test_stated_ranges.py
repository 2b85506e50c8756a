"""Each argument's range is the one that its function states: the limits count, and what lies beyond is refused."""

import math
from collections.abc import Callable

import numpy as np
import pytest

from gaugebook.pipeline.engineering import (
    composition,
    congeners,
    ethanol_water,
    extract,
    gauging,
    materials,
    mixture,
    obscuration,
    pure_alcohol,
    specific_gravity,
    spirit_yield,
    strength,
    us_gauging,
    us_proof,
    vapour,
)

ANY, ABOVE_0 = math.inf, 1e-6  # what is said to be above 0 is a millionth at least


# What is varied, least and greatest value that count; the other arguments are within their own ranges (made up).
RANGES: dict[str, tuple[Callable[[float], object], float, float]] = {
    "mole from mass fraction": (composition.mole_from_mass_fraction, 0.0, 1.0),
    "mass from mole fraction": (composition.mass_from_mole_fraction, 0.0, 1.0),
    "mole fraction from strength": (composition.mole_fraction_from_strength, 0.0, 100.0),
    "strength from mole fraction": (composition.strength_from_mole_fraction, 0.0, 1.0),
    "mg/L of a congener": (lambda x: congeners.g_per_hl_pure_alcohol(x, 40.0), 0.0, ANY),
    "strength of mg/L": (lambda x: congeners.g_per_hl_pure_alcohol(1.0, x), ABOVE_0, 100.0),
    "g/hL of a congener": (lambda x: congeners.mg_per_l_sample(x, 40.0), 0.0, ANY),
    "strength of g/hL": (lambda x: congeners.mg_per_l_sample(1.0, x), 0.0, 100.0),
    "mass fraction that freezes": (ethanol_water.freezing_temperature, 0.0, 1.0),
    "temperature of the freezing line": (ethanol_water.least_liquid_mass_fraction, -20.0, 40.0),
    "mass fraction of a density": (lambda x: ethanol_water.density(x, 20.0), 0.0, 1.0),
    "temperature of a density": (lambda x: ethanol_water.density(0.6, x), -20.0, 40.0),
    "mass fraction of slopes": (lambda x: ethanol_water.density_slopes(x, 20.0), 0.0, 1.0),
    "temperature of slopes": (lambda x: ethanol_water.density_slopes(0.6, x), -20.0, 40.0),
    "density in vacuo": (ethanol_water.density_in_air, ABOVE_0, ANY),
    "density in air": (ethanol_water.density_in_vacuo, ABOVE_0, ANY),
    "temperature on ITS-90": (ethanol_water.ipts68_from_its90, -20.0, 40.0),
    "specific gravity of wort": (extract.plato_from_specific_gravity, 0.98, 1.18),
    "original extract": (lambda x: extract.real_extract(x, 2.0), 0.0, 40.0),
    "apparent extract": (lambda x: extract.real_extract(12.0, x), -6.0, 40.0),
    "original extract, apparent attenuation": (lambda x: extract.apparent_attenuation_pct(x, 0.0), ABOVE_0, 40.0),
    "apparent extract, apparent attenuation": (lambda x: extract.apparent_attenuation_pct(12.0, x), -6.0, 40.0),
    "original extract, real attenuation": (lambda x: extract.real_attenuation_pct(x, 0.0), ABOVE_0, 40.0),
    "alcohol of a wash": (lambda x: extract.original_extract(x, 4.0), 0.0, 20.0),
    "real extract of a wash": (lambda x: extract.original_extract(4.0, x), 0.0, 40.0),
    "original extract, alcohol": (lambda x: extract.alcohol_pct_mass(x, 0.0), 0.0, 40.0),
    "extract that ferments": (extract.theoretical_alcohol_l, 0.0, ANY),
    "alcohol made": (lambda x: extract.fermentation_efficiency_pct(x, 1.0), 0.0, ANY),
    "extract fermented": (lambda x: extract.fermentation_efficiency_pct(1.0, x), ABOVE_0, ANY),
    "Brix of a juice": (materials.juice_density_kg_m3, 0.0, 40.0),
    "potential alcohol of a must": (materials.sugar_of_potential_alcohol_g_l, 0.0, 30.0),
    "Brix of a must": (lambda x: materials.must_sugar_g_l(x, 0.0), 0.0, 40.0),
    "extract by Balling": (materials.alcohol_of_extract_l, 0.0, ANY),
    "volume as gauged": (lambda x: gauging.volume_at_20c(x, 20.0, 60.0), 0.0, ANY),
    "temperature of a gauge": (lambda x: gauging.volume_at_20c(1.0, x, 60.0), -20.0, 40.0),
    "strength of a gauge": (lambda x: gauging.volume_at_20c(1.0, 20.0, x), 0.0, 100.0),
    "expansion of a vessel": (lambda x: gauging.volume_at_20c(1.0, 20.0, 60.0, x), 0.0, 1e-3),
    "volume at 20 °C": (lambda x: gauging.volume_at_temperature(x, 20.0, 60.0), 0.0, ANY),
    "mass weighed": (lambda x: gauging.mass_from_weighing(x, 60.0), 0.0, ANY),
    "temperature of a weighing": (lambda x: gauging.mass_from_weighing(1.0, 60.0, x), -20.0, 40.0),
    "volume to be weighed": (lambda x: gauging.mass_from_volume(x, 60.0), 0.0, ANY),
    "dip": (lambda x: gauging.volume_from_dip(x, [100.0, 200.0, 400.0], [0.0, 50.0, 90.0]), 100.0, 400.0),
    "mass fraction of a strength": (mixture.volume_strength_from_mass_fraction, 0.0, 1.0),
    "strength of a mass fraction": (mixture.mass_fraction_from_volume_strength, 0.0, 100.0),
    # 0.01 kg/m3 beyond ethanol (789.239) and water (998.201) is taken as theirs: OIML R 22 (1975), Table IVa
    "density of a strength": (lambda x: mixture.strength_from_density(x, 20.0), 789.22913, 998.21122),
    "temperature of a strength": (lambda x: mixture.strength_from_density(880.0, x), -20.0, 40.0),
    "true strength": (lambda x: obscuration.apparent_strength(x, 0.0), 0.0, 100.0),
    "dry extract": (lambda x: obscuration.true_strength(950.0 + 0.4 * x, 20.0, x), 0.0, 500.0),
    "volume of spirit": (lambda x: pure_alcohol.litres_of_pure_alcohol(x, 40.0), 0.0, ANY),
    "strength of spirit": (lambda x: pure_alcohol.litres_of_pure_alcohol(1.0, x), 0.0, 100.0),
    "litres of pure alcohol": (lambda x: pure_alcohol.volume_of_pure_alcohol(x, 40.0), 0.0, ANY),
    "strength that holds them": (lambda x: pure_alcohol.volume_of_pure_alcohol(1.0, x), ABOVE_0, 100.0),
    "original gravity": (lambda x: spirit_yield.fermentability_pct(x, 1.0), 1.0 + 1e-6, 1.18),
    "final gravity": (lambda x: spirit_yield.fermentability_pct(1.06, x), 0.98, 1.06),
    "extract of malt": (lambda x: spirit_yield.predicted_spirit_yield_l_per_t(x, 80.0), 0.0, 100.0),
    "fermentability": (lambda x: spirit_yield.predicted_spirit_yield_l_per_t(80.0, x), 0.0, 100.0),
    "alcoholmeter reading": (lambda x: strength.strength_from_alcoholmeter(x, 20.0), 0.0, 100.0),
    "temperature of an alcoholmeter": (lambda x: strength.strength_from_alcoholmeter(60.0, x), -20.0, 40.0),
    "temperature of a float": (lambda x: strength.alcoholmeter_reading(60.0, x), -20.0, 40.0),
    "temperature of a hydrometer": (lambda x: strength.strength_from_hydrometer_density(880.0, x), -20.0, 40.0),
    "proof of a hydrometer": (lambda x: us_gauging.proof_from_hydrometer(x, 60.0), 0.0, 200.0),
    "temperature in °F": (lambda x: us_gauging.volume_factor_to_60f(120.0, x), -4.0, 104.0),
    "pounds": (lambda x: us_gauging.wine_gallons_from_pounds(x, 100.0), 0.0, ANY),
    "wine gallons": (lambda x: us_gauging.proof_gallons(x, 100.0), 0.0, ANY),
    "proof of gallons": (lambda x: us_gauging.proof_gallons(1.0, x), 0.0, 200.0),
    "alcohol in proof gallons": (us_gauging.proof_gallons_from_alcohol, 0.0, ANY),
    "proof": (us_proof.strength_from_us_proof, 0.0, 200.0),
    "strength in proof": (us_proof.us_proof_from_strength, 0.0, 100.0),
    "mole fraction that boils": (vapour.bubble_temperature_c, 0.0, 1.0),
    "pressure of boiling": (lambda x: vapour.bubble_temperature_c(0.5, x), 50.0, 200.0),
    "pressure of an azeotrope": (vapour.highest_strength_pct_vol, 50.0, 200.0),
    "charge of ideal stages": (lambda x: vapour.ideal_stages(x, 90.0), 0.01, 100.0),
}  # fmt: skip


@pytest.mark.parametrize("name", RANGES)
def test_the_limits_count_and_what_lies_beyond_is_refused(name: str) -> None:
    """A value at either limit has a result; a ten-thousandth beyond it is refused, by a message that says so."""
    call, low, high = RANGES[name]
    below = {0.0: -1e-6, ABOVE_0: 0.0}.get(low, low - 1e-4 * abs(low))

    assert np.isfinite(call(low)).all()
    with pytest.raises(ValueError, match=r"expected|no mixture"):
        call(below)
    if high == ANY:
        with pytest.raises(ValueError, match=r"expected .* or more"):
            call(high)
    else:
        assert np.isfinite(call(high)).all()
        with pytest.raises(ValueError, match=r"expected|no mixture"):
            call(high * (1.0 + 1e-4))


def test_a_specific_gravity_beyond_two_is_not_taken_for_one() -> None:
    """A reading such as 1040, in thousandths, is named as what it is; at 2 it is only that no mixture has it."""
    with pytest.raises(ValueError, match=r"specific gravity is 1040 .*; expected 0 to 2"):
        specific_gravity.strength_from_specific_gravity(1040.0)
    with pytest.raises(ValueError, match="no mixture"):
        specific_gravity.strength_from_specific_gravity(2.0)


@pytest.mark.parametrize("specific_gravity", [0.98, 1.18])
def test_the_extracts_that_have_a_gravity_are_those_of_its_range(specific_gravity: float) -> None:
    """From the °P of 0.98 to that of 1.18; a hundredth of a °P beyond either is refused."""
    plato = extract.plato_from_specific_gravity(specific_gravity)

    assert extract.specific_gravity_from_plato(plato) == pytest.approx(specific_gravity)
    with pytest.raises(ValueError, match="extract is"):
        extract.specific_gravity_from_plato(plato + (0.01 if specific_gravity > 1.0 else -0.01))
