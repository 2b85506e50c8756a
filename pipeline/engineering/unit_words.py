"""Words that devices and people write for units, and that leave open which quantity or size is meant."""

_GAUGE = "counts from the pressure of the air, which changes from day to day; have the device write absolute pressure"
_ALCOHOL = (
    "is an amount of alcohol, which a volume gives only with its strength; give volume and strength, or map it to "
    'a field of pure alcohol with the unit "proof gal" or "LPA"'
)
_STRENGTH = 'does not say at which temperature; write "pct_vol" (at 20 °C) or "pct_vol_60f" (at 60 °F)'
_PARTS = "may be by mass or by volume; write mg/L where a litre of the sample holds so many milligrams"
_GALLON = 'does not say which gallon; write "US gal" (the wine gallon, 3.785 L) or "imp gal" (4.546 L)'

# What to say of each behind the word; keys compare without case.
AMBIGUOUS: dict[str, str] = {
    **dict.fromkeys(("psig", "barg", "kpag", "inhg vac"), _GAUGE),
    **dict.fromkeys(("gal", "gallon", "gallons"), _GALLON),
    **dict.fromkeys(("gal/h", "gal/min", "gpm", "gph"), 'does not say which gallon; write "US gal/h" or "US gal/min"'),
    "fl oz": 'is a US or an imperial one; write "US fl oz" (29.57 mL), or millilitres',
    **dict.fromkeys(("ton", "tons"), 'may be 1000 kg, 2000 lb or 2240 lb; write "t" or "US ton", or kilograms'),
    "cwt": "may be 100 lb or 112 lb; write pounds or kilograms",
    "bushel": "is a volume whose mass depends on the grain; write pounds or kilograms",
    **dict.fromkeys(("bbl", "barrel"), "has several sizes; write gallons or litres"),
    "case": "does not say of how many bottles; count bottles",
    **dict.fromkeys(("proof gallon", "proof gallons", "pg", "lpa", "lal", "laa"), _ALCOHOL),
    "proof": 'may be US or British; write "us_proof" for US proof (60 °F)',
    **dict.fromkeys(("%", "percent"), 'does not say of what; write "pct_vol", "pct_mass" (of alcohol) or "pct"'),
    **dict.fromkeys(("% vol", "abv", "%abv", "% abv"), _STRENGTH),
    **dict.fromkeys(("ppm", "ppb"), _PARTS),
}


def why_not(name: str) -> str:
    """Why a word is not taken for a unit.

    Parameters
    ----------
    name : str
        A word that is no unit of `pipeline.engineering.units` [-]

    Returns
    -------
    str
        What to put behind the word to make a sentence of it [-]

    Source
    ------
    House convention; no published source.

    Examples
    --------
    >>> why_not("smoot")
    'is no known unit'
    """
    return AMBIGUOUS.get(name.strip().lower(), "is no known unit")
