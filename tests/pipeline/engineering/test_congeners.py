"""Congeners per litre of sample and per hectolitre of pure alcohol."""

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given

from gaugebook.pipeline.engineering.congeners import g_per_hl_pure_alcohol, mg_per_l_sample


def test_the_methanol_limit_of_vodka_in_the_bottle() -> None:
    """10 g/hL pure alcohol is 40 mg/L at 40 % vol (Regulation (EU) 2019/787, category 15)."""
    assert mg_per_l_sample(10.0, 40.0) == pytest.approx(40.0)
    # by the definitions: 40 mg in a litre that holds 0.4 L of alcohol, in grams per 100 L of alcohol
    assert g_per_hl_pure_alcohol(40.0, 40.0) == pytest.approx(0.040 / 0.4 * 100.0)


@given(st.floats(0.0, 1e5), st.floats(0.5, 100.0))
def test_round_trip(concentration: float, strength: float) -> None:
    """To pure alcohol and back is the same concentration."""
    back = mg_per_l_sample(g_per_hl_pure_alcohol(concentration, strength), strength)

    assert back == pytest.approx(concentration, rel=1e-12)


def test_without_alcohol_there_is_no_such_figure() -> None:
    """At 0 % vol nothing can be related to pure alcohol."""
    with pytest.raises(ValueError, match="strength is 0 % vol"):
        g_per_hl_pure_alcohol(1.0, 0.0)
    assert np.isnan(g_per_hl_pure_alcohol([1.0, -1.0], [0.0, 40.0])).all()


def test_a_column_is_related_row_by_row() -> None:
    """500 mg/L at 50 % vol are 100 g/hL, at 40 % vol 125; 100 g/hL at 96 % vol are 960 mg/L."""
    np.testing.assert_allclose(g_per_hl_pure_alcohol([500.0, 500.0], [50.0, 40.0]), [100.0, 125.0])
    np.testing.assert_allclose(mg_per_l_sample([100.0, 0.0], 96.0), [960.0, 0.0])
