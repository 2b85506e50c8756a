"""Attenuation, alcohol formed, and yield against what the certificates of its material promise, of each ferment."""

from pathlib import Path

import numpy as np

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.arrays import Array, array, column
from gaugebook.pipeline.derived.derivation import Derivation
from gaugebook.pipeline.engineering.ethanol_water import DENSITY_WATER_20C
from gaugebook.pipeline.engineering.extract import (
    apparent_attenuation_pct,
    plato_from_specific_gravity,
    real_attenuation_pct,
    real_extract,
    theoretical_alcohol_l,
)
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
    per_t = n["alcohol_l"] / tonnes
    u_relative = np.hypot(n["u_alcohol_l"] / n["alcohol_l"], house.uncertainty.mass_pct / 100)
    computed = ferments.with_columns(
        apparent_attenuation=column(apparent_attenuation_pct(original, final) / 100),
        real_attenuation=column(real_attenuation_pct(original, final) / 100),
        yield_l_per_t=column(per_t),
        u_yield_l_per_t=column(per_t * u_relative),
        predicted_yield_l_per_t=column(n["predicted_alcohol_l"] / tonnes),
        yield_ratio=column(n["alcohol_l"] / n["predicted_alcohol_l"]),
        yield_of_possible=column(n["alcohol_l"] / n["possible_alcohol_l"]),
        fermentation_efficiency=column(n["alcohol_l"] / (fermented_kg * _theory_l_per_kg(n))),
    )
    book.append("derived.ferment_yields", computed.drop("wort_volume_l"))


def _theory_l_per_kg(n: dict[str, Array]) -> Array:
    """What a kilogram of the extract that went can give by theory: as the run's own material, else as maltose."""
    own = n["possible_alcohol_l"] / n["fermentable_kg"]
    return np.where(np.isfinite(own), own, theoretical_alcohol_l(1.0, "maltose"))


FERMENT_YIELDS = Derivation(
    ferment_yields,
    made_from=(
        "derived.runs", "derived.gauges", "derived.laboratory", "derived.mash_bill", "derived.run_uncertainties",
    ),
    makes=("derived.ferment_yields",),
)  # fmt: skip
