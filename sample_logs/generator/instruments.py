"""How a true state is read: noise within the instrument's standard uncertainty, then its resolution.

Noise is drawn at seven tenths of the stated uncertainty and never beyond twice that: the profile states
uncertainties with something in hand, as a careful house does.
"""

from datetime import datetime
from math import cos, pi
from random import Random

from gaugebook.pipeline.engineering.ethanol_water import density
from gaugebook.pipeline.engineering.gauging import STAINLESS_STEEL_EXPANSION_PER_K, volume_at_temperature
from gaugebook.pipeline.engineering.strength import alcoholmeter_reading

from .chance import bounded
from .mixing import Liquid
from .records import Gauge

IN_HAND = 0.7


def cellar_temperature_c(rng: Random, at: datetime) -> float:
    """Temperature of the spirit store: a yearly swing about 18.5 °C."""
    day = at.timetuple().tm_yday
    return 18.5 - 3.0 * cos(2.0 * pi * (day - 25) / 365.0) + bounded(rng, 0.0, 0.7)


def meter_for(strength_pct_vol: float) -> str:
    """The alcoholmeter whose scale holds a strength."""
    if strength_pct_vol >= 83.0:
        return "HYD-1"
    return "HYD-2" if strength_pct_vol >= 58.0 else "HYD-3"


def read_volume(rng: Random, gauge: Gauge, liquid: Liquid, temperature_c: float, u_pct: float = 0.3) -> None:
    """The vessel's scale and thermometer."""
    true_l = float(
        volume_at_temperature(liquid.volume_l, temperature_c, liquid.strength_pct_vol, STAINLESS_STEEL_EXPANSION_PER_K)
    )
    seen_l = true_l * bounded(rng, 1.0, u_pct / 100.0 * IN_HAND)
    gauge.volume_l = round(seen_l, 1) if seen_l < 700.0 else float(round(seen_l))
    gauge.volume_temperature_c = round(bounded(rng, temperature_c, 0.15), 1)


def read_alcoholmeter(rng: Random, gauge: Gauge, liquid: Liquid, temperature_c: float) -> None:
    """A glass alcoholmeter and its thermometer in a cylinder of spirit."""
    strength = liquid.strength_pct_vol
    shown = float(alcoholmeter_reading(strength, temperature_c))
    gauge.reading = max(0.1, round(bounded(rng, shown, 0.15 * IN_HAND), 1))
    gauge.reading_temperature_c = round(bounded(rng, temperature_c, 0.1), 1)
    gauge.reading_kind, gauge.instrument = "alcoholmeter", meter_for(strength)


def read_density(rng: Random, gauge: Gauge, liquid: Liquid, temperature_c: float) -> None:
    """The hand-held density meter [kg/m3]."""
    w = liquid.ethanol_kg / (liquid.ethanol_kg + liquid.water_kg)
    gauge.reading = round(bounded(rng, float(density(w, temperature_c)), 0.1 * IN_HAND), 2)
    gauge.reading_temperature_c = round(bounded(rng, temperature_c, 0.05), 1)
    gauge.reading_kind, gauge.instrument = "density", "DM-1"


def read_laboratory(rng: Random, gauge: Gauge, liquid: Liquid) -> None:
    """A strength at 20 °C by laboratory distillation."""
    gauge.reading = max(0.0, round(bounded(rng, liquid.strength_pct_vol, 0.04), 2))
    gauge.reading_kind, gauge.instrument = "pct_vol_20c", "DM-2"


def gauge_tank(rng: Random, liquid: Liquid, temperature_c: float, meter: str) -> Gauge:
    """Volume and strength of a tank by the kind of meter named."""
    gauge = Gauge()
    read_volume(rng, gauge, liquid, temperature_c)
    if meter == "alcoholmeter":
        read_alcoholmeter(rng, gauge, liquid, temperature_c + rng.uniform(-0.4, 0.4))
    elif meter == "density":
        read_density(rng, gauge, liquid, temperature_c + rng.uniform(-0.4, 0.4))
    elif meter == "laboratory":
        read_laboratory(rng, gauge, liquid)
    return gauge


def weigh(rng: Random, mass_kg: float, step_kg: float) -> float:
    """A balance that shows steps."""
    seen = bounded(rng, mass_kg, max(0.0004 * mass_kg, step_kg / 4.0))
    return round(round(seen / step_kg) * step_kg, 4)
