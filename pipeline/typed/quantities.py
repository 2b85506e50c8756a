"""In which unit a number is kept, what it can be, and in which units it may be given."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from gaugebook.pipeline.engineering.unit_words import why_not
from gaugebook.pipeline.engineering.units import UNITS, fitting, from_si, house_unit, to_si

if TYPE_CHECKING:
    from gaugebook.pipeline.typed.record import Field

DIGITS = 12  # of a converted number: more than any text of a meter has, fewer than a factor's own rounding reaches


@dataclass(frozen=True)
class Quantity:
    """A number's own unit, its span in that unit, and the units that it may be given in, its own first."""

    unit: str | None
    possible: tuple[float, float] | None
    units: tuple[str, ...]
    factors: dict[str, float] = field(default_factory=dict)

    def misfit(self, given: str | None) -> str | None:
        """What to say of a unit that this number is not measured in, in the form "the unit ... "; None where it is.

        >>> Quantity("L", None, ("L", "mL")).misfit("gal")
        'the unit "gal" does not say which gallon; write "US gal" (the wine gallon, 3.785 L) or "imp gal" (4.546 L)'
        """
        if given is None or given in self.units:
            return None
        if given not in UNITS:
            return f'the unit "{given}" {why_not(given)}'
        return f'the unit "{given}" does not measure it'

    @property
    def fitting(self) -> str:
        """The units that may be given, as words."""
        return "one of " + ", ".join(self.units) if self.units else "no unit, because it is a plain number"

    def in_own_unit(self, values: pl.Series, given: str | None) -> pl.Series:
        """The values in the number's own unit; NULL where a value lies beyond what its unit can say.

        To so many digits that 0.7 L is 700 mL, and not the 699.9999999999999 that its factor makes of it.
        """
        if given is None or given == self.unit or self.unit is None:
            return values
        plain = values.cast(pl.Float64).fill_null(float("nan")).to_numpy()
        in_own = plain * self.factors[given] if self.factors else np.asarray(from_si(to_si(plain, given), self.unit))
        return pl.Series(in_own, nan_to_null=True).round_sig_figs(DIGITS)

    def value_in_own_unit(self, value: float, given: str | None) -> float | None:
        """As `in_own_unit`, of one value.

        >>> Quantity("L", None, ("L", "mL")).value_in_own_unit(700, "mL")
        0.7
        """
        return self.in_own_unit(pl.Series([value], dtype=pl.Float64), given).item()

    def span(self, given: str | None) -> str:
        """What is possible, in the number's own unit and in the given one.

        >>> Quantity("degC", (-30, 150), ("degC", "degF")).span("degF"), Quantity(None, (0, 1), ()).span(None)
        ('-30 to 150 degC (-22 to 302 degF)', '0 to 1')
        """
        if self.possible is None:
            return f"a value that {given} can have"
        least, greatest = self.possible
        span = f"{least:g} to {greatest:g}{' ' + self.unit if self.unit else ''}"
        if self.unit is None or given is None or given == self.unit:
            return span
        low, high = self._given_of(least, given), self._given_of(greatest, given)
        return f"{span} ({low:g} to {high:g} {given})" if np.isfinite([low, high]).all() else span

    def _given_of(self, value: float, given: str) -> float:
        if self.factors:
            return value / self.factors[given]
        return float(np.asarray(from_si(np.atleast_1d(to_si(np.atleast_1d(value), str(self.unit))), given))[0])


def quantity(item: Field, word: str | None, given: str | None) -> Quantity:
    """How a field's number is kept.

    Parameters
    ----------
    word : str or None
        Tag, analyte or kind of reading of the row, where the number goes by it.
    given : str or None
        Unit in which it is given; it matters where a number may be kept in several.
    """
    if item.of_word is not None:
        return item.of_word(word, given)
    if item.unit_field is not None:
        return Quantity(house_unit(given) if given in UNITS else None, None, tuple(UNITS))
    return Quantity(item.unit, item.possible, tuple(item.factors) or own_first(item.unit), item.factors)


def own_first(unit: str | None) -> tuple[str, ...]:
    """Units that may be given for this one, itself first.

    >>> own_first("mL")[:3]
    ('mL', 'L', 'hL')
    """
    return () if unit is None else tuple(dict.fromkeys((unit, *fitting(unit))))
