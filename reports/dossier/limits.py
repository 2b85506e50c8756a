"""The published limits of a product, as the laboratory's figures are drawn against them."""

from dataclasses import dataclass
from datetime import date

from gaugebook.checks.rulebook.published_limits import label_at_20c, read_limits
from gaugebook.pipeline.house.settings import Product


@dataclass(frozen=True)
class Limit:
    """Least and most of an analyte; None where that side is open."""

    least: float | None
    most: float | None
    unit: str
    citation: str


def limits_of(product: Product | None, on: date | None = None) -> dict[str, Limit]:
    """Limits by analyte on a day: those of the spirit category, and for strength the label's with its tolerance.

    Strength is at 20 °C, as the laboratory's is. Empty where the product or its category is not known; the dossier
    then says so.
    """
    if product is None:
        return {}
    published = read_limits()
    category = published.category(product.category, product.jurisdiction, on)
    limits = {}
    if category is not None:
        for analyte, limit in category.laboratory.items():
            most = limit.below if limit.most is None else limit.most
            limits[analyte] = Limit(limit.least, most, limit.unit, category.citation)
    tolerance = published.tolerance(product.jurisdiction)
    if tolerance is None:
        return limits
    reach = tolerance.macerated_pct_vol if product.macerated else tolerance.spirits_pct_vol
    label = product.label_strength_pct_vol
    least, most = (label_at_20c(label + side * reach, product.jurisdiction) for side in (-1, 1))
    limits["strength"] = Limit(least, most, "pct_vol", tolerance.citation)
    return limits
