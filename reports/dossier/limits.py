"""The published limits of a product, as the laboratory's figures are drawn against them."""

from dataclasses import dataclass

from checks.limits import read_limits
from pipeline.settings import Product


@dataclass(frozen=True)
class Limit:
    """Least and most of an analyte; None where that side is open."""

    least: float | None
    most: float | None
    unit: str
    citation: str


def limits_of(product: Product | None) -> dict[str, Limit]:
    """Limits by analyte: those of the spirit category, and for strength the label's with its tolerance.

    Empty where the product or its category is not known; the dossier then says so.
    """
    if product is None:
        return {}
    published = read_limits()
    category = published.category(product.category, product.jurisdiction)
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
    limits["strength"] = Limit(label - reach, label + reach, "pct_vol", tolerance.citation)
    return limits
