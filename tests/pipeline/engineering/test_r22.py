"""The polynomial of OIML R 22 in bulk, against the formula written term by term."""

import hypothesis.strategies as st
import numpy as np
import pytest
import r22_formula as plain
from hypothesis import given

from gaugebook.pipeline.engineering import r22

LEAST_DENSITY_STEP = 0.01  # kg/m3, the last printed digit


@given(st.floats(0.0, 1.0), st.floats(-20.0, 40.0))
def test_slopes_are_those_of_the_plain_formula(w: float, t: float) -> None:
    """Central differences of the formula term by term, in mass fraction and in temperature."""
    in_w, in_t = r22.density_slopes(np.array([w]), np.array([t]))

    assert in_w[0] == pytest.approx((plain.density(w + 1e-6, t) - plain.density(w - 1e-6, t)) / 2e-6, abs=1e-3)
    assert in_t[0] == pytest.approx((plain.density(w, t + 1e-4) - plain.density(w, t - 1e-4)) / 2e-4, abs=1e-6)


@given(st.floats(0.0, 1.0))
def test_a_concentration_has_its_mixture(w: float) -> None:
    """The mass of ethanol in a volume at 20 °C, by the plain formula, leads back to the mass fraction."""
    found = r22.mass_fraction_of_concentration(np.array([w * plain.density(w, 20.0)]))

    assert found[0] == pytest.approx(w, abs=1e-12)
    assert r22.density_at_20c(np.array([w]))[0] == pytest.approx(plain.density(w, 20.0), rel=1e-12)


def test_a_long_column_is_worked_through_to_its_end_in_its_own_shape() -> None:
    """20,001 rows by 2 of column against row: each as alone, whatever the blocks they are worked in."""
    w, t = np.linspace(0.0, 1.0, 20_001)[:, np.newaxis], np.array([10.0, 30.0])

    rho = r22.in_blocks(r22.density, w, t)

    assert rho.shape == (20_001, 2)
    for i in (0, 8191, 8192, 16_384, 20_000):
        assert rho[i] == pytest.approx([plain.density(w[i, 0], x) for x in t], rel=1e-12)
    assert r22.in_blocks(r22.density, 0.5, 20.0).shape == ()


def test_steps_begin_so_near_that_three_are_enough() -> None:
    """Newton's start from the tables: within 0.0006 of mass fraction everywhere, so two steps and one that confirms.

    That is what makes long columns quick; in the middle of the scale, where densities bend least, it is nearer still.
    """
    t = np.linspace(-20.0, 40.0, 61)
    w = np.linspace(0.0, 1.0, 201)[:, np.newaxis] * np.ones_like(t)
    rho = r22.in_blocks(r22.density, w, t)
    reduced = (rho[0] - rho) / (rho[0] - rho[-1])
    there = (t >= 0.0) | (w > 0.4)  # liquid, and beyond the maximum of water

    start = r22._start(np.clip(reduced, 0.0, 1.0).ravel(), np.broadcast_to(t, w.shape).ravel()).reshape(w.shape)

    assert np.abs(start - w)[there & (w > 0.1)].max() < 6e-4
    ethanol = np.linspace(0.0, r22.density_at_20c(np.array([1.0]))[0], 501)
    begin = np.interp(ethanol, *r22._concentration_starts())
    assert np.abs(begin - r22.mass_fraction_of_concentration(ethanol)).max() < 5e-7


def test_what_is_missing_stays_missing_and_disturbs_nothing() -> None:
    """A row without density or temperature, or of no mixture, is NaN; its neighbour is what it is alone."""
    found = r22.mass_fraction(
        np.array([np.nan, 913.77, 913.77, 1050.0, 700.0]), np.array([20.0, np.nan, 20.0, 20.0, 20.0])
    )

    assert np.isnan(found).tolist() == [True, True, False, True, True]
    assert found[2] == pytest.approx(0.5, abs=2e-5)  # OIML R 22, Table I


@pytest.mark.parametrize(("w", "sign"), [(0.0, 1.0), (1.0, -1.0)])
def test_a_last_digit_beyond_water_or_ethanol_is_theirs(w: float, sign: float) -> None:
    """Tables print 0.01 kg/m3: what is nearer than that beyond an end is the end, what is further is nothing."""
    end = plain.density(w, 20.0)

    within, beyond = (end + sign * part * LEAST_DENSITY_STEP for part in (0.99, 1.2))

    assert r22.mass_fraction(np.array([within, beyond]), np.array([20.0, 20.0])).tolist() == [
        w,
        pytest.approx(np.nan, nan_ok=True),
    ]
