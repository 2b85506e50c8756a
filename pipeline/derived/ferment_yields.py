"""Attenuation, alcohol formed, and yield against what the grain's extract predicts, of each ferment."""

from pathlib import Path

import numpy as np

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.arrays import array, column
from gaugebook.pipeline.derived.derivation import Derivation
from gaugebook.pipeline.engineering.ethanol_water import DENSITY_WATER_20C
from gaugebook.pipeline.engineering.extract import (
    apparent_attenuation_pct,
    fermentation_efficiency_pct,
    plato_from_specific_gravity,
    real_attenuation_pct,
    real_extract,
)
from gaugebook.pipeline.engineering.spirit_yield import predicted_spirit_yield_l_per_t
from gaugebook.pipeline.house.settings import House

HERE = Path(__file__).parent


def ferment_yields(book: Book, house: House) -> None:
    """Make derived.ferment_yields; quantities that lack an input are NULL."""
    ferments = book.frame((HERE / "ferments.sql").read_text(encoding="utf-8"))
    if ferments.is_empty():
        return
    n = {name: array(ferments[name]) for name in ferments.columns if ferments.schema[name].is_numeric()}
    original, final = (
        plato_from_specific_gravity(n["original_gravity"]),
        plato_from_specific_gravity(n["final_gravity"]),
    )
    real = real_extract(original, final)
    wort_kg = n["wort_volume_l"] * n["original_gravity"] * DENSITY_WATER_20C / 1000
    fermented_kg = wort_kg * (original - real) / 100
    tonnes = n["grain_kg"] / 1000
    predicted_per_t = predicted_spirit_yield_l_per_t(100 * n["extract_kg"] / n["grain_kg"], 100 * n["fermentability"])
    per_t = n["alcohol_l"] / tonnes
    u_relative = np.hypot(n["u_alcohol_l"] / n["alcohol_l"], house.uncertainty.mass_pct / 100)
    computed = ferments.with_columns(
        apparent_attenuation=column(apparent_attenuation_pct(original, final) / 100),
        real_attenuation=column(real_attenuation_pct(original, final) / 100),
        predicted_alcohol_l=column(predicted_per_t * tonnes),
        yield_l_per_t=column(per_t),
        u_yield_l_per_t=column(per_t * u_relative),
        predicted_yield_l_per_t=column(predicted_per_t),
        yield_ratio=column(per_t / predicted_per_t),
        fermentation_efficiency=column(fermentation_efficiency_pct(n["alcohol_l"], fermented_kg) / 100),
    )
    book.append("derived.ferment_yields", computed.drop("fermentability", "wort_volume_l"))


FERMENT_YIELDS = Derivation(
    ferment_yields,
    made_from=(
        "derived.runs", "derived.gauges", "derived.house_recipes", "derived.laboratory", "derived.openings",
        "derived.run_uncertainties",
    ),
    makes=("derived.ferment_yields",),
)  # fmt: skip
