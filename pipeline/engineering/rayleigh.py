"""Batch distillation of a charge: the strength that runs off as the pot is boiled down.

Rayleigh's differential balance, with the pot and its column as ideal stages of constant molar flows, no
liquid held up in the column, the pot boiling at equilibrium and the reflux ratio kept constant.

A running still gives off flammable vapour under heat: these figures describe equilibrium, they are no
operating instruction. Follow local codes and licensed practice.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gaugebook.pipeline.engineering.composition import (
    MOLAR_MASS_ETHANOL_G_MOL,
    MOLAR_MASS_WATER_G_MOL,
    mass_from_mole_fraction,
    mole_fraction_from_strength,
    strength_from_mole_fraction,
)
from gaugebook.pipeline.engineering.elements import in_range
from gaugebook.pipeline.engineering.ethanol_water import density
from gaugebook.pipeline.engineering.pure_alcohol import litres_of_pure_alcohol
from gaugebook.pipeline.engineering.vapour import (
    STANDARD_PRESSURE_KPA,
    azeotrope,
    bubble_temperature_c,
    liquid_mole_fraction,
    vapour_mole_fraction,
)

Array = NDArray[np.float64]

_GRID = 1200  # pot strengths at which the balance is summed; twice as many change the result by under 1e-4
_LEAST_MOLE_FRACTION = 1e-5  # the pot is taken as spent here, 0.003 % vol


@dataclass(frozen=True)
class BatchDistillation:
    """A batch run from first drop to spent pot, one element for each step; volumes at 20 °C.

    The first element is the start. `fraction_distilled` is the volume collected over the charge's.
    """

    fraction_distilled: Array
    distillate_pct_vol: Array
    pot_pct_vol: Array
    collected_l: Array
    collected_pct_vol: Array
    collected_alcohol_l: Array
    pot_temperature_c: Array
    vapour_temperature_c: Array


def _pot_below(distillate: Array, stages: int, reflux_ratio: float, pressure_kpa: float) -> Array:
    """Pot composition under a column whose distillate is given, stepping down from the top."""
    liquids = np.unique(np.r_[np.geomspace(1e-7, 1.0, 4 * _GRID), np.linspace(0.0, 1.0, 4 * _GRID)])
    vapours = np.asarray(vapour_mole_fraction(liquids, pressure_kpa))
    liquid = np.interp(distillate, vapours, liquids)
    for _ in range(stages - 1):
        vapour = (reflux_ratio * liquid + distillate) / (reflux_ratio + 1.0)
        liquid = np.interp(vapour, vapours, liquids)
    return liquid


def batch_distillation(
    charge_l: float,
    charge_pct_vol: float,
    ideal_stages: int = 1,
    reflux_ratio: float = 0.0,
    pressure_kpa: float = STANDARD_PRESSURE_KPA,
) -> BatchDistillation:
    """Strength against fraction distilled of a charge boiled down through ideal stages.

    Parameters
    ----------
    charge_l : float
        Volume of the charge at 20 °C [L]
    charge_pct_vol : float
        Strength of the charge by volume at 20 °C, 0.1 to 90 [% vol]
    ideal_stages : int
        Number of ideal stages, the pot being the first, 1 to 50 [-]
    reflux_ratio : float
        Liquid returned to the column per distillate drawn, in moles; without effect with one stage [-]
    pressure_kpa : float
        Absolute pressure, 50 to 200 kPa [kPa]

    Returns
    -------
    BatchDistillation
        The course of the run: strengths [% vol], volumes and pure alcohol collected [L], temperatures [°C]

    Raises
    ------
    ValueError
        If an argument is out of range.

    Source
    ------
    Rayleigh, Philosophical Magazine 4 (1902) 521, dW/W = dx/(x_D - x); stages by McCabe and Thiele,
    Industrial and Engineering Chemistry 17 (1925) 605.

    Examples
    --------
    >>> run = batch_distillation(1000.0, 8.0)
    >>> round(float(run.distillate_pct_vol[0])), round(float(run.collected_alcohol_l[-1]), 1)
    (49, 80.0)
    """
    volume = float(in_range(charge_l, 1e-6, np.inf, "charge", "L"))
    strength = in_range(charge_pct_vol, 0.1, 90.0, "strength of the charge", "% vol")
    stages = int(in_range(ideal_stages, 1, 50, "number of ideal stages", "stages"))
    reflux = float(in_range(reflux_ratio, 0.0, 1e4, "reflux ratio", "mol/mol"))
    x_charge = float(mole_fraction_from_strength(strength))
    x_pot, x_distillate = _course(x_charge, stages, reflux, pressure_kpa)
    moles_left = _moles_left(x_pot, x_distillate)

    w_charge = float(mass_from_mole_fraction(x_charge))
    molar_mass = x_charge * MOLAR_MASS_ETHANOL_G_MOL + (1.0 - x_charge) * MOLAR_MASS_WATER_G_MOL
    charge_kmol = volume * float(density(w_charge, 20.0)) / 1000.0 / molar_mass
    ethanol = charge_kmol * (x_charge - moles_left * x_pot)
    water = charge_kmol * ((1.0 - x_charge) - moles_left * (1.0 - x_pot))
    return _in_volumes(volume, x_pot, x_distillate, ethanol, water, pressure_kpa)


def _course(x_charge: float, stages: int, reflux: float, pressure_kpa: float) -> tuple[Array, Array]:
    """Pot and distillate compositions from the charge's down to a spent pot."""
    # A grid of distillates, dense towards the azeotrope and towards 0, gives the pot under each ...
    highest = float(azeotrope(pressure_kpa).mole_fraction)
    distillate = highest * (1.0 - np.logspace(-12.0, 0.0, 3 * _GRID))[:-1]
    distillate = np.unique(np.r_[distillate, np.logspace(-6.0, 0.0, _GRID) * distillate.max()])
    pot = _pot_below(distillate, stages, reflux, pressure_kpa)
    # ... and the run is read off it at even steps of the pot, closer where the pot is nearly spent.
    x_pot = np.geomspace(x_charge, min(_LEAST_MOLE_FRACTION, x_charge / 10.0), _GRID)
    return x_pot, np.interp(x_pot, pot, distillate)


