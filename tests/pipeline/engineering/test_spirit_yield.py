"""Predicted spirit yield of malt."""

import numpy as np
import pytest

from gaugebook.pipeline.engineering.extract import theoretical_alcohol_l
from gaugebook.pipeline.engineering.spirit_yield import fermentability_pct, predicted_spirit_yield_l_per_t


def test_malted_barley_yields_about_410() -> None:
    """Good malt, 78 % extract and 86.5 % fermentable, gives about 410 L a tonne (common practice)."""
    assert predicted_spirit_yield_l_per_t(78.0, 86.5) == pytest.approx(410.0, abs=5.0)


def test_the_factor_is_below_the_theory() -> None:
    """6.06 L per tonne and per cent is 88.8 % of what maltose gives (Bringhurst et al., 1996)."""
    assert predicted_spirit_yield_l_per_t(1.0, 100.0) / theoretical_alcohol_l(10.0) == pytest.approx(0.888, abs=0.001)


def test_a_wort_that_ends_at_water_is_814() -> None:
    """A final gravity of 1.000 is a fermentability of 81.4 % (Bringhurst et al., 1996)."""
    assert fermentability_pct(1.055, 1.000) == pytest.approx(81.4)


def test_a_final_gravity_above_the_original_is_refused() -> None:
    """Fermentation does not make a wort denser."""
    with pytest.raises(ValueError, match=r"final gravity is 1\.07 .*; expected 0\.98 to 1\.06"):
        fermentability_pct(1.06, 1.07)
    assert np.isnan(fermentability_pct([1.06, 1.06], [1.07, 1.0])).tolist() == [True, False]


def test_a_malt_worked_by_hand() -> None:
    """80 % extract, 85 % fermentable: 68 % times 6.06 is 412.08 L a tonne (Bringhurst et al., 1996)."""
    assert predicted_spirit_yield_l_per_t(80.0, 85.0) == pytest.approx(412.08)
    assert fermentability_pct(1.060, 0.998) == pytest.approx(81.4 * 62.0 / 60.0)
