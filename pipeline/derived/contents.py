"""What a kilogram of each material holds of sugar, starch or extract, by its certificate, and the alcohol of that.

A certificate may say it in several ways; the first of these that it does say counts: extract of dry matter with the
moisture (grain), total sugars as invert, single sugars and starch, sugar in a litre of juice, Brix less the sugar-free
extract or the potential alcohol (must), Brix alone. What is not said is not known, and neither is what cannot be:
more sugar than soluble solids.
"""

from pathlib import Path

import numpy as np
import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.arrays import Array, array, column
from gaugebook.pipeline.derived.derivation import Derivation
from gaugebook.pipeline.engineering.extract import Sugar, fermentability_pct, theoretical_alcohol_l
from gaugebook.pipeline.engineering.materials import (
    alcohol_of_extract_l,
    juice_density_kg_m3,
    must_sugar_g_l,
    sugar_of_potential_alcohol_g_l,
)
from gaugebook.pipeline.engineering.spirit_yield import predicted_spirit_yield_l_per_t

HERE = Path(__file__).parent
SINGLE: dict[str, Sugar] = {
    "reducing_sugars_pct": "hexose", "sucrose_pct": "sucrose", "lactose_pct": "lactose", "starch_pct": "starch",
    "fructan_pct": "fructan",
}  # fmt: skip
SUCROSE_OF_INVERT = 342.297 / 360.312  # by the molar masses: a gram of sucrose gives 1.0526 g of invert sugar
MOST_OF_SOLIDS = 1.02  # sugar is measured to 1 % (standard uncertainty, common practice)
# Bases of which a part alone ferments: extract of dry matter, and soluble solids. All of a sugar may.
OF_EXTRACT = ("extract", "solids")


def contents(book: Book) -> None:
    """Make derived.contents."""
    certificates = book.frame((HERE / "contents.sql").read_text(encoding="utf-8"))
    n = {name: array(certificates[name]) for name in certificates.columns if certificates.schema[name].is_numeric()}
    if certificates.is_empty():
        return
    sucrose = np.where(np.isfinite(n["sucrose_pct"]), n["sucrose_pct"], n["brix"] * n["purity_pct"] / 100)
    n["sucrose_pct"] = sucrose
    density_kg_l = np.asarray(juice_density_kg_m3(n["brix"])) / 1000
    ways = _ways(n, density_kg_l)
    basis, fermentable, possible, predicted = _first_known(ways)
    impossible = _more_than_solids(n)
    is_known = np.isfinite(fermentable) & ~impossible
    of_laboratory = np.asarray(fermentability_pct(n["original_gravity"], n["final_gravity"]))
    of_lot = np.where(np.isfinite(n["fermentability_pct"]), n["fermentability_pct"], of_laboratory) / 100
    book.append(
        "derived.contents",
        certificates.select(
            "lot", "material", "kind",
            basis=pl.Series([name or None for name in np.where(is_known, basis, "").tolist()], dtype=pl.String),
            dry_pct=100 - pl.col("moisture_pct"),
            density_kg_l=column(density_kg_l),
            extract_kg_per_kg=column(_extract(n)),
            fermentable_kg_per_kg=column(np.where(is_known, fermentable, np.nan)),
            possible_l_per_kg=column(np.where(is_known, possible, np.nan)),
            predicted_l_per_kg=column(np.where(is_known, predicted, np.nan)),
            fermentability=column(np.where(np.isin(basis, OF_EXTRACT), of_lot, np.nan)),
            sugar_of_solids=column(_as_sucrose(n) / n["brix"]),
            moisture_pct=column(n["moisture_pct"]),
            not_known=_why(is_known, impossible, np.isfinite(n["extract_pct"])),
            source_id="source_id", line="line",
        ),
    )  # fmt: skip


CONTENTS = Derivation(
    lambda book, _: contents(book),
    made_from=("typed.intake", "typed.opening_stock", "derived.movements"),
    makes=("derived.contents",),
)


def _why(is_known: np.ndarray, impossible: np.ndarray, says_extract: np.ndarray) -> pl.Series:
    """Why the content of a lot is not known: a code, NULL where it is."""
    unknown = np.where(says_extract, "extract without moisture", "no certificate")
    codes = np.where(impossible, "more sugar than solids", np.where(is_known, "", unknown))
    return pl.Series([code or None for code in codes.tolist()], dtype=pl.String)


