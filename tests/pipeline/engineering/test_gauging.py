"""Volumes at 20 °C, weighings in air and dips."""

import hypothesis.strategies as st
import numpy as np
import pytest
import r22_formula as plain
from hypothesis import given

from gaugebook.pipeline.engineering.gauging import (
    STAINLESS_STEEL_EXPANSION_PER_K,
    STEEL_EXPANSION_PER_K,
    alcohol_from_mass,
    mass_from_volume,
    mass_from_weighing,
    volume_at_20c,
    volume_at_temperature,
    volume_from_dip,
    volume_from_mass,
)
from gaugebook.pipeline.engineering.strength import mass_fraction_from_volume_strength

volumes, strengths, temperatures = st.floats(0.1, 1e5), st.floats(0.0, 100.0), st.floats(0.0, 40.0)


@given(volumes, temperatures, strengths, st.sampled_from([0.0, STEEL_EXPANSION_PER_K]))
def test_volume_round_trip(volume_l: float, t: float, q: float, expansion: float) -> None:
    """Down to 20 °C and back to the gauge is the same reading."""
    at_t = volume_at_temperature(volume_l, t, q, expansion)

    assert volume_at_20c(at_t, t, q, expansion) == pytest.approx(volume_l, rel=1e-12)


@pytest.mark.parametrize(("strength", "per_k"), [(60.0, 0.09), (96.0, 0.109), (40.0, 0.07)])
def test_spirit_shrinks_by_a_tenth_of_a_per_cent_per_kelvin(strength: float, per_k: float) -> None:
    """0.07 to 0.11 % a kelvin between 20 and 30 °C (R 22 densities; handbooks say 0.07 to 0.10)."""
    found = 100.0 * (1.0 - volume_at_20c(1.0, 30.0, strength)) / 10.0

    assert found == pytest.approx(per_k, abs=0.012)


def test_a_steel_vessel_holds_more_when_warm() -> None:
    """Table XI of OIML R 22 counts steel at 36e-6 per kelvin: 0.036 % in ten kelvins."""
    free = volume_at_20c(1000.0, 30.0, 60.0)

    assert volume_at_20c(1000.0, 30.0, 60.0, STEEL_EXPANSION_PER_K) / free == pytest.approx(1.00036, abs=1e-9)


def test_weighing_in_air_is_the_table_of_density_in_air() -> None:
    """1000 L of 40 % vol weigh 946.99 kg in air at 20 °C (SI 2023/806, schedule 2)."""
    assert mass_from_volume(1000.0, 40.0) == pytest.approx(946.99, abs=0.005)


@given(volumes, strengths)
def test_mass_and_volume_round_trip(volume_l: float, q: float) -> None:
    """Volume to balance and back is the same volume."""
    assert volume_from_mass(mass_from_volume(volume_l, q), q) == pytest.approx(volume_l, rel=1e-12)


@given(st.floats(5.0, 100.0))
def test_alcohol_in_100_kg_follows_table_xii(q: float) -> None:
    """Ethanol in 100 kg as Table XII of OIML R 22 has it, to its first order in the air's density."""
    p, rho = mass_fraction_from_volume_strength(q), 1000.0 * mass_from_volume(1.0, q)
    table = 100.0 * p * 1000.0 / 789.23912 * (1.0 - 1.2 * (1.0 / 8000.0 - 1.0 / rho))

    assert alcohol_from_mass(100.0, q) == pytest.approx(table, rel=4e-6)


def test_the_lift_of_the_air_is_a_tenth_of_a_per_cent() -> None:
    """A balance in air shows about 0.11 % too little (OIML R 22, Table XII)."""
    assert 100.0 * (mass_from_weighing(100.0, 40.0) / 100.0 - 1.0) == pytest.approx(0.112, abs=0.002)


def test_a_dip_between_two_rows_is_interpolated() -> None:
    """A quarter of the way between two dips is a quarter of the way between their volumes (made up)."""
    assert volume_from_dip(125.0, [100.0, 200.0, 300.0], [80.0, 180.0, 290.0]) == 105.0


