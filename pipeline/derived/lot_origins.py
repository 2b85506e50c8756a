"""Where the alcohol of each lot is from: fermented in the house, bought in, or there when the book was begun.

What a run made is of its charges in the parts by which their alcohol went in (derived.steps). A lot of which one charge
was not gauged, or whose origin is not on record, has no shares: they are not known.
"""

from dataclasses import astuple, dataclass
from pathlib import Path

import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.derivation import Derivation

HERE = Path(__file__).parent


@dataclass(frozen=True)
class Origin:
    """Shares of a lot's alcohol by origin, and the grain, fruit and sugar consumed for a litre of it [kg/LPA]."""

    own_share: float
    bought_share: float
    opening_share: float
    material_kg_per_l: float | None


def lot_origins(book: Book) -> None:
    """Make derived.lot_origins."""
    begun = {
        row["lot"]: Origin(row["own_share"], row["bought_share"], row["opening_share"], row["material_kg_per_l"])
        for row in book.frame((HERE / "lot_origins.sql").read_text(encoding="utf-8")).to_dicts()
    }
    steps = book.frame("""
        SELECT lot, into_lot, share, per_unit FROM derived.steps
        WHERE basis = 'LPA' AND into_rank IS NOT NULL AND stage NOT IN ('mash', 'ferment')
        ORDER BY into_rank, into_lot, run, lot
    """)
    rows = [(lot, *astuple(origin)) for lot, origin in sorted(followed(begun, steps).items())]
    if rows:
        names = ["lot", *Origin.__annotations__]
        book.append("derived.lot_origins", pl.DataFrame(rows, dict.fromkeys(names), orient="row"))


LOT_ORIGINS = Derivation(
    lambda book, _: lot_origins(book),
    made_from=("derived.steps", "derived.ferment_yields", "derived.gauges", "derived.openings"),
    makes=("derived.lot_origins",),
)


def followed(begun: dict[str, Origin], steps: pl.DataFrame) -> dict[str, Origin]:
    """Origin of every lot, from those with which alcohol began.

    Parameters
    ----------
    begun : dict
        Lots that were fermented, received or opened with: lot -> origin
    steps : DataFrame
        lot, into_lot, share and per_unit as in derived.steps, each lot before what was made of it

    >>> own, bought = Origin(1.0, 0.0, 0.0, 2.5), Origin(0.0, 1.0, 0.0, 0.0)
    >>> steps = pl.DataFrame({"lot": ["A", "B"], "into_lot": ["C", "C"], "share": [0.25, 0.75], "per_unit": [0.3, 0.9]})
    >>> followed({"A": own, "B": bought}, steps)["C"]
    Origin(own_share=0.25, bought_share=0.75, opening_share=0.0, material_kg_per_l=0.75)
    >>> topped = pl.DataFrame({"lot": ["A"], "into_lot": ["C"], "share": [0.25], "per_unit": [0.25]})
    >>> followed({"A": own, "C": Origin(0.0, 0.0, 1.0, 0.0)}, topped)["C"].opening_share
    0.75
    """
    origins = dict(begun)
    for (into,), charges in steps.group_by("into_lot", maintain_order=True):
        parts = [(origins.get(lot), share, per_unit) for lot, _, share, per_unit in charges.iter_rows()]
        if any(origin is None or share is None for origin, share, _ in parts):
            origins.pop(str(into), None)
            continue
        if into in begun:  # a cask that stood there and was topped: what is not of the toppings is its own
            parts.append((begun[str(into)], 1 - charges["share"].sum(), None))
        origins[str(into)] = _mixed(parts)  # type: ignore[arg-type]
    return origins


def _mixed(parts: list[tuple[Origin, float, float | None]]) -> Origin:
    def share(name: str) -> float:
        return sum(part * getattr(origin, name) for origin, part, _ in parts)

    material: float | None = 0.0
    for origin, _, per_unit in parts:
        if origin.material_kg_per_l == 0.0 or material is None:
            continue
        is_known = origin.material_kg_per_l is not None and per_unit is not None
        material = material + per_unit * origin.material_kg_per_l if is_known else None  # type: ignore[operator]
    return Origin(share("own_share"), share("bought_share"), share("opening_share"), material)
