"""Where a house profile makes a rule of law laxer than the rule book has it.

Two grades. Below the law: what the law forbids would pass, or pass as less grave, or would not be looked at; nothing is
released under such a rule. Eased: only the doubt about a result near the limit, or about one that is missing, was
lowered; it may be so, and every verdict says it. What cannot be shown to be at least as strict counts as laxer.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from enum import StrEnum

from gaugebook.checks.rulebook.bounds import Bound, bound
from gaugebook.checks.rulebook.rule import SEVERITIES, Rule
from gaugebook.pipeline.house.settings import Decisions

GRAVE = SEVERITIES[0]
OPEN = (bound(-math.inf), bound(math.inf))
TOLD = ("quantity", "reason", "citation", "to_do", "computation", "causes", "unit", "decimals", "shows", "confirmed")


class Grade(StrEnum):
    """How far a rule of law was lowered."""

    BELOW = "below the law"
    EASED = "eased"


@dataclass(frozen=True)
class Softened:
    """A rule of law that the house lowered, with what it changed: key, what the book has and what the house has."""

    rule: str
    grade: Grade
    changes: tuple[tuple[str, str, str], ...]

    @property
    def in_words(self) -> str:
        """The changes as "coverage: 2.0 -> 0.0; severity: stops release -> for information"."""
        return "; ".join(f"{key}: {was} -> {now}" for key, was, now in self.changes)


def softened_rules(book_rules: Sequence[Rule], in_force: Sequence[Rule]) -> tuple[Softened, ...]:
    """The rules of law that the house lowered, in the order of the rule book.

    Parameters
    ----------
    book_rules : sequence of Rule
        The rule book as it ships.
    in_force : sequence of Rule
        The same with the house's own changes.
    """
    house = {rule.id: rule for rule in in_force}
    graded = (softened(rule, house[rule.id]) for rule in book_rules if rule.of_law)
    return tuple(item for item in graded if item is not None)


def softened(book: Rule, house: Rule) -> Softened | None:
    """How the house's version of one rule is laxer than the book's; None where it is as strict or stricter."""
    if book == house:
        return None
    grades = set(_lowered(book, house))
    if not grades:
        return None
    names = [item.name for item in fields(Rule) if item.name not in TOLD]
    changes = [(name, getattr(book, name), getattr(house, name)) for name in names]
    shown = tuple((name, _shown(was), _shown(now)) for name, was, now in changes if was != now)
    return Softened(book.id, Grade.BELOW if Grade.BELOW in grades else Grade.EASED, shown)


def widened(decisions: Decisions) -> Decisions:
    """Roles that decide besides those of the default, and the people who may release what a flag stops."""
    default = Decisions()
    return Decisions(
        tuple(role for role in decisions.may_decide if role not in default.may_decide),
        tuple(code for code in decisions.may_overrule if code not in default.may_overrule),
    )


def _lowered(book: Rule, house: Rule) -> Iterator[Grade]:
    """A grade for each way in which the house's version is laxer."""
    if _is_less_grave(house.severity, book.severity) or _compares_otherwise(book, house) or _looks_at_less(book, house):
        yield Grade.BELOW
    for answer in ("doubtful", "not evaluated"):
        was, now = book.severity_of(answer), house.severity_of(answer)
        if _is_less_grave(now, was):
            yield Grade.BELOW if was == GRAVE else Grade.EASED
    if _is_wider(_out(house), _out(book)) or (book.below and not house.below):
        yield Grade.BELOW
    if _is_wider(_doubtful(house), _doubtful(book)):
        yield Grade.EASED


def _is_less_grave(severity: str, than: str) -> bool:
    return SEVERITIES.index(severity) > SEVERITIES.index(than)


def _compares_otherwise(book: Rule, house: Rule) -> bool:
    """Whether something else is compared: another kind of comparison, another column, more texts that may be."""
    kinds = [(bool(r.law), bool(r.one_of), r.present, r.equals, r.u) for r in (book, house)]
    return kinds[0] != kinds[1] or not set(house.one_of) <= set(book.one_of)


def _looks_at_less(book: Rule, house: Rule) -> bool:
    """Whether some row that the book's rule looks at is none of the house's."""
    for column, texts in house.conditions.items():
        if column not in book.conditions or not set(book.conditions[column]) <= set(texts):
            return True
    if not set(house.where_known) <= set(book.where_known):
        return True
    dates = [(rule.in_force_from, rule.in_force_until, rule.dated) for rule in (book, house)]
    return dates[0] != dates[1] and dates[1] != (None, None, "")


def _out(rule: Rule) -> tuple[Bound, Bound]:
    """The span outside which a value is out."""
    return rule.spans.get("out", OPEN)


def _doubtful(rule: Rule) -> tuple[Bound, Bound]:
    """The span outside which a value is at least in doubt."""
    return rule.spans.get("doubtful", _out(rule))


def _is_wider(span: tuple[Bound, Bound], than: tuple[Bound, Bound]) -> bool:
    """Whether a span holds what the other does not; limits and uncertainties are never negative."""
    return _reaches_beyond(span[0], than[0], -1.0) or _reaches_beyond(span[1], than[1], 1.0)


def _reaches_beyond(side: Bound, than: Bound, outward: float) -> bool:
    if than.is_open:
        return False
    if side.is_open:
        return True
    new, old = _factors(side), _factors(than)
    return any(outward * (new.get(name, 0.0) - old.get(name, 0.0)) > 1e-12 for name in new.keys() | old.keys())


def _factors(side: Bound) -> Mapping[str | None, float]:
    sums: dict[str | None, float] = {}
    for factor, column in side.terms:
        sums[column] = sums.get(column, 0.0) + factor
    return sums


def _shown(value: object) -> str:
    """A value of a rule as it is written.

    Examples
    --------
    >>> _shown((-math.inf, "most")), _shown({"part": ["hearts"]}), _shown(()), _shown(2.0)
    ('-inf to most', 'part hearts', 'none', '2')
    """
    if isinstance(value, dict):
        return ", ".join(f"{name} {_shown(texts)}" for name, texts in value.items()) or "none"
    if isinstance(value, tuple | list):
        between = (
            " to " if len(value) == 2 and not all(isinstance(item, str) and item.isalpha() for item in value) else ", "
        )
        return between.join(map(_shown, value)) or "none"
    return f"{value:g}" if isinstance(value, float) else str(value) if value not in (None, "") else "none"
