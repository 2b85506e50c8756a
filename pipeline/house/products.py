"""Products of the house profile: what they are by law, and what their label says."""

from collections.abc import Sequence
from dataclasses import dataclass, field

# Substances whose use must be on the label: Regulation (EU) 1169/2011, Annex II, items 1 to 14, by a short name each.
ALLERGENS = (
    "gluten", "crustaceans", "eggs", "fish", "peanuts", "soybeans", "milk", "nuts", "celery", "mustard", "sesame",
    "sulphites", "lupin", "molluscs",
)  # fmt: skip

CLAIMS = ("bottled in bond", "cask strength", "single cask")


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
    claims : tuple of str
        What the label claims besides, of CLAIMS
    age_years : float or None
        Age that the label states [a]
    vintage : int or None
        Year of distillation that the label states
    targets_ug_kg : dict of str to float
        The house's own target of a contaminant, by analyte: most in the finished product [µg/kg]
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
    claims: tuple[str, ...] = ()
    age_years: float | None = None
    vintage: int | None = None
    targets_ug_kg: dict[str, float] = field(default_factory=dict)


def product_faults(products: Sequence[Product]) -> list[str]:
    """What cannot be of each product, a sentence each without its full stop.

    >>> product_faults([Product("NUT", "Nut liqueur", "liqueur", "EU", 25.0, 500.0, allergens_on_label=("nut",))])
    ['product "NUT": allergens_on_label: "nut" is none of gluten, crustaceans, eggs, fish, peanuts, soybeans, milk, \
nuts, celery, mustard, sesame, sulphites, lupin, molluscs']
    """
    known = {"allergens_on_label": ALLERGENS, "claims": CLAIMS}
    no_amount = [
        f'product "{product.code}": targets_ug_kg: {analyte} is {most!r}; expected micrograms per kilogram above 0'
        for product in products
        for analyte, most in product.targets_ug_kg.items()
        if isinstance(most, bool) or not isinstance(most, int | float) or not most > 0
    ]
    return no_amount + [
        f'product "{product.code}": {key}: "{name}" is none of {", ".join(names)}'
        for product in products
        for key, names in known.items()
        for name in getattr(product, key) or ()
        if name not in names
    ]
