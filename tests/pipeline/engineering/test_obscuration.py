"""Apparent and true strength."""

import hypothesis.strategies as st
import numpy as np
import pytest
import r22_formula
from hypothesis import given
from reference import rows

from gaugebook.pipeline.engineering.ethanol_water import density
from gaugebook.pipeline.engineering.obscuration import (
    EXTRACT_VOLUME_ML_PER_G,
    apparent_strength,
    density_with_extract,
    expected_obscuration_pct_vol,
    strength_on_record,
    true_strength,
    u_true_strength,
)
from gaugebook.pipeline.engineering.strength import mass_fraction_from_volume_strength
from gaugebook.pipeline.engineering.uncertainty import u_strength_from_density


def test_a_true_strength_overrides_an_apparent_one() -> None:
    """The distillate's strength counts and the difference is the obscuration."""
    record = strength_on_record(39.2, 40.0)

    assert record.strength_pct_vol == 40.0
    assert record.obscuration_pct_vol == pytest.approx(0.8)
    assert record.is_true is True


def test_without_a_true_strength_the_obscuration_is_unknown() -> None:
    """The apparent strength stands in and says that it does; unknown is not none."""
    record = strength_on_record(39.2)

    assert record.strength_pct_vol == 39.2
    assert np.isnan(record.obscuration_pct_vol)
    assert record.is_true is False


def test_columns_are_decided_row_by_row() -> None:
    """Each row takes its own true strength, or its apparent one, or is unknown."""
    record = strength_on_record([39.2, 39.2, np.nan, np.nan, 39.2], [40.0, np.nan, 41.0, np.nan, 140.0])

    np.testing.assert_array_equal(record.strength_pct_vol, [40.0, 39.2, 41.0, np.nan, np.nan])
    assert record.is_true.tolist() == [True, False, True, False, True]


def test_a_single_record_without_any_strength_is_refused() -> None:
    """There is nothing to reckon with."""
    with pytest.raises(ValueError, match="strength is not a number"):
        strength_on_record(np.nan)


def test_the_volume_of_sugar_is_that_of_the_density_table() -> None:
    """Sucrose of 10 and 20 % mass takes up 0.618 mL a gram to 0.005 (density table, source in the file)."""
    table = {float(r["sucrose_pct_mass"]): float(r["density_kg_m3"]) for r in rows("sucrose_density_20c.csv")}
    for mass_pct in (10.0, 20.0):
        grams = mass_pct / 100.0 * table[mass_pct]  # in a litre
        volume_ml = 1000.0 - (table[mass_pct] - grams) / table[0.0] * 1000.0
        assert volume_ml / grams == pytest.approx(EXTRACT_VOLUME_ML_PER_G, abs=0.005)


@given(st.floats(15.0, 70.0), st.floats(0.1, 20.0))
def test_extract_hides_alcohol(true: float, extract: float) -> None:
    """The apparent strength is below the true one, and more extract hides more."""
    assert apparent_strength(true, extract) < true
    assert expected_obscuration_pct_vol(true, extract) < expected_obscuration_pct_vol(true, 1.5 * extract)


def test_without_extract_nothing_is_hidden() -> None:
    """Apparent is true when only ethanol and water are there."""
    assert expected_obscuration_pct_vol(40.0, 0.0) == pytest.approx(0.0, abs=1e-9)


def test_a_syrup_is_no_spirit() -> None:
    """Denser than water: refused alone, marked in a column."""
    with pytest.raises(ValueError, match="no mixture"):
        apparent_strength(20.0, 300.0)
    assert np.isnan(apparent_strength([20.0, 20.0], [300.0, 5.0])).tolist() == [True, False]


@pytest.mark.parametrize("apparent_proof", [80.0, 90.0, 98.0])
def test_true_strength_agrees_with_the_evaporation_method(apparent_proof: float) -> None:
    """0.125 g left of 25 mL hide two degrees of proof, from 80 to 100 proof (worked example of 27 CFR 30.32(b)): the
    estimate from 5 g/L agrees within twice its standard uncertainty, no wider than half of what is hidden."""
    apparent, extract = apparent_proof / 2.0, 0.125 * 4.0 * 10.0
    rho = density(mass_fraction_from_volume_strength(apparent), 20.0)

    hidden = true_strength(rho, 20.0, extract) - apparent
    u = u_true_strength(rho, 0.0, 20.0, 0.0, extract, 0.0)

    assert hidden == pytest.approx(2.0 / 2.0, abs=2 * u)
    assert 2 * u < 0.5 * hidden


