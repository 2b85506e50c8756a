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


def test_a_strength_on_record_is_a_strength() -> None:
    """From water to ethanol, true or apparent; anything beyond is refused."""
    assert strength_on_record(np.nan, 0.0).strength_pct_vol == 0.0
    assert strength_on_record(100.0).strength_pct_vol == 100.0
    assert strength_on_record(100.0, 0.5).obscuration_pct_vol == -99.5  # true less apparent
    for apparent, true in [(100.1, np.nan), (40.0, 100.1), (40.0, -0.1)]:
        with pytest.raises(ValueError, match="expected 0 to 100 % vol"):
            strength_on_record(apparent, true)


@pytest.mark.parametrize(("true", "extract"), [(40.0, 10.0), (17.5, 200.0), (65.0, 1.5)])
def test_the_apparent_strength_is_that_of_the_density_with_extract(true: float, extract: float) -> None:
    """A litre holds extract at 0.618 mL a gram; the rest is spirit by the R 22 formula written term by term."""
    free = 1.0 - extract * 0.618 / 1000.0
    rho = r22_formula.density(r22_formula.mass_fraction_of_strength(true / free), 20.0) * free + extract
    if rho > 998.0:
        assert np.isnan(apparent_strength([true], extract)).all()
        return

    shown = r22_formula.strength(r22_formula.mass_fraction_of_density(rho, 20.0))

    assert apparent_strength(true, extract) == pytest.approx(shown, abs=1e-6)
    assert expected_obscuration_pct_vol(true, extract) == pytest.approx(true - shown, abs=1e-6)


def test_each_error_enters_an_estimate_by_its_own_slope() -> None:
    """Density, temperature and extract moved by their uncertainties, one at a time, with the formula term by term."""

    def true(rho: float, t: float, extract: float, volume: float) -> float:
        free = 1 - extract * volume / 1000
        return r22_formula.strength(r22_formula.mass_fraction_of_density((rho - extract) / free, t)) * free

    at, us = [960.0, 22.0, 30.0, 0.618], [0.2, 0.5, 0.8, 0.05]
    slopes = []
    for i, u in enumerate(us):
        above, below = (true(*[v + side * u * (j == i) for j, v in enumerate(at)]) for side in (1, -1))
        slopes.append((above - below) / 2)
    found = u_true_strength(960.0, 0.2, 22.0, 0.5, 30.0, 0.8)

    assert found == pytest.approx(np.linalg.norm(slopes), rel=2e-3)


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
