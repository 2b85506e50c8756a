"""A rule as it is in force: what is compared with what, how grave it is, and why."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from gaugebook.checks.rulebook.bounds import Bound, bound

SEVERITIES = ("stops release", "needs explanation", "for information")
REQUIRED_BY = {"": "", "law": "the law requires it", "profile": "the house profile requires it"}
# Guard bands of a legal limit: how many times the coverage they reach inward and outward. "inside": beyond the limit is
# out, near it in doubt. "outside": the law itself puts the method's uncertainty on top. "both": neither is settled.
GUARDS = {"inside": (1.0, 0.0), "outside": (0.0, 1.0), "both": (1.0, 1.0)}
GUARD_WORDS = {"inside": "inside the limit", "outside": "beyond the limit", "both": "on both sides of the limit"}
Columns = Mapping[str, Mapping[str, bool]]  # subject -> column -> is it a number


@dataclass(frozen=True)
class Rule:
    """One rule as it is in force.

    Attributes
    ----------
    where : dict
        Rows that the rule looks at: each column one of the texts given
    where_known : tuple of str
        Rows without a value in these columns are none of this rule's business
    law, u, coverage, guard
        The law's span; the column of the value's standard uncertainty; how many times it the guard band is wide, 0 for
        none (simple acceptance); and on which side of the limit it lies, see GUARDS
    below : bool
        The bounds themselves are outside ("less than 86 % vol")
    shows : str
        Column shown as the value, where the column compared says nothing to a reader
    severity, doubtful, not_evaluated : str
        Severity of each answer
    required_by : str
        law or profile: who requires the readings that the rule compares. Where one is missing the rule is as grave as
        where it fails, whatever not_evaluated says
    computation, causes : str
        How the value is computed, and what is usually the cause when it fails, for the reader of a flag
    in_force_from, in_force_until, dated
        The rule looks at rows whose column `dated` lies from the first date to before the second
    of_law : bool
        What the rule asks is law, or whether law was asked at all; a house may make it stricter, see `softening`
    confirmed : bool
        False where the limit is from memory and the text has yet to be read
    """

    id: str
    subject: str
    column: str
    quantity: str
    severity: str
    reason: str
    citation: str
    to_do: str
    computation: str = ""
    causes: str = ""
    unit: str = ""
    decimals: int = 2
    where: dict[str, Any] = field(default_factory=dict)
    where_known: tuple[str, ...] = ()
    possible: tuple[Any, ...] = ()
    in_range: tuple[Any, ...] = ()
    law: tuple[Any, ...] = ()
    u: str = ""
    guard: str = "both"
    coverage: float = 2.0
    below: bool = False
    one_of: tuple[str, ...] = ()
    equals: str | None = None
    present: bool = False
    shows: str | None = None
    doubtful: str = "needs explanation"
    not_evaluated: str = "for information"
    required_by: str = ""
    of_law: bool = False
    confirmed: bool = True
    in_force_from: date | None = None
    in_force_until: date | None = None
    dated: str = ""

    @property
    def spans(self) -> dict[str, tuple[Bound, Bound]]:
        """Answer of a value outside -> lower and upper bound."""
        if self.law:
            return self._guarded(*self.limits)
        named = {"out": self.possible, "doubtful": self.in_range}
        return {answer: (bound(span[0]), bound(span[1])) for answer, span in named.items() if span}

    @property
    def limits(self) -> tuple[Bound, Bound]:
        """The law's own span, without its guard bands."""
        return bound(self.law[0]), bound(self.law[1])

    def _guarded(self, low: Bound, high: Bound) -> dict[str, tuple[Bound, Bound]]:
        """Spans of a legal limit with its guard bands (JCGM 106): within only where the uncertainty cannot matter."""
        if not self.coverage:
            return {"out": (low, high)}
        inward, outward = GUARDS[self.guard]
        named = {"out": outward * self.coverage, "doubtful": -inward * self.coverage}
        return {answer: (low.widened(-k, self.u), high.widened(k, self.u)) for answer, k in named.items()}

    @property
    def conditions(self) -> dict[str, list[str]]:
        """`where` with each column's texts as a list."""
        return {column: texts if isinstance(texts, list) else [texts] for column, texts in self.where.items()}

    @property
    def compared(self) -> tuple[str, ...]:
        """Columns without which the rule cannot be evaluated; none for a rule of presence."""
        if self.present:
            return ()
        bounds = [column for span in self.spans.values() for side in span for column in side.columns]
        named = dict.fromkeys([self.column, *([self.equals] if self.equals else []), *bounds])
        return tuple(column for column in named if column != self.u)

    @property
    def with_what(self) -> str:
        """What it is compared with, as the rule book writes it."""
        if self.present:
            return "on record"
        if self.one_of:
            return " or ".join(self.one_of)
        if self.equals:
            return f"equal to {self.equals.replace('_', ' ')}"
        if self.law:
            band = (
                f"{self.coverage:g} {self.u} as guard band, {GUARD_WORDS[self.guard]}"
                if self.coverage
                else "no guard band"
            )
            return f"the law's {_in_words(*self.law)}; {band}"
        named = {"possible": self.possible, "in range": self.in_range}
        return "; ".join(f"{name} {_in_words(*span)}" for name, span in named.items() if span)

    def severity_of(self, answer: str) -> str:
        unread = self.severity if self.required_by else self.not_evaluated
        return {"doubtful": self.doubtful, "not evaluated": unread}.get(answer, self.severity)


def _in_words(low: float | str, high: float | str) -> str:
    """A span as it is written.

    Examples
    --------
    >>> _in_words(0.93, 1.0), _in_words(float("-inf"), "most + 2 u_value")
    ('0.93 to 1.0', 'most + 2 u_value or less')
    """
    if low == -math.inf:
        return f"{high} or less"
    return f"{low} or more" if high == math.inf else f"{low} to {high}"
