"""Standard uncertainty of a reduction and of a blend, from those of what was measured."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugebook.pipeline.engineering.blending import Blend, Reduction, TwoSpiritBlend, blend, blend_to_target, reduce
from gaugebook.pipeline.engineering.elements import FloatOrArray
from gaugebook.pipeline.engineering.uncertainty import propagate

_REDUCTION = ("water_l", "water_kg", "final_volume_l", "contraction_l", "alcohol_l")
_BLEND = ("volume_l", "strength_pct_vol", "alcohol_l", "contraction_l")
_TWO_SPIRITS = ("volume_a_l", "volume_b_l", "contraction_l")


def _stacked(result: Reduction | Blend | TwoSpiritBlend, fields: tuple[str, ...]) -> NDArray[np.float64]:
    return np.stack([np.asarray(getattr(result, field), dtype=float) for field in fields])


def _named(u: FloatOrArray, fields: tuple[str, ...]) -> dict[str, FloatOrArray]:
    rows = np.asarray(u)
    return {f"u_{field}": float(row) if row.ndim == 0 else row for field, row in zip(fields, rows, strict=True)}


def u_reduce(
    volume_l: ArrayLike,
    u_volume_l: ArrayLike,
    strength_pct_vol: ArrayLike,
    u_strength_pct_vol: ArrayLike,
    target_pct_vol: ArrayLike,
    temperature_c: ArrayLike = 20.0,
    u_temperature_c: ArrayLike = 0.0,
    reducing_strength_pct_vol: ArrayLike = 0.0,
    u_reducing_strength_pct_vol: ArrayLike = 0.0,
) -> dict[str, FloatOrArray]:
    """Standard uncertainties of what `reduce` gives; the target is a decision and has none.

    Parameters
    ----------
    volume_l : float or array
        Volume of the spirit at its temperature [L]
    u_volume_l : float or array
        Its standard uncertainty [L]
    strength_pct_vol : float or array
        Strength of the spirit by volume at 20 °C [% vol]
    u_strength_pct_vol : float or array
        Its standard uncertainty [% vol]
    target_pct_vol : float or array
        Strength wanted, by volume at 20 °C [% vol]
    temperature_c : float or array
        Temperature at which the volume was gauged [°C]
    u_temperature_c : float or array
        Its standard uncertainty [°C]
    reducing_strength_pct_vol : float or array
        Strength of the reducing liquid by volume at 20 °C, 0 for water [% vol]
    u_reducing_strength_pct_vol : float or array
        Its standard uncertainty [% vol]

    Returns
    -------
    dict
        u_water_l [L], u_water_kg [kg], u_final_volume_l [L], u_contraction_l [L], u_alcohol_l [L]

    Raises
    ------
    ValueError
        If an uncertainty is negative.

    Source
    ------
    JCGM 100:2008 (GUM), 5.1.2, equation (10), through `reduce`.

    Examples
    --------
    >>> round(u_reduce(100.0, 0.1, 96.0, 0.1, 40.0)["u_water_l"], 2)
    0.31
    """
    return _named(
        propagate(
            lambda *x: _stacked(reduce(*x), _REDUCTION),
            [volume_l, strength_pct_vol, target_pct_vol, temperature_c, reducing_strength_pct_vol],
            [u_volume_l, u_strength_pct_vol, 0.0, u_temperature_c, u_reducing_strength_pct_vol],
        ),
        _REDUCTION,
    )


def u_blend(
    volumes_l: list[ArrayLike],
    u_volumes_l: list[ArrayLike],
    strengths_pct_vol: list[ArrayLike],
    u_strengths_pct_vol: list[ArrayLike],
) -> dict[str, FloatOrArray]:
    """Standard uncertainties of what `blend` gives.

    Parameters
    ----------
    volumes_l : sequence of (float or array)
        Volume of each spirit at 20 °C [L]
    u_volumes_l : sequence of (float or array)
        Their standard uncertainties [L]
    strengths_pct_vol : sequence of (float or array)
        Strength of each by volume at 20 °C [% vol]
    u_strengths_pct_vol : sequence of (float or array)
        Their standard uncertainties [% vol]

    Returns
    -------
    dict
        u_volume_l [L], u_strength_pct_vol [% vol], u_alcohol_l [L], u_contraction_l [L]

    Raises
    ------
    ValueError
        If the four are not equally long or an uncertainty is negative.

    Source
    ------
    JCGM 100:2008 (GUM), 5.1.2, equation (10), through `blend`.

    Examples
    --------
    >>> made = u_blend([100.0, 50.0], [0.2, 0.2], [60.0, 40.0], [0.1, 0.1])
    >>> round(made["u_strength_pct_vol"], 3)
    0.077
    """
    n = len(volumes_l)
    return _named(
        propagate(
            lambda *x: _stacked(blend(x[:n], x[n:]), _BLEND),
            [*volumes_l, *strengths_pct_vol],
            [*u_volumes_l, *u_strengths_pct_vol],
        ),
        _BLEND,
    )


def u_blend_to_target(
    strength_a_pct_vol: ArrayLike,
    u_strength_a_pct_vol: ArrayLike,
    strength_b_pct_vol: ArrayLike,
    u_strength_b_pct_vol: ArrayLike,
    target_pct_vol: ArrayLike,
    target_volume_l: ArrayLike,
) -> dict[str, FloatOrArray]:
    """Standard uncertainties of what `blend_to_target` gives; the target is a decision and has none.

    Parameters
    ----------
    strength_a_pct_vol : float or array
        Strength of the first by volume at 20 °C [% vol]
    u_strength_a_pct_vol : float or array
        Its standard uncertainty [% vol]
    strength_b_pct_vol : float or array
        Strength of the second by volume at 20 °C, 0 for water [% vol]
    u_strength_b_pct_vol : float or array
        Its standard uncertainty [% vol]
    target_pct_vol : float or array
        Strength wanted, by volume at 20 °C [% vol]
    target_volume_l : float or array
        Volume wanted at 20 °C [L]

    Returns
    -------
    dict
        u_volume_a_l [L], u_volume_b_l [L], u_contraction_l [L]

    Raises
    ------
    ValueError
        If an uncertainty is negative.

    Source
    ------
    JCGM 100:2008 (GUM), 5.1.2, equation (10), through `blend_to_target`.

    Examples
    --------
    >>> round(u_blend_to_target(96.0, 0.1, 0.0, 0.0, 40.0, 240.0)["u_volume_a_l"], 2)
    0.1
    """
    return _named(
        propagate(
            lambda *x: _stacked(blend_to_target(*x), _TWO_SPIRITS),
            [strength_a_pct_vol, strength_b_pct_vol, target_pct_vol, target_volume_l],
            [u_strength_a_pct_vol, u_strength_b_pct_vol, 0.0, 0.0],
        ),
        _TWO_SPIRITS,
    )
