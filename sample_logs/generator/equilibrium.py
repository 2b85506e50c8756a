"""Equilibrium of ethanol and water at the site's pressure, tabulated once, and columns built on it.

A column is a number of ideal stages above the pot at constant molar overflow (McCabe and Thiele); real
plates count for less than one stage each. Its table gives the distillate's composition for a composition of
the pot and a reflux ratio.
"""

from functools import cache

import numpy as np
from numpy.typing import NDArray

from gaugebook.pipeline.engineering import vapour

Array = NDArray[np.float64]

SITE_PRESSURE_KPA = 100.606  # 60 m above sea level, ISO 2533
KELVIN_PER_KPA = 0.26  # boiling point against pressure near 100 kPa: common practice
ETHANOL_KG_PER_KMOL, WATER_KG_PER_KMOL = 46.069, 18.015
_BISECTIONS = 45


@cache
def curve() -> tuple[Array, Array, Array]:
    """Mole fraction of the liquid, of its vapour, and boiling temperature [°C]."""
    x = np.concatenate([[0.0], np.geomspace(1e-6, 0.01, 80), np.linspace(0.0105, 0.895, 500)])
    pressure = np.full_like(x, SITE_PRESSURE_KPA)
    y = np.asarray(vapour.vapour_mole_fraction(x, pressure))
    return x, y, np.asarray(vapour.bubble_temperature_c(x, pressure))


def boiling_c(x: Array) -> Array:
    """Boiling temperature of a liquid at the site [°C]."""
    liquid, _, temperature = curve()
    return np.interp(x, liquid, temperature)


def dew_c(y: Array) -> Array:
    """Temperature at which a vapour condenses at the site [°C]."""
    _, gas, temperature = curve()
    return np.interp(y, gas, temperature)


class Column:
    """So many ideal stages above a pot."""

    def __init__(self, stages: int) -> None:
        self.stages = stages
        self._x = np.concatenate([[0.0], np.geomspace(2e-6, 0.01, 70), np.linspace(0.0115, 0.32, 110)])
        self._reflux = np.array([0.0, 0.3, 0.6, 1, 1.5, 2, 2.5, 3, 3.5, 4, 4.5, 5, 6, 7, 8, 10, 12, 15, 18])
        self._table = self._solve()

    def _solve(self) -> Array:
        """Distillate for each pot composition and reflux ratio, by bisection on the distillate."""
        liquid, gas, _ = curve()
        pot, reflux = np.meshgrid(self._x, self._reflux, indexing="ij")
        low, high = np.zeros_like(pot), np.full_like(pot, gas[-1])
        for _ in range(_BISECTIONS):
            distillate = (low + high) / 2.0
            y = distillate
            for _stage in range(self.stages):
                y = (reflux * np.interp(y, gas, liquid) + distillate) / (reflux + 1.0)
            too_rich = np.interp(y, gas, liquid) > pot
            low, high = np.where(too_rich, low, distillate), np.where(too_rich, distillate, high)
        return (low + high) / 2.0

    def _row(self, x_pot: float) -> Array:
        i = min(max(int(np.searchsorted(self._x, x_pot)) - 1, 0), self._x.size - 2)
        share = (x_pot - self._x[i]) / (self._x[i + 1] - self._x[i])
        return (1.0 - share) * self._table[i] + share * self._table[i + 1]

    def distillate(self, x_pot: float, reflux: float) -> float:
        """Mole fraction of the distillate."""
        return float(np.interp(reflux, self._reflux, self._row(x_pot)))

    def reflux_for(self, x_pot: float, x_distillate: float) -> float:
        """Reflux ratio that gives a distillate, within the table."""
        return float(np.interp(x_distillate, self._row(x_pot), self._reflux))


@cache
def column(stages: int) -> Column:
    """The column with so many ideal stages; its table is made once."""
    return Column(stages)
