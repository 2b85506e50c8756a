"""Figures as they leave the program in tables and data: without the digits that only the machine made.

The last of the sixteen digits of a sum depend on the order of its terms, and so on the machine's kernels for linear
algebra, its number of processors and the order in which files came. No measurement is known to a ten-millionth of
itself, so figures are given to that.
"""

from typing import Any

import polars as pl
from polars import selectors as cs

DIGITS = 8  # significant ones
DECIMALS = 8  # at most, so that what is nought but for rounding is nought
_OF_A_CHANCE = 6  # significant digits of a probability, which may be far smaller than any decimal shows
_CHANCE = r"^(p|p_.*)$"  # how columns of probabilities are called


def exported(value: float, digits: int = DIGITS, decimals: int | None = DECIMALS) -> float:
    """A figure as it is exported.

    Parameters
    ----------
    value : float
        In any unit of the book [-]
    digits : int
        Significant digits [-]
    decimals : int or None
        Decimals at most; None for any [-]

    Returns
    -------
    float
        Never a negative nought

    Examples
    --------
    >>> exported(0.1 + 0.2), exported(2700.4566929133854), exported(-3.1e-16), exported(1.42077389652e-36, 6, None)
    (0.3, 2700.4567, 0.0, 1.42077e-36)
    """
    held = value if decimals is None else round(value, decimals)
    return float(f"{held:.{digits}g}") + 0.0


def exported_frame(frame: pl.DataFrame) -> pl.DataFrame:
    """A table with its figures as they are exported.

    >>> exported_frame(pl.DataFrame({"u": [1e-16, 1 / 3], "p": [1 / 3e30, 1.0]})).rows()
    [(0.0, 3.33333e-31), (0.33333333, 1.0)]
    """
    chances = cs.float() & cs.matches(_CHANCE)
    others = cs.float() - chances
    return frame.with_columns(
        others.map_elements(exported, return_dtype=pl.Float64),
        chances.map_elements(_chance, return_dtype=pl.Float64),
    )


def exported_data(value: Any, name: str = "") -> Any:
    """Nested lists and objects with their figures as they are exported.

    >>> exported_data({"loss_l": 0.1 + 0.2, "p": 1 / 3e30, "runs": [1, None, "STR-1"]})
    {'loss_l': 0.3, 'p': 3.33333e-31, 'runs': [1, None, 'STR-1']}
    """
    if isinstance(value, float):
        return _chance(value) if name == "p" or name.startswith("p_") else exported(value)
    if isinstance(value, dict):
        return {key: exported_data(item, str(key)) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [exported_data(item, name) for item in value]
    return value


def _chance(value: float) -> float:
    return exported(value, _OF_A_CHANCE, None)