@given(st.floats(15.0, 70.0), st.floats(0.0, 60.0), st.floats(-5.0, 35.0))
def test_true_strength_undoes_what_extract_hides(true: float, extract: float, t: float) -> None:
    """The density of spirit with extract gives the strength back, at any temperature (additive volumes)."""
    free = 1.0 - extract * EXTRACT_VOLUME_ML_PER_G / 1000.0
    spirit = density(mass_fraction_from_volume_strength(true / free), t)

    assert true_strength(spirit * free + extract, t, extract) == pytest.approx(true, abs=1e-6)


def test_a_liqueur_denser_than_water_has_a_strength() -> None:
    """24 % vol with 300 g/L of sugar lies at about 1080 kg/m3; no mixture of ethanol and water does."""
    free = 1.0 - 300.0 * EXTRACT_VOLUME_ML_PER_G / 1000.0
    rho = density(mass_fraction_from_volume_strength(24.0 / free), 20.0) * free + 300.0

    assert rho > 1000.0
    assert true_strength(rho, 20.0, 300.0) == pytest.approx(24.0)


def strength_between_extract(density_kg_m3: float, extract_g_l: float, volume_ml_per_g: float) -> float:
    """Strength [% vol] at 20 °C of a liquid with extract, by the R 22 formula for what lies between the extract."""
    free = 1 - extract_g_l * volume_ml_per_g / 1000
    return r22_formula.strength(r22_formula.mass_fraction_of_density((density_kg_m3 - extract_g_l) / free, 20.0)) * free


def test_the_uncertainty_of_an_estimate_grows_with_the_extract() -> None:
    """Without extract it is that of the density; with 20 g/L the extract's own volume leads (GUM, equation 10)."""
    none, some = (u_true_strength(948.05, 0.1, 20.0, 0.3, e, 0.0) for e in (0.0, 20.0))

    assert none == pytest.approx(u_strength_from_density(948.05, 0.1, 20.0, 0.3))
    ends = [strength_between_extract(948.05, 20.0, EXTRACT_VOLUME_ML_PER_G + side) for side in (-0.05, 0.05)]
    assert some == pytest.approx(np.hypot(none, (ends[0] - ends[1]) / 2), rel=0.01)


@pytest.mark.parametrize(
    ("sucrose_pct_mass", "density_g_cm3"),
    # Aqueous sucrose at 20 °C, relative to water at 4 °C: CRC Handbook, "Concentrative properties" (from memory)
    [(5.0, 1.0178), (10.0, 1.0381), (20.0, 1.0810), (40.0, 1.1764)],
)
def test_density_of_sugar_in_water(sucrose_pct_mass: float, density_g_cm3: float) -> None:
    """Without alcohol the density is that of sugar solutions, to 0.2 % up to 470 g/L; volumes only nearly add up."""
    sucrose_g_l = sucrose_pct_mass / 100 * density_g_cm3 * 1000

    assert density_with_extract(0.0, sucrose_g_l) == pytest.approx(density_g_cm3 * 1000, rel=2e-3)


@given(st.floats(0.0, 60.0), st.floats(0.0, 300.0), st.floats(0.1, 100.0))
def test_extract_makes_a_spirit_denser(true_pct_vol: float, extract_g_l: float, more_g_l: float) -> None:
    """More dissolved in the same strength weighs more, and without any it is the density of ethanol and water."""
    without = density_with_extract(true_pct_vol, 0.0)

    assert without == pytest.approx(density(mass_fraction_from_volume_strength(true_pct_vol), 20.0))
    assert density_with_extract(true_pct_vol, extract_g_l + more_g_l) > density_with_extract(true_pct_vol, extract_g_l)
