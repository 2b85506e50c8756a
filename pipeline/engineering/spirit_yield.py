"""Spirit to be expected of malt, from its extract and how far that ferments."""

from numpy.typing import ArrayLike

from gaugebook.pipeline.engineering.elements import FloatOrArray, as_given, in_range

# Litres of pure alcohol per tonne for each per cent of fermentable extract: Bringhurst et al., J. Inst.
# Brew. 102 (1996) 433. It is 88.8 % of what Gay-Lussac's equation gives for maltose.
_LITRES_PER_TONNE_AND_PCT = 6.06

# Laboratory fermentability from gravities, which counts apparent attenuation; 81.4 % of that is real.
_REAL_OF_APPARENT_PCT = 81.4


def fermentability_pct(original_gravity: ArrayLike, final_gravity: ArrayLike) -> FloatOrArray:
    """Share of a wort's extract that ferments, from specific gravities before and after.

    Parameters
    ----------
    original_gravity : float or array
        Specific gravity 20/20 °C before fermentation, above 1 [-]
    final_gravity : float or array
        Specific gravity 20/20 °C at the end [-]

    Returns
    -------
    float or array
        Fermentability [%]

    Raises
    ------
    ValueError
        If the original gravity is not above 1 and at most 1.18 or the final outside 0.98 to the original.

    Source
    ------
    Bringhurst et al., J. Inst. Brew. 102 (1996) 433: (OG - FG) / (OG - 1000) 81.4, gravities times 1000
    (the equation's form from a secondary source).

    Examples
    --------
    >>> round(fermentability_pct(1.060, 0.998), 1)
    84.1
    """
    original = in_range(original_gravity, 1.0 + 1e-6, 1.18, "original gravity", "(20/20 °C)")
    final = in_range(final_gravity, 0.98, original, "final gravity", "(20/20 °C)")
    return as_given(_REAL_OF_APPARENT_PCT * (original - final) / (original - 1.0))


def predicted_spirit_yield_l_per_t(extract_pct: ArrayLike, fermentability_pct: ArrayLike) -> FloatOrArray:
    """Litres of pure alcohol to be expected of a tonne of malt.

    Parameters
    ----------
    extract_pct : float or array
        Soluble extract of the malt by mass, on the basis on which the tonne is weighed [%]
    fermentability_pct : float or array
        Share of the extract that ferments [%]

    Returns
    -------
    float or array
        Predicted spirit yield [L pure alcohol/t]

    Raises
    ------
    ValueError
        If a percentage lies outside 0 to 100.

    Source
    ------
    Bringhurst et al., J. Inst. Brew. 102 (1996) 433: fermentable extract in per cent times 6.06.

    Examples
    --------
    >>> round(predicted_spirit_yield_l_per_t(78.0, 86.5), 0)  # malted barley: about 410, common practice
    409.0
    """
    extract = in_range(extract_pct, 0.0, 100.0, "extract", "%")
    fermentability = in_range(fermentability_pct, 0.0, 100.0, "fermentability", "%")
    return as_given(extract * fermentability / 100.0 * _LITRES_PER_TONNE_AND_PCT)