def _ways(n: dict[str, Array], density_kg_l: Array) -> list[tuple[str, Array, Array, Array]]:
    """Basis, and of a kilogram as received: fermentable matter [kg], alcohol by theory and by practice [L], before the
    share that ferments is counted. In the order in which they count."""
    extract = _extract_of_grain(n)
    invert = n["total_sugars_pct"] / 100
    single = {name: n[name] / 100 for name in SINGLE}
    some = np.logical_or.reduce([np.isfinite(share) for share in single.values()])
    of_single = {name: np.nan_to_num(share) for name, share in single.items()}
    pressed_l = np.where(np.isfinite(n["juice_l_per_100kg"]), n["juice_l_per_100kg"] / 100, 1 / density_kg_l)
    of_juice = n["sugar_g_l"] / 1000 * pressed_l
    by_solids = np.asarray(must_sugar_g_l(n["brix"], n["sugar_free_extract_g_l"]))
    by_alcohol = np.asarray(sugar_of_potential_alcohol_g_l(n["potential_alcohol_pct_vol"]))
    of_must = np.where(np.isfinite(by_solids), by_solids, by_alcohol) / 1000 / density_kg_l
    solids = n["brix"] / 100
    single_l = np.asarray(sum(_theory(share, SINGLE[name]) for name, share in of_single.items()))
    single_kg = np.where(some, sum(of_single.values()), np.nan)
    by_theory = [(name, kg, _theory(kg, "hexose"), _theory(kg, "hexose")) for name, kg in (
        ("total sugars", invert), ("juice", of_juice), ("must", of_must))]  # fmt: skip
    return [
        ("extract", extract, _theory(extract, "maltose"), _predicted_of_extract(extract)),
        by_theory[0],
        ("sugars", single_kg, single_l, single_l),
        *by_theory[1:],
        ("solids", solids, _theory(solids, "sucrose"), np.asarray(alcohol_of_extract_l(solids))),
    ]


def _theory(kg: Array, sugar: Sugar) -> Array:
    return np.asarray(theoretical_alcohol_l(kg, sugar))


def _predicted_of_extract(extract: Array) -> Array:
    return np.asarray(predicted_spirit_yield_l_per_t(100 * extract, 100.0)) / 1000


def _first_known(ways: list[tuple[str, Array, Array, Array]]) -> tuple[Array, Array, Array, Array]:
    """Of each lot the first way that its certificate allows."""
    size = len(ways[0][1])
    basis, chosen = np.full(size, "", dtype=object), np.full((3, size), np.nan)
    for name, *values in reversed(ways):
        known = np.isfinite(values[0])
        basis[known] = name
        chosen[:, known] = np.stack(values)[:, known]
    return basis, *chosen


def _extract_of_grain(n: dict[str, Array]) -> Array:
    """Extract of a kilogram as received, of which the certificate speaks on the dry matter [kg]."""
    return n["extract_pct"] / 100 * (1 - n["moisture_pct"] / 100)


def _extract(n: dict[str, Array]) -> Array:
    """What a kilogram can give to the extract of a wort [kg]: extract of the grain, soluble solids of the rest."""
    of_grain = _extract_of_grain(n)
    return np.where(np.isfinite(of_grain), of_grain, n["brix"] / 100)


def _as_sucrose(n: dict[str, Array]) -> Array:
    """Sugars as sucrose [% mass]; NaN where the certificate says none."""
    invert, reducing = (n[name] * SUCROSE_OF_INVERT for name in ("total_sugars_pct", "reducing_sugars_pct"))
    single = (reducing, n["sucrose_pct"], n["lactose_pct"])
    some = np.logical_or.reduce([np.isfinite(part) for part in single])
    together = np.where(some, sum(np.nan_to_num(part) for part in single), np.nan)
    return np.where(np.isfinite(invert), invert, together)


def _more_than_solids(n: dict[str, Array]) -> np.ndarray:
    """Whether the sugars are more than all that is dissolved: the certificate of such a lot is not believed."""
    with np.errstate(invalid="ignore"):
        return _as_sucrose(n) > MOST_OF_SOLIDS * n["brix"]
