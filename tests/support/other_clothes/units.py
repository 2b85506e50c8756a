"""Values told in other units. Written apart from the package: no line of its conversions is used.

Factors from their definitions; US proof through the density formula of OIML R 22 term by term (`r22_formula`).
"""

import re
from collections.abc import Callable
from functools import cache

from r22_formula import density, strength

# 27 CFR 30.11: the wine gallon is 231 cubic inches. International yard and pound agreement, 1959: the inch is
# 25.4 mm, the pound 0.45359237 kg. NIST SP 811, B.8: conventional mercury 13 595.1 kg/m3 at g = 9.80665 m/s2.
LITRES_A_GALLON = 231 * 0.254**3
KG_A_POUND = 0.45359237
KPA_AN_INCH_OF_MERCURY = 13.5951 * 9.80665 * 0.0254

DIGITS = 8  # behind the decimal mark of every value told: at most 5e-9 of its unit, far below any uncertainty

_NUMBER = re.compile(r"\s*(<?)\s*(-?\d+(?:\.\d+)?)\s*")

Telling = Callable[[float], float]


def by(factor: float, offset: float = 0.0) -> Telling:
    """A unit that is a straight line of the other: factor x value + offset."""
    return lambda value: factor * value + offset


same = by(1.0)
fahrenheit = by(1.8, 32.0)
kelvin = by(1.0, 273.15)
gallons = by(1.0 / LITRES_A_GALLON)
gallons_of_ml = by(1e-3 / LITRES_A_GALLON)
pounds = by(1.0 / KG_A_POUND)
pounds_of_grams = by(1e-3 / KG_A_POUND)
mercury_of_mbar = by(0.1 / KPA_AN_INCH_OF_MERCURY)
# 27 CFR 30 has no psi of its own: pound-force per square inch from the pound, the inch and g = 9.80665 m/s2.
mercury_of_psi = by(KG_A_POUND * 9.80665 / 0.0254**2 / 1000.0 / KPA_AN_INCH_OF_MERCURY)
grams_a_cm3 = by(1e-3)


def _mass_fraction(strength_pct_vol: float) -> float:
    """Mass fraction of a strength at 20 °C, by secants, since the sample has some thousand strengths."""
    before, p = 0.0, strength_pct_vol / 100.0
    while abs(p - before) > 1e-15 and strength(p) != strength(before):
        slope = (strength(p) - strength(before)) / (p - before)
        before, p = p, p + (strength_pct_vol - strength(p)) / slope
    return p


@cache
def proof(strength_pct_vol: float) -> float:
    """US proof of a strength at 20 °C: twice the per cent by volume at 60 °F (27 CFR 30.11, 5.1).

    The mass fraction does not change with temperature; volumes at 60 °F come of the densities there. At 40 % vol
    the regulation's own hydrometer tables imply 79.86 (80 proof is 40.069 % vol at 20 °C).
    """
    if strength_pct_vol == 0.0:
        return 0.0
    sixty_f = (60.0 - 32.0) / 1.8
    p = _mass_fraction(strength_pct_vol)
    return 200.0 * p * density(p, sixty_f) / density(1.0, sixty_f)


def number(telling: Telling, decimal: str = ",", thousands: str = "", digits: int = DIGITS) -> Callable[[object], str]:
    """What turns a cell into the number told; a text that is no number stays as it is, as do blanks."""

    @cache
    def tell(cell: object) -> str:
        if cell is None:
            return ""
        match = _NUMBER.fullmatch(str(cell))
        if not match:
            return str(cell)
        text = f"{telling(float(match[2])):{',' if thousands else ''}.{digits}f}"
        return match[1] + text.translate(str.maketrans({",": thousands, ".": decimal}))

    return tell


def figure(telling: Telling) -> Callable[[object], object]:
    """The same for a cell of a workbook: a true number where it is one, else the text as it stands."""

    exact = number(telling, ".", digits=12)

    def tell(cell: object) -> object:
        text = exact(cell)
        return float(text) if _NUMBER.fullmatch(text) and not text.startswith("<") else text

    return tell