def _moles_left(x_pot: Array, x_distillate: Array) -> Array:
    """Moles in the pot over moles charged: Rayleigh's integral by the trapezoidal rule."""
    integrand = x_pot / (x_distillate - x_pot)  # in d ln x, the variable in which the grid is even
    steps = np.diff(np.log(x_pot)) * (integrand[1:] + integrand[:-1]) / 2.0
    return np.exp(np.r_[0.0, np.cumsum(steps)])


def _in_volumes(
    charge_l: float, x_pot: Array, x_distillate: Array, ethanol_kmol: Array, water_kmol: Array, pressure_kpa: float
) -> BatchDistillation:
    """The run in the units of the still house."""
    ethanol_kg, water_kg = ethanol_kmol * MOLAR_MASS_ETHANOL_G_MOL, water_kmol * MOLAR_MASS_WATER_G_MOL
    collected_kg = ethanol_kg + water_kg
    x_collected = np.r_[
        x_distillate[0], (ethanol_kmol / np.where(collected_kg > 0, ethanol_kmol + water_kmol, 1.0))[1:]
    ]
    collected_pct_vol = np.asarray(strength_from_mole_fraction(x_collected))
    collected_l = 1000.0 * collected_kg / np.asarray(density(mass_from_mole_fraction(x_collected), 20.0))
    return BatchDistillation(
        fraction_distilled=collected_l / charge_l,
        distillate_pct_vol=np.asarray(strength_from_mole_fraction(x_distillate)),
        pot_pct_vol=np.asarray(strength_from_mole_fraction(x_pot)),
        collected_l=collected_l,
        collected_pct_vol=collected_pct_vol,
        collected_alcohol_l=np.asarray(litres_of_pure_alcohol(np.maximum(collected_l, 0.0), collected_pct_vol)),
        pot_temperature_c=np.asarray(bubble_temperature_c(x_pot, pressure_kpa)),
        vapour_temperature_c=np.asarray(
            bubble_temperature_c(liquid_mole_fraction(x_distillate, pressure_kpa), pressure_kpa)
        ),
    )
