"""Bounds of a span as the rule book writes them: a number, a column, or a sum such as "1 - 0.02 - 3 u_closure".

So a limit widened by its uncertainty is data, and stands in the rule book as it is meant.
"""

import math
import re
from dataclasses import dataclass

import polars as pl

_TERM = re.compile(r"\s*([+-]?)\s*(\d+(?:\.\d+)?)?\s*([a-z][a-z0-9_]*)?\s*")


@dataclass(frozen=True)
class Bound:
    """A sum of terms, each a factor and a column; the column None stands for 1.

    Examples
    --------
    >>> bound("1 - 3 u_closure").terms
    ((1.0, None), (-3.0, 'u_closure'))
    >>> bound(float("-inf")).is_open, bound(40).is_open
    (True, False)
    """

    terms: tuple[tuple[float, str | None], ...]

    @property
    def columns(self) -> tuple[str, ...]:
        return tuple(column for _, column in self.terms if column)

    @property
    def number(self) -> float | None:
        """The bound where no column is in it, else None."""
        return None if self.columns else math.fsum(factor for factor, _ in self.terms)

    @property
    def is_open(self) -> bool:
        """True where the span has no bound on this side."""
        return self.number is not None and math.isinf(self.number)

    def without(self, column: str) -> "Bound":
        """The bound with a column's terms left out.

        Examples
        --------
        >>> bound("most - 2 u_value").without("u_value").terms
        ((1.0, 'most'),)
        """
        return Bound(tuple(term for term in self.terms if term[1] != column))

    @property
    def bare(self) -> "Bound":
        """The bound itself, without what is allowed for uncertainty; 0 where it is nothing else.

        Examples
        --------
        >>> bound("1 - 0.03 - 3 u_closure").bare.number, bound("3 u_instrument").bare.number
        (0.97, 0.0)
        """
        return Bound(tuple(term for term in self.terms if not (term[1] or "").startswith("u_")))

    @property
    def allowance(self) -> "Bound":
        """What of the bound is allowed for uncertainty.

        Examples
        --------
        >>> bound("1 - 0.03 - 3 u_closure").allowance.terms
        ((-3.0, 'u_closure'),)
        """
        return Bound(tuple(term for term in self.terms if (term[1] or "").startswith("u_")))

    def widened(self, factor: float, column: str) -> "Bound":
        """The bound with so many times a column added; an open bound stays open.

        Examples
        --------
        >>> bound("most").widened(-2.0, "u_value").terms
        ((1.0, 'most'), (-2.0, 'u_value'))
        """
        return self if self.is_open or not factor else Bound((*self.terms, (factor, column)))

    def values(self) -> pl.Expr:
        """The bound for each row; NULL where a column that it needs is NULL."""
        terms = [
            pl.lit(factor) if column is None else factor * pl.col(column).cast(pl.Float64)
            for factor, column in self.terms
        ]
        return pl.sum_horizontal(terms, ignore_nulls=False)


def bound(written: float | str) -> Bound:
    """The bound from what the rule book writes.

    Raises
    ------
    ValueError
        If the text is no sum of numbers and columns; the sentence shows it.

    Examples
    --------
    >>> bound("alcohol_in_l + 2 u_alcohol_in_l").columns
    ('alcohol_in_l', 'u_alcohol_in_l')
    """
    if isinstance(written, int | float) and not isinstance(written, bool):
        if math.isnan(written):
            raise ValueError("a bound cannot be nan")
        return Bound(((float(written), None),))
    if not isinstance(written, str):
        raise ValueError(f"{written!r} is neither a number nor a sum of numbers and columns")
    terms: list[tuple[float, str | None]] = []
    position = 0
    while position < len(written):
        match = _TERM.match(written, position)
        sign, factor, column = match.groups() if match else ("", None, None)
        if match is None or not (factor or column) or (terms and not sign):
            break
        terms.append(((-1.0 if sign == "-" else 1.0) * float(factor or 1.0), column))
        position = match.end()
    if not terms or position < len(written):
        raise ValueError(f'"{written}" is no sum of numbers and columns such as "most + 2 u_value"')
    return Bound(tuple(terms))