@pytest.mark.parametrize(
    ("dip", "dips", "message"),
    [
        (301.0, [0.0, 100.0, 300.0], r"dip is 301 mm; expected 0 to 300 mm"),
        (10.0, [0.0, 0.0, 300.0], r"does not rise"),
        (10.0, [0.0, 300.0], r"2 dips and 3 volumes"),
    ],
)
def test_a_dip_outside_or_a_table_that_falls_is_refused(dip: float, dips: list[float], message: str) -> None:
    """The error says what was expected."""
    with pytest.raises(ValueError, match=message):
        volume_from_dip(dip, dips, [0.0, 100.0, 290.0])


def test_bad_rows_are_marked() -> None:
    """In columns only the bad rows become NaN."""
    found = volume_at_20c([100.0, -1.0, 100.0, 100.0], [20.0, 20.0, 80.0, -10.0], [40.0, 40.0, 40.0, 5.0])

    assert found[0] == pytest.approx(100.0)
    assert np.isnan(found[1:]).all()
    assert np.isnan(volume_from_dip([-1.0, 400.0], [0.0, 300.0], [0.0, 290.0])).all()


def test_a_vessel_may_have_a_flat_stretch_but_never_lose() -> None:
    """A false bottom holds nothing more for a while; a table whose volume falls, or of one row, is none."""
    assert volume_from_dip(125.0, [100.0, 150.0, 200.0], [50.0, 50.0, 90.0]) == 50.0
    assert volume_from_dip([0.5, 1.25], [0.0, 0.5, 1.5], [0.0, 1.0, 5.0]).tolist() == [1.0, 4.0]  # of half a millimetre
    for dips, volumes_l, message in [
        ([0.0, 100.0, 200.0], [0.0, 60.0, 50.0], r"does not rise"),
        ([0.0], [0.0], r"1 dips and 1 volumes; expected equally many, at least 2"),
        ([[0.0, 1.0]], [[0.0, 1.0]], r"2 dips and 2 volumes"),
    ]:
        with pytest.raises(ValueError, match=message):
            volume_from_dip(0.0, dips, volumes_l)


@pytest.mark.parametrize("t", [0.0, 20.0, 30.0])
def test_the_air_lifts_by_the_density_of_the_day(t: float) -> None:
    """The lift is 1.2 (1/rho - 1/8000) of the mass (OIML R 22, Table XII), rho being that at the temperature."""
    mass = mass_from_weighing(100.0, 40.0, t)

    rho_t = plain.density(plain.mass_fraction_of_strength(40.0), t)
    assert mass - 100.0 == pytest.approx(100.0 * 1.2 * (1.0 / rho_t - 1.0 / 8000.0), rel=1.5e-3)


def test_a_weighing_at_another_temperature_changes_the_lift_alone() -> None:
    """The same true mass at 0 and at 30 °C is the same volume at 20 °C and the same alcohol."""
    at_0, at_30 = (mass_from_volume(1000.0, 40.0, t) for t in (0.0, 30.0))

    rho = [plain.density(plain.mass_fraction_of_strength(40.0), t) for t in (0.0, 30.0)]
    # warmer spirit displaces more air: 1.2 kg/m3 times the difference of the volumes
    assert at_0 - at_30 == pytest.approx(948.05 * 1.2 * (1.0 / rho[1] - 1.0 / rho[0]), rel=5e-3)
    assert alcohol_from_mass(at_0, 40.0, 0.0) == pytest.approx(400.0, rel=1e-6)
    assert alcohol_from_mass(at_30, 40.0, 30.0) == pytest.approx(400.0, rel=1e-6)
    assert volume_from_mass(at_30, 40.0, 30.0) == pytest.approx(1000.0)


def test_vessels_grow_as_the_handbooks_say() -> None:
    """Steel 36e-6 per kelvin (OIML R 22, Table XI); austenitic three times 17e-6 linear (common practice)."""
    assert pytest.approx(36e-6) == STEEL_EXPANSION_PER_K
    assert pytest.approx(3 * 17e-6) == STAINLESS_STEEL_EXPANSION_PER_K
    scale = volume_at_temperature(1000.0, 30.0, 60.0, STAINLESS_STEEL_EXPANSION_PER_K)
    assert volume_at_temperature(1000.0, 30.0, 60.0) / scale == pytest.approx(1.00051, abs=1e-8)
