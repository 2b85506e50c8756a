"""Ethanol, water and extract as masses: what is mixed, split or reduced keeps its mass.

Volumes are never added; they follow from the masses through the density of OIML R 22, so that contraction
on mixing comes out by itself.
"""

from dataclasses import dataclass

from gaugebook.pipeline.engineering.ethanol_water import DENSITY_ETHANOL_20C, density
from gaugebook.pipeline.engineering.strength import mass_fraction_from_volume_strength

DENSITY_WATER_20C = 998.201  # kg/m3: OIML R 22
# Volume that dissolved sugars take up, from the specific gravity of sugar solutions (1.0400 at 10.0 degrees
# Plato): common practice.
EXTRACT_L_PER_KG = 0.617


@dataclass(frozen=True)
class Liquid:
    """Masses of what a tank holds [kg]."""

    ethanol_kg: float = 0.0
    water_kg: float = 0.0
    extract_kg: float = 0.0

    @property
    def mass_kg(self) -> float:
        return self.ethanol_kg + self.water_kg + self.extract_kg

    @property
    def alcohol_l(self) -> float:
        """Litres of pure alcohol at 20 °C."""
        return self.ethanol_kg / DENSITY_ETHANOL_20C * 1000.0

    @property
    def volume_l(self) -> float:
        """Volume at 20 °C."""
        spirit_kg = self.ethanol_kg + self.water_kg
        if spirit_kg <= 0.0:
            return self.extract_kg * EXTRACT_L_PER_KG
        rho = float(density(self.ethanol_kg / spirit_kg, 20.0))
        return spirit_kg / rho * 1000.0 + self.extract_kg * EXTRACT_L_PER_KG

    @property
    def strength_pct_vol(self) -> float:
        """True strength at 20 °C, as found after distillation where there is extract."""
        return 100.0 * self.alcohol_l / self.volume_l

    @property
    def specific_gravity(self) -> float:
        """Specific gravity 20/20."""
        return self.mass_kg / self.volume_l * 1000.0 / DENSITY_WATER_20C

    def __add__(self, other: "Liquid") -> "Liquid":
        return Liquid(
            self.ethanol_kg + other.ethanol_kg,
            self.water_kg + other.water_kg,
            self.extract_kg + other.extract_kg,
        )

    def __sub__(self, other: "Liquid") -> "Liquid":
        return self + other.times(-1.0)

    def times(self, share: float) -> "Liquid":
        """A share of it, all of one composition."""
        return Liquid(self.ethanol_kg * share, self.water_kg * share, self.extract_kg * share)

    def holding(self, alcohol_l: float) -> "Liquid":
        """The part of it that holds so many litres of pure alcohol."""
        return self.times(alcohol_l / self.alcohol_l)


def water(mass_kg: float) -> Liquid:
    """Water alone."""
    return Liquid(water_kg=mass_kg)


def spirit(alcohol_l: float, strength_pct_vol: float) -> Liquid:
    """Ethanol and water of a strength that hold so many litres of pure alcohol."""
    ethanol_kg = alcohol_l * DENSITY_ETHANOL_20C / 1000.0
    w = float(mass_fraction_from_volume_strength(strength_pct_vol))
    return Liquid(ethanol_kg, ethanol_kg * (1.0 - w) / w)


def water_to_reduce(liquid: Liquid, strength_pct_vol: float) -> float:
    """Mass of water [kg] that brings a liquid down to a strength, by bisection on the mass added."""
    low, high = 0.0, 100.0 * liquid.alcohol_l / strength_pct_vol * 1.1
    for _ in range(50):
        middle = (low + high) / 2.0
        if (liquid + water(middle)).strength_pct_vol > strength_pct_vol:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0
