"""Uncertainty of reductions and blends, confirmed by drawing (JCGM 101:2008)."""

import numpy as np
import pytest

from gaugebook.pipeline.engineering.blending import blend, blend_to_target, reduce
from gaugebook.pipeline.engineering.reduction_uncertainty import u_blend, u_blend_to_target, u_reduce

DRAWS = 200_000
AGREE = 0.015


def test_drawing_confirms_a_reduction() -> None:
    """Volume, strength and temperature drawn together spread the water and the final volume as first order says."""
    rng = np.random.default_rng(101)
    made = reduce(rng.normal(100.0, 0.3, DRAWS), rng.normal(72.0, 0.2, DRAWS), 40.0, rng.normal(25.0, 0.3, DRAWS))

    u = u_reduce(100.0, 0.3, 72.0, 0.2, 40.0, 25.0, 0.3)

    for name in ("water_l", "water_kg", "final_volume_l", "contraction_l", "alcohol_l"):
        assert u[f"u_{name}"] == pytest.approx(np.std(getattr(made, name)), rel=AGREE), name


def test_drawing_confirms_a_blend() -> None:
    """Three spirits drawn together spread the blend as first order says."""
    rng = np.random.default_rng(101)
    volumes, u_volumes, strengths, u_strengths = (
        [100.0, 40.0, 15.0],
        [0.2, 0.1, 0.1],
        [60.0, 40.0, 8.0],
        [0.2, 0.1, 0.1],
    )
    made = blend(
        [rng.normal(v, u, DRAWS) for v, u in zip(volumes, u_volumes, strict=True)],
        [rng.normal(q, u, DRAWS) for q, u in zip(strengths, u_strengths, strict=True)],
    )

    found = u_blend(volumes, u_volumes, strengths, u_strengths)

    for name in ("volume_l", "strength_pct_vol", "alcohol_l", "contraction_l"):
        assert found[f"u_{name}"] == pytest.approx(np.std(getattr(made, name)), rel=AGREE), name


def test_drawing_confirms_two_spirits_to_a_target() -> None:
    """The strengths drawn together spread the volumes wanted as first order says."""
    rng = np.random.default_rng(101)
    made = blend_to_target(rng.normal(70.0, 0.1, DRAWS), rng.normal(30.0, 0.1, DRAWS), 45.0, 200.0)

    u = u_blend_to_target(70.0, 0.1, 30.0, 0.1, 45.0, 200.0)

    for name in ("volume_a_l", "volume_b_l"):
        assert u[f"u_{name}"] == pytest.approx(np.std(getattr(made, name)), rel=AGREE), name


def test_drawing_confirms_a_reduction_with_a_weaker_spirit() -> None:
    """The strength of the reducing liquid is uncertain too."""
    rng = np.random.default_rng(101)
    made = reduce(100.0, rng.normal(72.0, 0.1, DRAWS), 45.0, 20.0, rng.normal(20.0, 0.3, DRAWS))

    u = u_reduce(100.0, 0.0, 72.0, 0.1, 45.0, reducing_strength_pct_vol=20.0, u_reducing_strength_pct_vol=0.3)

    for name in ("water_l", "water_kg", "final_volume_l", "contraction_l"):
        assert u[f"u_{name}"] == pytest.approx(np.std(getattr(made, name)), rel=AGREE), name


def test_what_is_not_said_is_20_c_known_exactly_and_water() -> None:
    """0.1 L of 100 L at 20 °C carry over in proportion: 0.1 % of each of the results of `reduce`."""
    made, u = reduce(100.0, 72.0, 40.0), u_reduce(100.0, 0.1, 72.0, 0.0, 40.0)

    for name in ("water_l", "water_kg", "final_volume_l", "contraction_l", "alcohol_l"):
        assert u[f"u_{name}"] == pytest.approx(getattr(made, name) / 1000.0, rel=1e-6), name


def test_a_wanted_volume_is_a_decision() -> None:
    """Twice the volume has twice the uncertainties; the contraction's is small, as volumes a and b move oppositely."""
    one, two = (u_blend_to_target(70.0, 0.1, 30.0, 0.1, 45.0, v) for v in (200.0, 400.0))

    assert two == pytest.approx({name: 2.0 * u for name, u in one.items()})
    assert one["u_contraction_l"] < 0.1 * one["u_volume_a_l"]


def test_rows_have_their_own_uncertainties() -> None:
    """A column in, a column out, each row as alone."""
    u = u_reduce([100.0, 200.0], [0.1, 0.4], [72.0, 60.0], 0.1, 40.0)

    assert u["u_water_l"].shape == (2,)
    assert u["u_water_l"][1] == pytest.approx(u_reduce(200.0, 0.4, 60.0, 0.1, 40.0)["u_water_l"])
