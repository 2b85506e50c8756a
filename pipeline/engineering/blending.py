"""Reduction with water and blending of spirits, reckoned by mass.

Volumes of spirit and water do not add: the mixture is smaller than its parts. Masses and ethanol do add,
so every question goes through them. Adding water to strong spirit warms it; let a mixture come to
temperature before it is gauged. Strong spirit and its vapour are flammable: follow local codes and
licensed practice when moving and mixing it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given, in_range, refuse
from gaugebook.pipeline.engineering.ethanol_water import density
from gaugebook.pipeline.engineering.gauging import mass_from_volume, volume_at_20c
from gaugebook.pipeline.engineering.pure_alcohol import litres_of_pure_alcohol
from gaugebook.pipeline.engineering.strength import (
    mass_fraction_from_volume_strength,
    volume_strength_from_mass_fraction,
)

_ROUNDING = 1e-12  # of mass fraction: a target that equals a strength but for rounding is that strength


@dataclass(frozen=True)
class Reduction:
    """What to add to a spirit and what comes of it; volumes at 20 °C, masses true unless said otherwise.

    Where the spirit is reduced with a liquid other than water, `water_` stands for that liquid.
    """

    spirit_l: FloatOrArray
    spirit_kg: FloatOrArray
    water_l: FloatOrArray
    water_kg: FloatOrArray
    water_weighed_in_air_kg: FloatOrArray
    final_volume_l: FloatOrArray
    contraction_l: FloatOrArray
    contraction_pct: FloatOrArray
    alcohol_l: FloatOrArray


@dataclass(frozen=True)
class Blend:
    """What spirits give when put together; volumes at 20 °C."""

    volume_l: FloatOrArray
    strength_pct_vol: FloatOrArray
    mass_kg: FloatOrArray
    alcohol_l: FloatOrArray
    contraction_l: FloatOrArray
    contraction_pct: FloatOrArray


@dataclass(frozen=True)
class TwoSpiritBlend:
    """How much of two spirits makes a wanted volume and strength; volumes at 20 °C."""

    volume_a_l: FloatOrArray
    volume_b_l: FloatOrArray
    mass_a_kg: FloatOrArray
    mass_b_kg: FloatOrArray
    contraction_l: FloatOrArray
    contraction_pct: FloatOrArray


def _density_at_20c(strength_pct_vol: ArrayLike) -> np.ndarray:
    return np.asarray(density(mass_fraction_from_volume_strength(strength_pct_vol), 20.0))


def reduce(
    volume_l: ArrayLike,
    strength_pct_vol: ArrayLike,
    target_pct_vol: ArrayLike,
    temperature_c: ArrayLike = 20.0,
    reducing_strength_pct_vol: ArrayLike = 0.0,
) -> Reduction:
    """Water, or a weaker liquid, to add to a spirit to bring it down to a target strength.

    Parameters
    ----------
    volume_l : float or array
        Volume of the spirit at its temperature [L]
    strength_pct_vol : float or array
        Strength of the spirit by volume at 20 °C [% vol]
    target_pct_vol : float or array
        Strength wanted, by volume at 20 °C [% vol]
    temperature_c : float or array
        Temperature at which the volume was gauged [°C]
    reducing_strength_pct_vol : float or array
        Strength of the reducing liquid by volume at 20 °C, 0 for water [% vol]

    Returns
    -------
    Reduction
        Volumes [L] at 20 °C and masses [kg] of the parts, final volume, contraction [L] and [%] of the
        sum of the parts, and the pure alcohol [L] of the mixture

    Raises
    ------
    ValueError
        If a volume, strength or temperature is out of range, or the target is above the spirit's
        strength or not above the reducing liquid's.

    Source
    ------
    Balance of mass and of ethanol; densities of OIML R 22 (1975).

    Examples
    --------
    >>> made = reduce(100.0, 96.0, 40.0)
    >>> round(made.water_l, 2), round(made.final_volume_l, 2), round(made.contraction_l, 2)
    (147.05, 240.0, 7.05)
    """
    strong, weak, target = np.broadcast_arrays(
        *map(mass_fraction_from_volume_strength, (strength_pct_vol, reducing_strength_pct_vol, target_pct_vol))
    )
    too_strong = refuse(
        target > strong + _ROUNDING,
        "the target is {} % vol but the spirit only {} % vol; a reducing liquid cannot raise it: "
        "choose a target at or below the spirit's strength",
        target_pct_vol,
        strength_pct_vol,
    )
    too_weak = refuse(
        (target <= weak) & (target < strong),
        "the target is {} % vol but the reducing liquid {} % vol; no amount of it brings the spirit so "
        "low: choose a target above the reducing liquid's strength",
        target_pct_vol,
        reducing_strength_pct_vol,
    )
    spirit_l = np.asarray(volume_at_20c(volume_l, temperature_c, strength_pct_vol))
    spirit_kg = spirit_l * _density_at_20c(strength_pct_vol) / 1000.0
    down = np.maximum(strong - target, 0.0)
    apart = np.where(too_strong | too_weak, np.nan, np.where(down == 0.0, 1.0, target - weak))
    water_kg = spirit_kg * down / apart
    water_l = 1000.0 * water_kg / _density_at_20c(reducing_strength_pct_vol)
    final_l = 1000.0 * (spirit_kg + water_kg) / _density_at_20c(target_pct_vol)
    contraction = spirit_l + water_l - final_l
    with np.errstate(invalid="ignore"):  # nothing from nothing has no per cent
        contraction_pct = 100.0 * contraction / (spirit_l + water_l)
    return Reduction(
        spirit_l=as_given(spirit_l),
        spirit_kg=as_given(spirit_kg),
        water_l=as_given(water_l),
        water_kg=as_given(water_kg),
        water_weighed_in_air_kg=mass_from_volume(water_l, reducing_strength_pct_vol),
        final_volume_l=as_given(final_l),
        contraction_l=as_given(contraction),
        contraction_pct=as_given(contraction_pct),
        alcohol_l=litres_of_pure_alcohol(final_l, target_pct_vol),
    )


def blend(volumes_l: Sequence[ArrayLike], strengths_pct_vol: Sequence[ArrayLike]) -> Blend:
    """Volume and strength of what several spirits make together.

    Parameters
    ----------
    volumes_l : sequence of (float or array)
        Volume of each spirit at 20 °C [L]
    strengths_pct_vol : sequence of (float or array)
        Strength of each by volume at 20 °C, 0 for water [% vol]

    Returns
    -------
    Blend
        Volume [L], strength [% vol], mass [kg], pure alcohol [L] and contraction [L] and [%] of the sum
        of the volumes

    Raises
    ------
    ValueError
        If there are not as many strengths as volumes, one is out of range, or nothing is blended.

    Source
    ------
    Balance of mass and of ethanol; densities of OIML R 22 (1975).

    Examples
    --------
    >>> made = blend([100.0, 100.0], [100.0, 0.0])  # ethanol and water in equal volumes
    >>> round(made.volume_l, 2), round(made.strength_pct_vol, 2)
    (192.93, 51.83)
    """
    if len(volumes_l) != len(strengths_pct_vol) or len(volumes_l) == 0:
        raise ValueError(
            f"{len(volumes_l)} volumes and {len(strengths_pct_vol)} strengths were given; expected one "
            "strength for each volume, and at least one of both"
        )
    added, mass, ethanol = np.zeros(()), np.zeros(()), np.zeros(())
    for volume_l, strength_pct_vol in zip(volumes_l, strengths_pct_vol, strict=True):
        volume = in_range(volume_l, 0.0, np.inf, "volume", "L")
        part = volume * _density_at_20c(strength_pct_vol) / 1000.0
        added, mass = added + volume, mass + part
        ethanol = ethanol + part * mass_fraction_from_volume_strength(strength_pct_vol)
    empty = refuse(mass == 0.0, "the volumes to be blended are all 0 L; expected at least one above 0 L")
    w = ethanol / np.where(empty, np.nan, mass)
    total_l = 1000.0 * mass / np.asarray(density(w, 20.0))
    strength = volume_strength_from_mass_fraction(w)
    return Blend(
        volume_l=as_given(total_l),
        strength_pct_vol=strength,
        mass_kg=as_given(mass),
        alcohol_l=as_given(total_l * np.asarray(strength) / 100.0),
        contraction_l=as_given(added - total_l),
        contraction_pct=as_given(100.0 * (added - total_l) / np.where(empty, np.nan, added)),
    )


def blend_to_target(
    strength_a_pct_vol: ArrayLike,
    strength_b_pct_vol: ArrayLike,
    target_pct_vol: ArrayLike,
    target_volume_l: ArrayLike,
) -> TwoSpiritBlend:
    """How much of two spirits makes a wanted volume at a wanted strength.

    Parameters
    ----------
    strength_a_pct_vol : float or array
        Strength of the first by volume at 20 °C [% vol]
    strength_b_pct_vol : float or array
        Strength of the second by volume at 20 °C, 0 for water [% vol]
    target_pct_vol : float or array
        Strength wanted, by volume at 20 °C [% vol]
    target_volume_l : float or array
        Volume wanted at 20 °C [L]

    Returns
    -------
    TwoSpiritBlend
        Volume [L] and mass [kg] of each, and contraction [L] and [%] of the sum of the volumes

    Raises
    ------
    ValueError
        If an argument is out of range, or the target does not lie between two strengths that differ.

    Source
    ------
    Balance of mass and of ethanol; densities of OIML R 22 (1975).

    Examples
    --------
    >>> parts = blend_to_target(96.0, 0.0, 40.0, 240.0)
    >>> round(parts.volume_a_l, 2), round(parts.volume_b_l, 2)
    (100.0, 147.05)
    """
    a, b, target = np.broadcast_arrays(
        *map(mass_fraction_from_volume_strength, (strength_a_pct_vol, strength_b_pct_vol, target_pct_vol))
    )
    outside = refuse(
        (target > np.maximum(a, b) + _ROUNDING) | (target < np.minimum(a, b) - _ROUNDING) | (a == b),
        "spirits of {} and {} % vol cannot make {} % vol; expected two strengths that differ and a target between them",
        strength_a_pct_vol,
        strength_b_pct_vol,
        target_pct_vol,
    )
    wanted_l = in_range(target_volume_l, 0.0, np.inf, "target volume", "L")
    wanted_kg = wanted_l * _density_at_20c(target_pct_vol) / 1000.0
    share = np.clip((target - b) / np.where(outside, np.nan, a - b), 0.0, 1.0)
    a_kg, b_kg = wanted_kg * share, wanted_kg * (1.0 - share)
    a_l = 1000.0 * a_kg / _density_at_20c(strength_a_pct_vol)
    b_l = 1000.0 * b_kg / _density_at_20c(strength_b_pct_vol)
    contraction = a_l + b_l - wanted_l
    with np.errstate(invalid="ignore"):  # nothing from nothing has no per cent
        contraction_pct = 100.0 * contraction / (a_l + b_l)
    return TwoSpiritBlend(
        volume_a_l=as_given(a_l),
        volume_b_l=as_given(b_l),
        mass_a_kg=as_given(a_kg),
        mass_b_kg=as_given(b_kg),
        contraction_l=as_given(contraction),
        contraction_pct=as_given(contraction_pct),
    )
