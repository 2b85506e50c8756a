"""The examples of the United States' gauging manual, with what the older densities make of them."""

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given

from gaugebook.pipeline.engineering.pure_alcohol import litres_of_pure_alcohol
from gaugebook.pipeline.engineering.strength import strength_from_us_proof
from gaugebook.pipeline.engineering.us_gauging import (
    proof_from_hydrometer,
    proof_gallons,
    proof_gallons_from_alcohol,
    proof_gallons_from_pounds,
    volume_factor_to_60f,
    water_in_100_volumes,
    wine_gallons_from_pounds,
)


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
