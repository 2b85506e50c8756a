"""Products of the house profile: what they are by law, and what their label says."""

from collections.abc import Iterable
from dataclasses import dataclass

# Substances whose use must be on the label: Regulation (EU) 1169/2011, Annex II, items 1 to 14, by a short name each.
ALLERGENS = (
    "gluten", "crustaceans", "eggs", "fish", "peanuts", "soybeans", "milk", "nuts", "celery", "mustard", "sesame",
    "sulphites", "lupin", "molluscs",
)  # fmt: skip


@dataclass(frozen=True)
class Product:
    """A product as the profile has it.

    Attributes
    ----------
    category : str
        Spirit category or class, by any name that the law of the jurisdiction has for it
    jurisdiction : str
        Whose law it meets: EU or US
    markets : tuple of str
        Other jurisdictions where it is sold and whose limits of contaminants it meets too: CA, DE ...
    macerated : bool
        It holds macerated fruit or parts of plants
    laboratory : tuple of str
        Analytes that must be on record before release
    allergens_on_label : tuple of str or None
        Allergens that the label names, empty where it names none; None where the profile does not say
    """

    code: str
    name: str
    category: str
    jurisdiction: str
    label_strength_pct_vol: float
    nominal_ml: float
    macerated: bool = False
    laboratory: tuple[str, ...] = ()
    markets: tuple[str, ...] = ()
    allergens_on_label: tuple[str, ...] | None = None


def product_faults(products: Iterable[Product]) -> list[str]:
    """What cannot be of each product, a sentence each without its full stop.

    >>> product_faults([Product("NUT", "Nut liqueur", "liqueur", "EU", 25.0, 500.0, allergens_on_label=("nut",))])
    ['product "NUT": allergens_on_label: "nut" is none of gluten, crustaceans, eggs, fish, peanuts, soybeans, milk, \
nuts, celery, mustard, sesame, sulphites, lupin, molluscs']
    """
    return [
        f'product "{product.code}": allergens_on_label: "{name}" is none of {", ".join(ALLERGENS)}'
        for product in products
        for name in product.allergens_on_label or ()
        if name not in ALLERGENS
    ]
